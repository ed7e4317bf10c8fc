/* From a plan to the frame, and what the solved frame says. Internal. */
#ifndef HF_ASSEMBLE_H
#define HF_ASSEMBLE_H

#include "plan.h"

typedef struct hf_assembly {
    hf_frame frame;
    hf_frame_solver *solver;  /* of a copy */
    hf_frame_result result;   /* by the forces of the date: what teeth answer to */
    hf_frame_result peak;     /* by the largest ones: what screws and plates must bear; not of a copy */
    hf_frame_spring *springs; /* the frame's own, for who may change them */
    hf_frame_load *loads;
    size_t *load_element; /* by load: the element that puts it on */
    size_t *body;         /* plan body -> frame body; rigid bars make several one */
    bool *joined;         /* by unit of teeth: a rigid bar carries it */
    size_t *screw_spring; /* by screw: its spring, or SIZE_MAX when no seat rests on it */
    size_t *bar_of;       /* frame bar -> index over all plan bars, plate by plate, then spans of wire */
} hf_assembly;

/* Reports every plate node that nothing holds. */
void hf_assemble_check_support(hf_plan *plan);
/* False: a problem was reported. Springs 0…unit_count-1 are the units of teeth, in order. */
bool hf_assemble_solve(hf_plan *plan, hf_assembly *out);

/* What the elements put on the frame: fills the loads, at most two an element. */
void hf_assembly_load(const hf_plan *plan, hf_assembly *out, hf_load_set set);

/* The same frame once more, with springs, loads and result of its own: to be changed and solved again, as
 * often as wished. */
hf_assembly *hf_assembly_copy(const hf_assembly *assembly, hf_arena *arena);
/* Puts a screw of the plan under its seat as if it were `screw`, with this axis and head. Nothing happens to
 * one that no seat rests on. */
void hf_assembly_put_screw(hf_assembly *copy, size_t s, const hf_screw *screw, hf_vec3 axis, hf_vec3 head_mm);
/* False: the numbers left the range of the arithmetic. */
bool hf_assembly_solve(hf_assembly *copy);

/* What the plate puts on a screw's head, about the head; nothing when no seat rests on it. */
hf_wrench hf_assembly_head(const hf_assembly *assembly, size_t s);
/* Movement of a plan body at a point, from the solved frame. */
hf_twist hf_assembly_twist(const hf_assembly *assembly, size_t plan_body, hf_vec3 at_mm);
/* Movement of a segment at its reference point; where a wire joins the teeth their mean, weighted with the
 * stiffness of their ligaments. */
hf_twist hf_segment_twist(const hf_plan *plan, const hf_assembly *assembly, size_t segment);

#endif
