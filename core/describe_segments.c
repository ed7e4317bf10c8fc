#include "describe.h"

/* What acts on a segment: the loads themselves, or with a rigid bar what its ligament must carry. */
static hf_wrench segment_load(const hf_plan *plan, const hf_assembly *assembly, size_t s) {
    if (assembly->joined[s]) return assembly->result.springs[s];
    hf_wrench sum = {{0.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
    for (size_t l = 0; l < assembly->frame.load_count; l++) {
        const hf_frame_load *load = &assembly->frame.loads[l];
        if (load->at.body == assembly->body[s])
            sum = hf_wrench_add(sum, hf_wrench_move(load->load, load->at.at_mm, plan->segments[s].at_mm));
    }
    return sum;
}

void hf_describe_segments(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    out->segment_count = plan->segment_count;
    out->segments = HF_NEW_ARRAY(plan->arena, hf_segment_out, out->segment_count);
    for (size_t s = 0; s < out->segment_count; s++) {
        const hf_segment *segment = &plan->segments[s];
        hf_segment_describe(segment, segment_load(plan, assembly, s), segment->at_mm,
            hf_assembly_twist(assembly, s, segment->at_mm), plan->arena, &out->segments[s]);
    }
}
