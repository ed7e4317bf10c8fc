#include "evidence.h"
#include "movement.h"
#include "plan.h"

static hf_finding about(const hf_segment_out *segment) {
    return (hf_finding){.severity = HF_NOTE, .subject = HF_ABOUT_SEGMENT, .name = segment->name};
}

/* The tooth that is furthest past what is recommended speaks for its group. */
static void judge_force(const hf_plan *plan, const hf_segment_out *segment) {
    const hf_tooth_out *worst = NULL;
    double most = 1.0;
    for (size_t t = 0; t < segment->tooth_count; t++) {
        const hf_tooth_out *tooth = &segment->teeth_movement[t];
        double ratio = tooth->acting_n / tooth->recommended_high_n;
        if (!(ratio > most)) continue;
        most = ratio;
        worst = tooth;
    }
    if (!worst) return;
    hf_finding finding = about(segment);
    if (most >= HF_EV(LIMIT_TOOTH_FORCE_CAUTION)) finding.severity = HF_CAUTION;
    finding.code = "tooth-force";
    finding.value = worst->acting_n;
    finding.limit = worst->recommended_high_n;
    finding.source = "force-tables";
    finding.message = hf_arena_printf(plan->arena,
        "Tooth %d gets more than tables recommend for %s (%.2f to %.2f N); such tables vary and clinical series use more.",
        worst->tooth, hf_motion_names[worst->kind], worst->recommended_low_n, worst->recommended_high_n);
    hf_report_find(plan->report, finding);
}

static void judge_pressure(const hf_plan *plan, const hf_segment_out *segment) {
    if (!(segment->peak_kpa > HF_EV(LIMIT_LIGAMENT))) return;
    hf_finding finding = about(segment);
    finding.code = "ligament-pressure";
    finding.value = segment->peak_kpa;
    finding.limit = HF_EV(LIMIT_LIGAMENT);
    finding.source = "ligament-pressure-fe";
    finding.message =
        "The peak compressive normal pressure on a root's surface passes capillary pressure. It is a local maximum at "
        "the crest by a linear ligament, an order of magnitude; published models disagree on pressure and limit.";
    hf_report_find(plan->report, finding);
}

static void judge_wire(const hf_plan *plan, const hf_segment_out *segment) {
    if (!(segment->apart > HF_EV(SEGMENT_APART))) return;
    hf_finding finding = about(segment);
    finding.code = "segment-not-rigid";
    finding.value = segment->apart;
    finding.limit = HF_EV(SEGMENT_APART);
    finding.source = "holdfast-judgement";
    finding.message =
        "The wire bends so far that the teeth do not move as one: the group's centre and movement are "
        "those of a rigid group, only the mean of its teeth. See each tooth's own movement.";
    hf_report_find(plan->report, finding);
}

void hf_judge_teeth(const hf_plan *plan, const hf_answer *out) {
    for (size_t s = 0; s < out->segment_count; s++) {
        judge_force(plan, &out->segments[s]);
        judge_pressure(plan, &out->segments[s]);
        judge_wire(plan, &out->segments[s]);
    }
}
