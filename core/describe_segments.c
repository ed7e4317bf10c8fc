#include "describe.h"

/* What acts on a segment, about its reference point: the loads themselves, or with a rigid bar what its
 * ligaments must carry. */
static hf_wrench segment_load(const hf_plan *plan, const hf_assembly *assembly, size_t s, size_t unit_count) {
    size_t first = plan->segment_unit[s];
    bool joined = false;
    for (size_t u = first; u < first + unit_count; u++) {
        joined = joined || assembly->joined[u];
    }
    hf_wrench sum = {{0.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
    for (size_t u = first; u < first + unit_count; u++) {
        if (joined)
            sum = hf_wrench_add(sum,
                hf_wrench_move(assembly->result.springs[u], plan->units[u].at_mm, plan->segments[s].at_mm));
        for (size_t l = 0; !joined && l < assembly->frame.load_count; l++) {
            const hf_frame_load *load = &assembly->frame.loads[l];
            if (load->at.body == assembly->body[u])
                sum = hf_wrench_add(sum, hf_wrench_move(load->load, load->at.at_mm, plan->segments[s].at_mm));
        }
    }
    return sum;
}

/* A wired group's own movement is the one that a rigid group would make under what the ligaments carry
 * together: the mean of its teeth, weighted with their stiffness, since the sum of K_i times the mean is the
 * sum of K_i t_i. */
static void describe_wired(const hf_plan *plan, const hf_assembly *assembly, size_t s, hf_segment_out *out) {
    const hf_segment *segment = &plan->segments[s];
    size_t first = plan->segment_unit[s];
    hf_twist *teeth = HF_NEW_ARRAY(plan->arena, hf_twist, segment->tooth_count);
    hf_wrench carried = {{0.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
    hf_twist mean;
    for (size_t t = 0; t < segment->tooth_count; t++) {
        hf_vec3 crest = segment->teeth[t]->place.crest_mm;
        teeth[t] = hf_assembly_twist(assembly, first + t, crest);
        carried = hf_wrench_add(
            carried, hf_wrench_move(assembly->result.springs[first + t], crest, segment->at_mm));
    }
    if (!hf_mat6_solve(&segment->k, carried, &mean)) mean = (hf_twist){hf_vec3_absent(), hf_vec3_absent()};
    hf_segment_describe(segment, segment_load(plan, assembly, s, segment->tooth_count), segment->at_mm, mean,
        teeth, plan->arena, out);
}

void hf_describe_segments(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    out->segment_count = plan->segment_count;
    out->segments = HF_NEW_ARRAY(plan->arena, hf_segment_out, out->segment_count);
    for (size_t s = 0; s < out->segment_count; s++) {
        const hf_segment *segment = &plan->segments[s];
        if (hf_plan_is_wired(plan, s)) {
            describe_wired(plan, assembly, s, &out->segments[s]);
            continue;
        }
        hf_segment_describe(segment, segment_load(plan, assembly, s, 1), segment->at_mm,
            hf_assembly_twist(assembly, plan->segment_unit[s], segment->at_mm), NULL, plan->arena,
            &out->segments[s]);
    }
}
