/* Teeth: morphology, place, and the support that the ligament gives a rigid root. */
#ifndef HF_TOOTH_H
#define HF_TOOTH_H

#include "arena.h"
#include "case.h"
#include "spatial.h"

/* ISO 3950 helpers. Slots: maxilla 18…28 then mandible 48…38; -1 for a number that is no permanent tooth. */
#define HF_TOOTH_SLOTS 32
int hf_tooth_slot(int tooth);
bool hf_tooth_is_permanent(int tooth);
hf_jaw hf_tooth_jaw(int tooth);
bool hf_tooth_is_left(int tooth);

typedef struct hf_morphology {
    int position; /* 1…8 from the midline */
    hf_jaw jaw;
    double crown_mm;                        /* crown height */
    double mesiodistal_mm, buccolingual_mm; /* crown */
    double cervix_mesiodistal_mm, cervix_buccolingual_mm;
    size_t root_count;
    hf_root roots[HF_ROOTS_MAX]; /* length here: neck to apex */
} hf_morphology;

const hf_morphology *hf_morphology_of(int tooth);

typedef struct hf_tooth_place {
    int tooth;
    hf_vec3 crest_mm; /* centre of the root at the crest in health */
    hf_vec3 mesial, buccal,
        coronal;      /* unit; coronal = -root axis; left-handed for upper left and lower right teeth */
    hf_vec3 crown_mm; /* centre of the crown */
    hf_vec3 attachment_mm[HF_AT_COUNT];
} hf_tooth_place;

typedef struct hf_tooth {
    hf_tooth_place place;
    hf_root roots[HF_ROOTS_MAX]; /* length crest to apex, widths at the crest */
    size_t root_count;
    double bone_loss_mm;
    hf_ligament ligament; /* nothing left out */
    hf_mat6 local_k;      /* mesial, buccal, coronal axes, about the crest */
    hf_mat6 k;            /* global axes, about place.crest_mm */
    double area_mm2;      /* embedded root area */
} hf_tooth;

/* A root's support about its own crest centre in the axes mesial, buccal, coronal, integrated over the
 * surface whose crest half-widths are a (mesial) and b (buccal) below `bone_loss_mm`. Also gives the area. */
hf_mat6 hf_root_stiffness(
    const hf_root *root, double bone_loss_mm, const hf_ligament *ligament, double *area_mm2);

/* The whole tooth: the given numbers, else morphology; roots on the middle of the ligament (half-widths +
 * h/2). `in` may be NULL (all defaults). */
void hf_tooth_of(const hf_tooth_in *in, const hf_tooth_place *place, hf_tooth *out);
/* The same, taking the stiffness over from a tooth of `known` that has the same roots. */
void hf_tooth_like(const hf_tooth_in *in, const hf_tooth_place *place, const hf_tooth *known,
    size_t known_count, hf_tooth *out);

/* Compressive pressure across the ligament (kPa) under a movement of the tooth (global, about the crest):
 * *peak the largest on the root surface, *mean the mean over the compressed part of it. */
void hf_tooth_pressure(const hf_tooth *tooth, hf_twist at_crest, double *mean_kpa, double *peak_kpa);

#endif
