/* Scores of devices, against the published groups: what stayed must be quiet, what was lost must not. */
#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/evaluate.h"

static const int placed_on = 20000;

static hf_screw_in seen(void) {
    hf_screw_in screw = hf_screw_default();
    screw.name = "A";
    screw.site = "palate-median";
    screw.entry.kind = HF_POINT_XYZ;
    screw.entry.xyz_mm = hf_vec3_of(0.0, 20.0, 12.0);
    screw.axis = hf_vec3_of(0.0, 0.0, -1.0);
    screw.diameter_mm = 2.0;
    screw.length_mm = 9.0;
    screw.placed_on = placed_on;
    return screw;
}

/* Severity of the finding, -1 without one. */
static int severity_of(const char *code, hf_screw_in screw, int days) {
    hf_arena arena;
    hf_arena_init(&arena, 1 << 14, 0);
    hf_case in = hf_case_default();
    in.on = placed_on + days;
    in.screws = &screw;
    in.screw_count = 1;
    hf_answer out;
    int severity = -1;
    cr_assert(hf_evaluate(&in, &arena, &out));
    for (size_t i = 0; i < out.finding_count; i++)
        if (strcmp(out.findings[i].code, code) == 0) severity = (int)out.findings[i].severity;
    hf_arena_fini(&arena);
    return severity;
}

/* Watanabe et al. 2017: kept 4.9 +- 1.4 and 4.7 +- 1.3, lost 7.0 +- 0.8 and 7.1 +- 0.9 at placement; the
 * middle between the groups is 5.9 to 6. Cha et al. 2010: stable loaded screws -3.2 to 4.8. */
Test(judge, percussion_tells_the_published_groups_apart) {
    static const double quiet[] = {-3.2, 4.7, 4.8, 4.9, 5.9}, loud[] = {6.1, 7.0, 7.1};
    hf_screw_in screw = seen();
    cr_expect_eq(severity_of("percussion-score", screw, 0), -1, "no score, no finding");
    for (size_t i = 0; i < 5; i++) {
        screw.percussion_score = quiet[i];
        cr_expect_eq(severity_of("percussion-score", screw, 0), -1, "%g", quiet[i]);
    }
    for (size_t i = 0; i < 3; i++) {
        screw.percussion_score = loud[i];
        cr_expect_eq(severity_of("percussion-score", screw, 0), HF_CAUTION, "%g", loud[i]);
    }
}

/* Nienkemper et al. 2020: 36.1 +- 6.1 and 33.4 +- 3.5 at insertion, 25.1 +- 7.1 and 24.4 +- 5.8 after three
 * years, all in service: a fall of about 10 with a usual level is told and never alarms. */
Test(judge, a_usual_fall_of_resonance_does_not_alarm) {
    static const double fallen[][2] = {{36.1, 25.1}, {33.4, 24.4}, {30.0, 18.0}};
    hf_screw_in screw = seen();
    for (size_t i = 0; i < 3; i++) {
        screw.resonance_at_placement = fallen[i][0];
        screw.resonance_score = fallen[i][1];
        cr_expect_eq(severity_of("resonance-fall", screw, 28), HF_NOTE);
        cr_expect_eq(severity_of("resonance-score", screw, 28), -1);
    }
    screw.resonance_at_placement = screw.resonance_score = 36.1;
    cr_expect_eq(severity_of("resonance-fall", screw, 28), -1);
}

/* Two standard deviations under the published means: 36.1 - 12.2 = 23.9 on the first days, 25.1 - 14.2 = 10.9
 * later. */
Test(judge, a_low_level_of_resonance_alarms) {
    hf_screw_in screw = seen();
    screw.resonance_score = 23.0;
    cr_expect_eq(severity_of("resonance-score", screw, 0), HF_CAUTION);
    cr_expect_eq(severity_of("resonance-score", screw, 28), -1, "the same is usual later");
    screw.resonance_score = 25.0;
    cr_expect_eq(severity_of("resonance-score", screw, 0), -1);
    screw.resonance_score = 10.0;
    cr_expect_eq(severity_of("resonance-score", screw, 28), HF_CAUTION);
    screw.resonance_score = 12.0;
    cr_expect_eq(severity_of("resonance-score", screw, 28), -1);
    screw.placed_on = HF_ABSENT;
    cr_expect_eq(severity_of("resonance-score", screw, 28), -1, "without a date the later level is meant");
}
