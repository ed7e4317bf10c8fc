/* How a movement is told: its parts in the teeth's own directions, in words, and of which kind it is. */
#ifndef HF_MOVEMENT_H
#define HF_MOVEMENT_H

#include "segment.h"

/* x, y, z shift, then the turns that carry the crown along x, along y, and x towards y; x, y, z are the local
 * axes of the segment. Turns are taken at a lever (evidence row "movement-lever") so that all are lengths. */
enum hf_move_part {
    HF_PART_X,
    HF_PART_Y,
    HF_PART_Z,
    HF_PART_TIP_X,
    HF_PART_TIP_Y,
    HF_PART_ROTATION,
    HF_PARTS
};

typedef struct hf_move {
    double part[HF_PARTS];
} hf_move;

/* Axes of the three turns: about[0] x coronal = mesial, about[1] x coronal = buccal, about[2] x mesial =
 * buccal. */
void hf_move_axes(const hf_axes *local, hf_vec3 about[3]);
/* `twist` at the centre of resistance. */
hf_move hf_move_of(const hf_axes *local, hf_twist twist);
/* Named is what exceeds a quarter of the largest part (evidence row "movement-share"): [intrusion|extrusion]
 * [and] [x and y] [bodily] movement [with] [x and y] crown tipping [and] rotation */
const char *hf_move_words(const hf_segment *segment, const hf_move *move, hf_arena *arena);
/* By its largest part; across the tooth it is bodily, tipping (crown goes with the tooth) or of the root. */
hf_motion hf_motion_of(const hf_move *move);

/* What published tables recommend for one tooth (N); NAN for no movement. Intrusion is told per root. */
typedef struct hf_force_window {
    double low_n, high_n;
    const char *source;
} hf_force_window;

hf_force_window hf_motion_force(hf_motion kind, size_t root_count);

#endif
