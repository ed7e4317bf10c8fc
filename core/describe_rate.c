#include "course.h"
#include "describe.h"

/* The group's largest shift along its own directions, as a measure with its sign. */
static hf_measure main_shift(const hf_segment *segment, hf_vec3 shift, double *direction) {
    const hf_vec3 along[] = {segment->local.x, segment->local.y, segment->local.z};
    const hf_measure measures[] = {HF_MEASURE_MESIAL, HF_MEASURE_BUCCAL, HF_MEASURE_OCCLUSAL};
    size_t most = 0;
    for (size_t i = 1; i < 3; i++) {
        if (fabs(hf_dot(shift, along[i])) > fabs(hf_dot(shift, along[most]))) most = i;
    }
    /* Across the midline x is the patient's left: such a group moves forward or back along y. */
    bool across = segment->crosses_midline && most == 1;
    *direction = hf_dot(shift, along[most]);
    return across ? HF_MEASURE_MESIAL : measures[most];
}

void hf_describe_rate(const hf_plan *plan, const hf_segment *segment, hf_segment_out *out) {
    double direction, area_mm2 = 0.0, force_n = hf_norm(out->force_n);
    out->expected = (hf_range){NAN, NAN, NAN};
    hf_measure measure = main_shift(segment, out->translation_um, &direction);
    if (!(fabs(direction) > 0.0) || !(force_n > 0.0)) return;
    for (size_t t = 0; t < segment->tooth_count; t++) {
        area_mm2 += segment->teeth[t]->area_mm2;
    }
    hf_movement movement = hf_movement_usual(measure, out->teeth, out->tooth_count, direction);
    hf_rate rate = hf_rate_expected(movement, force_n * plan->canine_area_mm2 / area_mm2);
    out->expected_movement = hf_movement_names[movement];
    out->expected = rate.per_month;
    out->expected_source = hf_report_cite(plan->report, rate.source);
}
