/* A group of teeth that moves as one body: its stiffness, centres, and what a force system does to it. */
#ifndef HF_SEGMENT_H
#define HF_SEGMENT_H

#include "answer.h"
#include "arena.h"
#include "tooth.h"

typedef struct hf_segment {
    const char *name;
    const hf_tooth *const *teeth;
    size_t tooth_count;
    hf_vec3 at_mm;                       /* reference point: mean of the crests */
    hf_mat6 k;                           /* about at_mm */
    hf_vec3 plane_centre[HF_VIEW_COUNT]; /* per plane; the third coordinate is that of `centre_mm` */
    hf_vec3 centre_mm;                   /* mean of the planes' answers */
    double centre_radius_mm;
    hf_axes local;        /* x mesial, y buccal, z coronal; mean of the teeth, orthonormal */
    bool crosses_midline; /* then x points to the patient's left */
} hf_segment;

void hf_segment_of(const char *name, const hf_tooth *const *teeth, size_t count, hf_segment *out);

/* Describes the segment under `load` (everything that acts on it, about `at`) and its `twist` (at
 * segment->at_mm). `teeth`: movement of each tooth at its crest, where a wire joins them and `twist` is their
 * mean; NULL when all follow it. */
void hf_segment_describe(const hf_segment *segment, hf_wrench load, hf_vec3 at, hf_twist twist,
    const hf_twist *teeth, hf_arena *arena, hf_segment_out *out);

#endif
