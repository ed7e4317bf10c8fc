#include <stdint.h>

#include "element.h"
#include "evidence.h"
#include "plan.h"

/* One rung of a measure: from `limit` on, say this. Rungs stand in rising order; only the highest reached
 * speaks. */
typedef struct rung {
    const char *code;
    hf_severity severity;
    double limit;
    const char *source;
    const char *message;
} rung;

static void climb(const hf_plan *plan, hf_subject subject, const char *name, double value, const char *when,
    const rung *rungs, size_t count) {
    for (size_t i = count; i-- > 0;) {
        if (!(value >= rungs[i].limit)) continue; /* NAN reaches nothing */
        hf_report_find(
            plan->report, (hf_finding){.code = rungs[i].code,
                              .severity = rungs[i].severity,
                              .subject = subject,
                              .name = name,
                              .message = *when ? hf_arena_printf(plan->arena, "%s%s", when, rungs[i].message)
                                               : rungs[i].message,
                              .value = value,
                              .limit = rungs[i].limit,
                              .source = rungs[i].source});
        return;
    }
}
#define CLIMB(plan, subject, name, value, rungs)                                                             \
    climb(plan, subject, name, value, "", rungs, sizeof(rungs) / sizeof(rungs)[0])
/* Of a load: the peak is judged, and said to be one, unless forces that opposed each other have faded since
 * and left more. */
#define CLIMB_PEAK(plan, subject, name, peak, now, rungs)                                                    \
    climb(plan, subject, name, fmax(peak, now), when_of(peak, now), rungs, sizeof(rungs) / sizeof(rungs)[0])

static const char *when_of(double peak, double now) {
    return peak > now ? "At the peak of the forces: " : "";
}

static void judge_unscrewing(const hf_plan *plan, const hf_screw_out *told) {
    const rung rungs[] = {
        {"unscrewing-moment", HF_NOTE, told->limits.unscrewing_note_nmm, "common-practice",
            "The moment about the screw's axis turns it out. Common practice wants none: another screw under the plate, "
            "another arm or a load on the other side takes it away."},
        {"unscrewing-moment", HF_CAUTION, told->limits.unscrewing_caution_nmm, "kim-park-2021",
            "The moment that turns the screw out reaches a quarter of the torque that long-standing screws resist."},
        {"unscrewing-moment", HF_STOP, told->limits.unscrewing_stop_nmm, "kim-park-2021",
            "The moment that turns the screw out reaches half of the torque that long-standing screws resist."},
    };
    CLIMB_PEAK(
        plan, HF_ABOUT_SCREW, told->name, told->peak.axis_moment_nmm, told->load.axis_moment_nmm, rungs);
}

