/* From a plan to the frame, and what the solved frame says. Internal. */
#ifndef HF_ASSEMBLE_H
#define HF_ASSEMBLE_H

#include "plan.h"

typedef struct hf_assembly {
    hf_frame frame;
    hf_frame_result result;
    size_t *body;         /* plan body -> frame body; rigid bars make several one */
    bool *joined;         /* by segment: a rigid bar carries it */
    size_t *screw_spring; /* by screw: its spring, or SIZE_MAX when no seat rests on it */
    size_t *bar_of;       /* frame bar -> index over all plan bars, plate by plate */
} hf_assembly;

/* Reports every plate node that nothing holds. */
void hf_assemble_check_support(hf_plan *plan);
/* False: a problem was reported. Springs 0…segment_count-1 are the segments, in order. */
bool hf_assemble_solve(hf_plan *plan, hf_assembly *out);

/* Movement of a plan body at a point, from the solved frame. */
hf_twist hf_assembly_twist(const hf_assembly *assembly, size_t plan_body, hf_vec3 at_mm);

#endif
