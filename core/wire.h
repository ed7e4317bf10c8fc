/* Wires as springs: alloys, what bends in which orientation, wires between two brackets, helical springs.
 * Linear; a cantilever that bends far is in cantilever.h. Superelastic wire is not here: it has no modulus
 * but a curve of loading and another of unloading. */
#ifndef HF_WIRE_H
#define HF_WIRE_H

#include "evidence.h"
#include "material.h"
#include "section.h"

/* A wire alloy by name; each row of evidence carries value and range (MPa). */
typedef struct hf_alloy {
    const char *name;
    hf_ev modulus, poisson, yield;
    bool several; /* what is sold under the name is several alloys: ask for the modulus */
} hf_alloy;

extern const hf_alloy hf_alloys[];
extern const size_t hf_alloy_count;

/* NULL when unknown. */
const hf_alloy *hf_alloy_find(const char *name);
hf_material hf_alloy_material(const hf_alloy *alloy);

/* Which way a rectangular wire deflects; the same for a round one. In an edgewise slot (wide side horizontal)
 * FLAT is up and down, EDGE in and out. */
typedef enum hf_wire_way {
    HF_WIRE_FLAT, /* along its thickness */
    HF_WIRE_EDGE  /* along its width */
} hf_wire_way;

typedef struct hf_wire {
    hf_section section; /* nominal, sharp corners */
    hf_wire_way way;
    double modulus_mpa, yield_mpa;
    double ei_nmm2;     /* bending stiffness E I that way */
    double bending_mm3; /* section modulus that way: stress = moment / bending_mm3 */
} hf_wire;

/* Nominal wire. */
hf_wire hf_wire_of(const hf_section_in *section, hf_wire_way way, const hf_material *material);

/* Real edges are bevelled: EI of a rectangular wire lies in this band (evidence "wire-bevel"). Of a round
 * wire all three are its EI. */
typedef struct hf_wire_band {
    double low, mid, high; /* N mm2 */
} hf_wire_band;

hf_wire_band hf_wire_bevelled(const hf_wire *nominal);
/* The same wire with EI as given, for instance one of the band. The section modulus goes along: the height of
 * the section stays. */
hf_wire hf_wire_with_ei(const hf_wire *wire, double ei_nmm2);

/* Stiffness number of the section: I over that of a round wire of 0.004 inch. Times E over that of steel
 * wire, it is the wire's (Burstone 1981). */
double hf_wire_section_number(const hf_wire *wire);
double hf_wire_number(const hf_wire *wire);

/* What two brackets A and B (B at +span along x) put on the wire between them, in one plane: couples positive
 * from x to y, force at A along +y and at B along -y, which is the sum of the couples over the span. The
 * teeth feel the opposite of each. Small slopes. */
typedef struct hf_wire_couples {
    double a_nmm, b_nmm, force_n;
} hf_wire_couples;

/* Straight wire in brackets turned by these angles (rad) against the line between them. */
hf_wire_couples hf_wire_angled(double ei_nmm2, double span_mm, double angle_a_rad, double angle_b_rad);
/* Aligned brackets, wire with one bend (rad, positive from x to y) at `at_mm` from A, 0…span. */
hf_wire_couples hf_wire_v_bend(double ei_nmm2, double span_mm, double at_mm, double bend_rad);
/* Aligned brackets, wire with a step whose B side stands `step_mm` towards +y. */
hf_wire_couples hf_wire_step_bend(double ei_nmm2, double span_mm, double step_mm);

/* Close-coiled helical spring of a linear alloy, all lengths > 0, mean > wire. */
typedef struct hf_coil {
    double wire_mm, mean_mm; /* mean_mm: diameter of the coil's centre line, lumen + wire */
    double turns;            /* active */
    double shear_modulus_mpa;
} hf_coil;

double hf_coil_rate(const hf_coil *coil); /* N/mm: G d^4/(8 D^3 n) */
/* Greatest shear stress (MPa) under a pull, at the inside of the coil: 8 F D/(pi d^3) times Wahl's factor. */
double hf_coil_stress(const hf_coil *coil, double force_n);

#endif