/* A screw of 2 mm or more may carry what loads the bone like the diameter that the limits are taken for. */
static double force_allowance(const hf_screw *screw) {
    if (screw->diameter_mm < 2.0) return 1.0;
    hf_screw reference = *screw;
    reference.diameter_mm = HF_EV(LIMIT_FORCE_DIAMETER);
    reference.core_mm = HF_EV(LIMIT_FORCE_DIAMETER) * screw->core_mm / screw->diameter_mm;
    hf_wrench one = {{1.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
    return fmax(1.0, hf_screw_cortex(&reference, one).radial_mpa / hf_screw_cortex(screw, one).radial_mpa);
}

static void judge_force(const hf_plan *plan, const hf_plan_screw *screw, const hf_screw_out *told) {
    double allowance = force_allowance(&screw->screw);
    const rung rungs[] = {
        {"screw-force", HF_NOTE, HF_EV(LIMIT_FORCE_NOTE) * allowance, "holdfast-judgement",
            "More force on one screw than most clinical series put on one."},
        {"screw-force", HF_CAUTION, HF_EV(LIMIT_FORCE_CAUTION) * allowance, "alrbata-2016",
            "The force on this screw reaches what computed models give as the resorption threshold in thin cortex."},
        {"screw-force", HF_STOP, HF_EV(LIMIT_FORCE_STOP) * allowance, "alrbata-2016",
            "The force on this screw is past the computed resorption threshold even in thick cortex."},
    };
    CLIMB_PEAK(plan, HF_ABOUT_SCREW, told->name, hf_norm(told->peak.head.force),
        hf_norm(told->load.head.force), rungs);
}

static void judge_bone(const hf_plan *plan, const hf_screw_out *told) {
    const rung stress[] = {
        {"cortex-stress", HF_CAUTION, told->limits.cortex_caution_mpa, "sugiura-2000",
            "Stress in the cortex at the screw's rim reaches the resorption threshold (value from memory)."},
        {"cortex-stress", HF_STOP, told->limits.cortex_stop_mpa, "common-practice",
            "Stress in the cortex at the screw's rim reaches the limit it must stay far under."},
    };
    const rung strain[] = {
        {"bone-strain", HF_NOTE, HF_EV(LIMIT_STRAIN_NOTE), "frost-mechanostat",
            "Bone strain beside the screw is in the window of overload (value from memory)."},
        {"bone-strain", HF_CAUTION, HF_EV(LIMIT_STRAIN_CAUTION), "frost-mechanostat",
            "Bone strain beside the screw is in the pathological window (value from memory)."},
    };
    const rung torsion[] = {{"core-torsion", HF_CAUTION, told->limits.core_torsion_caution,
        "holdfast-judgement", "The moment about the axis nears what shears the screw's core."}};
    const rung pull[] = {{"pull-out", HF_CAUTION, told->limits.pull_out_caution, "holdfast-judgement",
        "A sustained axial pull that is more than a small share of the pull-out force."}};
    CLIMB_PEAK(
        plan, HF_ABOUT_SCREW, told->name, told->peak.cortex_peak_mpa, told->load.cortex_peak_mpa, stress);
    CLIMB_PEAK(plan, HF_ABOUT_SCREW, told->name, told->peak.strain_microstrain, told->load.strain_microstrain,
        strain);
    CLIMB_PEAK(plan, HF_ABOUT_SCREW, told->name, told->peak.core_torsion_ratio, told->load.core_torsion_ratio,
        torsion);
    CLIMB_PEAK(plan, HF_ABOUT_SCREW, told->name, told->peak.pull_out_ratio, told->load.pull_out_ratio, pull);
}

static void judge_seen(const hf_plan *plan, const hf_screw_in *in) {
    const rung mobility[] = {
        {"screw-mobile", HF_CAUTION, 1.0, "common-practice",
            "The screw was felt to move: unload or relieve it, look again soon, have a second site ready."},
        {"screw-mobile", HF_STOP, 2.0, "common-practice", "The screw is loose: it does not anchor."},
    };
    const rung inflammation[] = {
        {"screw-inflamed", HF_NOTE, 1.0, "common-practice",
            "Tissue around the screw is inflamed: clean and look again."},
        {"screw-inflamed", HF_CAUTION, 2.0, "common-practice",
            "Tissue around the screw is clearly inflamed: treat it now."},
    };
    double grade = in->mobility_grade == HF_ABSENT ? (double)NAN : (double)in->mobility_grade;
    CLIMB(plan, HF_ABOUT_SCREW, in->name, grade, mobility);
    grade = in->inflammation_grade == HF_ABSENT ? (double)NAN : (double)in->inflammation_grade;
    CLIMB(plan, HF_ABOUT_SCREW, in->name, grade, inflammation);
}

/* Findings for which the smaller value is the worse one: written out, no rungs. */
static void below(const hf_plan *plan, hf_finding finding) {
    if (finding.value < finding.limit) hf_report_find(plan->report, finding);
}

/* Scores of devices. The trap: resonance falls by about 10 in the first weeks in screws that stay, so the
 * fall is told and only the level alarms. */
static void judge_scores(const hf_plan *plan, const hf_screw_in *in) {
    const rung percussion[] = {{"percussion-score", HF_CAUTION, HF_EV(LIMIT_PERCUSSION),
        "limit-percussion-score",
        "The percussion score is above what screws that stayed had at placement: load it late or lightly, look "
        "again soon."}};
    const rung fall[] = {
        {"resonance-fall", HF_NOTE, HF_EV(LIMIT_RESONANCE_FALL), "nienkemper-2020",
            "The resonance score has fallen since placement. About 10 in the first weeks is usual in screws that stay: by "
            "itself no sign of loosening; its level and mobility are."},
        {"resonance-fall", HF_NOTE, HF_EV(LIMIT_RESONANCE_FALL_LARGE), "limit-resonance-fall-large",
            "The resonance score has fallen twice as far as usual since placement: look at its level and at mobility."},
    };
    CLIMB(plan, HF_ABOUT_SCREW, in->name, in->percussion_score, percussion);
    CLIMB(plan, HF_ABOUT_SCREW, in->name, in->resonance_at_placement - in->resonance_score, fall);
    bool fresh = in->placed_on != HF_ABSENT && plan->in->on - in->placed_on <= (int)HF_EV(RESONANCE_SETTLES);
    below(plan,
        (hf_finding){.code = "resonance-score",
            .severity = HF_CAUTION,
            .subject = HF_ABOUT_SCREW,
            .name = in->name,
            .value = in->resonance_score,
            .limit = fresh ? HF_EV(LIMIT_RESONANCE_PLACED) : HF_EV(LIMIT_RESONANCE_SETTLED),
            .source = fresh ? "limit-resonance-placed" : "limit-resonance-settled",
            .message =
                "The resonance score is lower than screws that stayed had at this time: feel for mobility, "
                "relieve the screw, look again soon."});
}

static void judge_root(const hf_plan *plan, const hf_screw_in *in) {
    bool near = in->root_distance_mm < HF_EV(LIMIT_ROOT_CAUTION);
    below(plan,
        (hf_finding){.code = "root-distance",
            .severity = near ? HF_CAUTION : HF_NOTE,
            .subject = HF_ABOUT_SCREW,
            .name = in->name,
            .value = in->root_distance_mm,
            .limit = near ? HF_EV(LIMIT_ROOT_CAUTION) : HF_EV(LIMIT_ROOT_NOTE),
            .source = near ? "holdfast-judgement" : "poggio-2006",
            .message = near ? "The screw is next to a root or touches it: the strongest single cause of loss."
                            : "Less bone between screw and root than is wanted."});
}

static void judge_torque(const hf_plan *plan, const hf_plan_screw *screw) {
    if (screw->torque != HF_WINDOW_BELOW && screw->torque != HF_WINDOW_ABOVE) return;
    bool above = screw->torque == HF_WINDOW_ABOVE;
    hf_report_find(plan->report,
        (hf_finding){.code = "insertion-torque",
            .severity = above ? HF_CAUTION : HF_NOTE,
            .subject = HF_ABOUT_SCREW,
            .name = screw->in->name,
            .value = screw->in->insertion_torque_ncm,
            .limit = above ? screw->torque_high_ncm : screw->torque_low_ncm,
            .source = screw->torque_source,
            .message =
                above
                    ? "Insertion torque was above the window of this site and diameter: bone may be crushed."
                    : "Insertion torque was below the window of this site and diameter: little primary hold."});
}

static void judge_outside(const hf_plan *plan, const hf_plan_screw *screw) {
    if (screw->outside)
        hf_report_find(plan->report,
            (hf_finding){.code = "outside-studied-range",
                .severity = HF_CAUTION,
                .subject = HF_ABOUT_SCREW,
                .name = screw->in->name,
                .value = NAN,
                .limit = NAN,
                .source = "holdfast-fe-2026",
                .message = hf_arena_printf(plan->arena,
                    "The %s is outside the range that the bone model was calibrated on: no bone stress or strain is given.",
                    screw->outside)});
    if (!screw->has_site)
        hf_report_find(plan->report,
            (hf_finding){.code = "site-unknown",
                .severity = HF_NOTE,
                .subject = HF_ABOUT_SCREW,
                .name = screw->in->name,
                .value = NAN,
                .limit = NAN,
                .message =
                    "Without the anatomical site there is no published loss to start from: no risk is given."});
    if (screw->seat_count == 0)
        hf_report_find(plan->report,
            (hf_finding){.code = "screw-unloaded",
                .severity = HF_NOTE,
                .subject = HF_ABOUT_SCREW,
                .name = screw->in->name,
                .value = NAN,
                .limit = NAN,
                .message = "No plate in this document rests on the screw: it carries no load here."});
}

/* What a second screw would make of the moment that a lone one must hold about its axis. */
static void judge_lone_screw(const hf_plan *plan, const hf_plan_plate *plate, const hf_answer *out) {
    if (plate->seat_count != 1) return;
    const hf_screw_out *told = &out->screws[plate->seats[0].screw];
    double spacing = 0.5 * (HF_EV(LIMIT_SPACING_LOW) + HF_EV(LIMIT_SPACING_HIGH));
    hf_report_find(plan->report,
        (hf_finding){.code = "single-screw",
            .severity = HF_NOTE,
            .subject = HF_ABOUT_PLATE,
            .name = plate->in->name,
            .value = told->peak.axis_moment_nmm,
            .limit = NAN,
            .source = "common-practice",
            .message = hf_arena_printf(plan->arena,
                "One screw alone holds the plate against turning: %.1f N mm stay a moment about its axis. Two screws %.1f mm "
                "apart would carry the same moment as opposite lateral forces of about %.2f N each.",
                told->peak.axis_moment_nmm, spacing, fabs(told->peak.axis_moment_nmm) / spacing)});
}

static void judge_spacing(const hf_plan *plan, const hf_plan_plate *plate) {
    if (plate->seat_count != 2) return;
    hf_vec3 one = plan->screws[plate->seats[0].screw].entry_mm,
            other = plan->screws[plate->seats[1].screw].entry_mm;
    double spacing = hf_norm(hf_sub(one, other)), low = HF_EV(LIMIT_SPACING_LOW),
           high = HF_EV(LIMIT_SPACING_HIGH);
    if (spacing >= low && spacing <= high) return;
    hf_report_find(plan->report,
        (hf_finding){.code = "screw-spacing",
            .severity = HF_NOTE,
            .subject = HF_ABOUT_PLATE,
            .name = plate->in->name,
            .value = spacing,
            .limit = spacing < low ? low : high,
            .source = "common-practice",
            .message = "The two screws are not within the 6 to 9 mm that a plate's seats usually take up."});
}

static void judge_seats(const hf_plan *plan, const hf_plan_plate *plate) {
    for (size_t s = 0; s < plate->seat_count; s++) {
        const hf_plan_seat *seat = &plate->seats[s];
        double offset = hf_norm(hf_sub(plate->node_mm[seat->node], plan->screws[seat->screw].head_mm));
        if (offset < HF_EV(LIMIT_SEAT_OFFSET)) continue;
        hf_report_find(plan->report,
            (hf_finding){.code = "seat-offset",
                .severity = HF_NOTE,
                .subject = HF_ABOUT_NODE,
                .name = plate->in->nodes[seat->node].name,
                .value = offset,
                .limit = HF_EV(LIMIT_SEAT_OFFSET),
                .source = "holdfast-judgement",
                .message =
                    "The seat lies well away from the screw head it rests on; they are joined by a rigid offset."});
    }
}

static void judge_plate(
    const hf_plan *plan, const hf_plan_plate *plate, const hf_answer *out, const hf_plate_out *told) {
    const rung yield[] = {
        {"plate-yield", HF_CAUTION, HF_EV(LIMIT_YIELD_CAUTION), "holdfast-judgement",
            "The plate is loaded past two thirds of its yield stress: little reserve for bends and holes."},
        {"plate-yield", HF_STOP, 1.0, "holdfast-judgement", "The plate is bent for good by this load."},
    };
    CLIMB_PEAK(plan, HF_ABOUT_PLATE, told->name, told->peak.yield_ratio, told->load.yield_ratio, yield);
    below(plan, (hf_finding){.code = "tissue-gap",
                    .severity = HF_CAUTION,
                    .subject = HF_ABOUT_NODE,
                    .name = told->least_gap_node,
                    .value = told->least_gap_mm,
                    .limit = HF_EV(LIMIT_TISSUE_GAP),
                    .source = "common-practice",
                    .message = "Less than 1 mm between plate and mucosa: swelling will cover it."});
    judge_lone_screw(plan, plate, out);
    judge_spacing(plan, plate);
    judge_seats(plan, plate);
}

void hf_judge(const hf_plan *plan, hf_answer *out) {
    for (size_t s = 0; s < out->screw_count; s++) {
        const hf_plan_screw *screw = &plan->screws[s];
        judge_unscrewing(plan, &out->screws[s]);
        judge_force(plan, screw, &out->screws[s]);
        judge_bone(plan, &out->screws[s]);
        judge_seen(plan, screw->in);
        judge_scores(plan, screw->in);
        judge_root(plan, screw->in);
        judge_torque(plan, screw);
        judge_outside(plan, screw);
    }
    for (size_t p = 0; p < out->plate_count; p++) {
        judge_plate(plan, &plan->plates[p], out, &out->plates[p]);
    }
    hf_judge_elements(plan);
    hf_judge_teeth(plan, out);
}
