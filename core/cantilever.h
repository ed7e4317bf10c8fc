/* A wire that leaves a tube and is tied to a tooth by its free end at one point: one force there, force and
 * couple at the tube. Statically determinate: what the tooth gets and what the anchorage carries follow from
 * each other. The wire is straight and clamped in the tube; its end is moved across the tube's axis and the
 * force stays across it. Linear bending while the end turns less than evidence "wire-linear-slope", the
 * elastica beyond. */
#ifndef HF_CANTILEVER_H
#define HF_CANTILEVER_H

#include "elastica.h"
#include "spatial.h"
#include "wire.h"

typedef struct hf_cantilever_in {
    hf_wire wire;
    double length_mm; /* of the wire from the tube's mouth to its end, > 0 */
    double helix_mm;  /* wire wound into a helix at the mouth: it adds turn, no reach; left out = 0 */
    /* One of the two, >= 0: */
    double force_n;
    double activation_mm; /* how far the end is moved */
} hf_cantilever_in;

typedef struct hf_cantilever {
    double force_n, activation_mm;
    double reach_mm; /* from the mouth to the moved end, along the tube's axis; linear: the whole length */
    double tip_slope_rad; /* turn of the end; the helix included */
    double couple_nmm;    /* on the tube: force times reach */
    double stress_mpa;  /* greatest bending stress, at the mouth; that of a straight bar, also in the helix */
    double yield_ratio; /* to the yield; NAN when that is not known */
    bool permanent_set; /* beyond yield: the wire stays bent and gives less than is told here */
    bool large;         /* by the elastica */
} hf_cantilever;

/* Numbers NAN, wire empty. */
hf_cantilever_in hf_cantilever_default(void);
/* Numbers NAN, flags false: not told. */
hf_cantilever hf_cantilever_absent(void);
/* NULL, or what is wrong in words. */
const char *hf_cantilever_check(const hf_cantilever_in *in);
/* ONLY or SEVERAL: solved. NONE: the end cannot be moved so far, or the force bends the wire over. OUTSIDE
 * also when the check fails. Unsolved: numbers NAN, flags false. */
hf_elastica_status hf_cantilever_of(const hf_cantilever_in *in, hf_cantilever *out);

typedef struct hf_cantilever_pull {
    hf_wrench on_end;  /* on the tooth, about the end */
    hf_wrench on_tube; /* on what carries the tube, about its mouth; both together are nothing */
    double lever_mm;   /* from mouth to end along the axis: should be the reach that was computed */
} hf_cantilever_pull;

/* The force system in space. `axis`: of the tube, either way; `end_mm`: where the moved end is tied;
 * `activation`: the way the end was moved to get there, of which only the part across the axis counts. Any
 * lengths > 0, same axes for all. The tooth is pulled back against `activation`. False, and nothing in *out,
 * when a direction vanishes. */
bool hf_cantilever_place(const hf_cantilever *cantilever, hf_vec3 mouth_mm, hf_vec3 axis, hf_vec3 end_mm,
    hf_vec3 activation, hf_cantilever_pull *out);

#endif
