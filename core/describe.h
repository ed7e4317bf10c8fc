/* The answer's parts from the solved frame, one file each. Internal. */
#ifndef HF_DESCRIBE_H
#define HF_DESCRIBE_H

#include "assemble.h"

void hf_describe_elements(const hf_plan *plan, hf_answer *out);
void hf_describe_segments(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out);
/* The published rate of the movement that a described segment makes. */
void hf_describe_rate(const hf_plan *plan, const hf_segment *segment, hf_segment_out *out);
void hf_describe_plates(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out);
/* What elastics between the jaws or to outside give each jaw through its plates. */
void hf_describe_jaws(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out);
/* Needs out->horizon_days. */
void hf_describe_screws(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out);
/* Needs the screws. */
void hf_describe_risks(const hf_plan *plan, hf_answer *out);

#endif
