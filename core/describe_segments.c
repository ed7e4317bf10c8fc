#include "describe.h"

/* A sum of wrenches about one point. Loads that cancel leave rounding behind, which is no load. */
typedef struct wrench_sum {
    hf_wrench total;
    double force_n, moment_nmm; /* of all the summands, whatever their direction */
} wrench_sum;

static void add(wrench_sum *sum, hf_wrench w, hf_vec3 at_mm, hf_vec3 about_mm) {
    hf_wrench moved = hf_wrench_move(w, at_mm, about_mm);
    sum->total = hf_wrench_add(sum->total, moved);
    sum->force_n += hf_norm(moved.force);
    sum->moment_nmm += hf_norm(moved.moment);
}

static hf_wrench summed(const wrench_sum *sum) {
    const double rounding = 1e-10;
    hf_wrench w = sum->total;
    if (hf_norm(w.force) < rounding * sum->force_n) w.force = hf_vec3_of(0.0, 0.0, 0.0);
    if (hf_norm(w.moment) < rounding * sum->moment_nmm) w.moment = hf_vec3_of(0.0, 0.0, 0.0);
    return w;
}

/* What acts on a segment, about its reference point: the loads themselves, or with a rigid bar what its
 * ligaments must carry. */
static hf_wrench segment_load(const hf_plan *plan, const hf_assembly *assembly, size_t s, size_t unit_count) {
    size_t first = plan->segment_unit[s];
    hf_vec3 about = plan->segments[s].at_mm;
    bool carried = false;
    for (size_t u = first; u < first + unit_count; u++) {
        carried = carried || assembly->joined[u];
    }
    for (size_t w = 0; w < plan->span_count; w++) {
        carried = carried || (plan->spans[w].segment == s && plan->spans[w].from >= plan->first_hung);
    }
    wrench_sum sum = {0};
    for (size_t u = first; u < first + unit_count; u++) {
        if (carried) add(&sum, assembly->result.springs[u], plan->units[u].at_mm, about);
        for (size_t l = 0; !carried && l < assembly->frame.load_count; l++) {
            const hf_frame_load *load = &assembly->frame.loads[l];
            if (load->at.body == assembly->body[u]) add(&sum, load->load, load->at.at_mm, about);
        }
    }
    return summed(&sum);
}

/* A wired group's own movement is the one that a rigid group would make under what the ligaments carry
 * together: the mean of its teeth, weighted with their stiffness, since the sum of K_i times the mean is the
 * sum of K_i t_i. */
static void describe_wired(const hf_plan *plan, const hf_assembly *assembly, size_t s, hf_segment_out *out) {
    const hf_segment *segment = &plan->segments[s];
    size_t first = plan->segment_unit[s];
    hf_twist *teeth = HF_NEW_ARRAY(plan->arena, hf_twist, segment->tooth_count);
    for (size_t t = 0; t < segment->tooth_count; t++) {
        teeth[t] = hf_assembly_twist(assembly, first + t, segment->teeth[t]->place.crest_mm);
    }
    hf_wrench load = segment_load(plan, assembly, s, segment->tooth_count);
    hf_twist mean;
    if (!hf_mat6_solve(&segment->k, load, &mean)) mean = (hf_twist){hf_vec3_absent(), hf_vec3_absent()};
    hf_segment_describe(segment, load, segment->at_mm, mean, teeth, plan->arena, out);
}

void hf_describe_segments(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    out->segment_count = plan->segment_count;
    out->segments = HF_NEW_ARRAY(plan->arena, hf_segment_out, out->segment_count);
    for (size_t s = 0; s < out->segment_count; s++) {
        const hf_segment *segment = &plan->segments[s];
        if (hf_plan_is_wired(plan, s))
            describe_wired(plan, assembly, s, &out->segments[s]);
        else
            hf_segment_describe(segment, segment_load(plan, assembly, s, 1), segment->at_mm,
                hf_segment_twist(plan, assembly, s), NULL, plan->arena, &out->segments[s]);
        hf_describe_rate(plan, segment, &out->segments[s]);
    }
}
