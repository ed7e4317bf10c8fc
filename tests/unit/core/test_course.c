#include "../../../core/course.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static hf_arena arena;

static void begin(void) {
    hf_arena_init(&arena, 1 << 14, 0);
}

static void end(void) {
    hf_arena_fini(&arena);
}

TestSuite(course, .init = begin, .fini = end);

Test(course, left_out_is_not_there) {
    hf_goal_in goal = hf_goal_default();
    hf_seen_in seen = hf_seen_default();
    hf_moved_in moved = hf_moved_default();
    hf_course_in course = hf_course_default();
    for (int m = 0; m < HF_MEASURE_COUNT; m++)
        cr_expect(isnan(goal.wished[m]) && isnan(seen.figure[m]) && isnan(moved.figure[m]));
    cr_expect(isnan(goal.force_n) && goal.from == HF_ABSENT && goal.by == HF_ABSENT && seen.on == HF_ABSENT);
    cr_expect_eq(goal.movement, HF_MOVEMENT_COUNT);
    cr_expect(course.on == HF_ABSENT && course.from == HF_ABSENT);
}

Test(course, names_carry_their_unit) {
    for (int m = 0; m < HF_MEASURE_COUNT; m++) {
        const char *name = hf_measure_names[m], *unit = strrchr(name, '_');
        cr_expect_str_eq(unit, hf_measure_turns((hf_measure)m) ? "_deg" : "_mm", "%s", name);
    }
    cr_expect_null(hf_measure_names[HF_MEASURE_COUNT]);
    cr_expect(hf_measure_of_segment(HF_MEASURE_ROTATION) && !hf_measure_of_segment(HF_MEASURE_OVERJET));
}

/* Common practice: distances at the chair are read to half a millimetre. */
Test(course, errors_of_measurement) {
    cr_expect_float_eq(hf_measure_sd(HF_MEASURE_OVERBITE), 0.5, 0.01);
    cr_expect_float_eq(hf_measure_sd(HF_MEASURE_TIP), 2.0, 0.01);
}

Test(course, a_series_is_in_the_order_of_days_and_ends_with_the_day_told_for) {
    hf_moved_in moved[] = {hf_moved_default(), hf_moved_default()};
    moved[0].segment = "right";
    moved[0].figure[HF_MEASURE_OCCLUSAL] = -1.0;
    moved[1].segment = "left";
    moved[1].figure[HF_MEASURE_OCCLUSAL] = -2.0;
    hf_seen_in visits[4];
    static const int days[] = {300, 100, 200, 400};
    for (int i = 0; i < 4; i++) {
        visits[i] = hf_seen_default();
        visits[i].on = days[i];
        visits[i].figure[HF_MEASURE_OVERBITE] = 0.01 * days[i];
    }
    visits[2].figure[HF_MEASURE_OVERBITE] = NAN;
    visits[0].moved = moved;
    visits[0].moved_count = 2;
    hf_course_in course = hf_course_default();
    course.on = 300;
    course.visits = visits;
    course.visit_count = 4;
    size_t count;
    hf_seen *series = hf_course_series(&course, NULL, HF_MEASURE_OVERBITE, &arena, &count);
    cr_assert_eq(count, 2);
    cr_expect(series[0].on == 100 && series[0].value == 1.0 && series[1].on == 300 && series[1].value == 3.0);
    series = hf_course_series(&course, "left", HF_MEASURE_OCCLUSAL, &arena, &count);
    cr_assert_eq(count, 1);
    cr_expect(series[0].on == 300 && series[0].value == -2.0);
    hf_course_series(&course, "left", HF_MEASURE_TIP, &arena, &count);
    cr_expect_eq(count, 0);
    hf_course_series(&course, NULL, HF_MEASURE_OCCLUSAL, &arena, &count);
    cr_expect_eq(count, 0);
}

static const hf_segment_in segments[] = {
    {.name = "incisors", .teeth = (const int[]){12, 11, 21, 22}, .tooth_count = 4},
    {.name = "canine", .teeth = (const int[]){13}, .tooth_count = 1},
    {.name = "front", .teeth = (const int[]){13, 12, 11, 21, 22, 23}, .tooth_count = 6},
    {.name = "molars", .teeth = (const int[]){16, 17}, .tooth_count = 2},
};

static hf_course_in course_of_segments(void) {
    hf_course_in course = hf_course_default();
    course.segments = segments;
    course.segment_count = sizeof segments / sizeof *segments;
    return course;
}

/* The trade's words for the directions. */
Test(course, movements_by_direction_and_teeth) {
    static const struct {
        const char *segment;
        hf_measure measure;
        double direction;
        const char *movement;
    } rows[] = {
        {"molars", HF_MEASURE_OCCLUSAL, -1.0, "posterior-intrusion"},
        {"incisors", HF_MEASURE_OCCLUSAL, -1.0, "incisor-intrusion"},
        {"canine", HF_MEASURE_OCCLUSAL, 1.0, "extrusion"},
        {"molars", HF_MEASURE_MESIAL, -1.0, "molar-distalisation"},
        {"molars", HF_MEASURE_MESIAL, 1.0, "molar-protraction"},
        {"canine", HF_MEASURE_MESIAL, -1.0, "canine-retraction"},
        {"front", HF_MEASURE_BUCCAL, -1.0, "en-masse-retraction"},
        {"molars", HF_MEASURE_BUCCAL, 1.0, "transverse"},
        {"molars", HF_MEASURE_TIP, -1.0, "tipping"},
        {"incisors", HF_MEASURE_TORQUE, 1.0, "torque"},
        {"canine", HF_MEASURE_ROTATION, 1.0, "rotation"},
        {NULL, HF_MEASURE_OVERBITE, 1.0, "overbite-change"},
        {NULL, HF_MEASURE_SPACE_LEFT, -1.0, "en-masse-retraction"},
    };
    hf_course_in course = course_of_segments();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        hf_goal_in goal = hf_goal_default();
        goal.segment = rows[i].segment;
        hf_movement got = hf_course_movement(&course, &goal, rows[i].measure, rows[i].direction);
        cr_expect_str_eq(hf_movement_names[got], rows[i].movement, "row %zu", i);
    }
}

Test(course, a_told_movement_holds_for_figures_of_its_unit) {
    hf_course_in course = course_of_segments();
    hf_goal_in goal = hf_goal_default();
    goal.segment = "canine";
    goal.movement = HF_MOVE_CANINE_TRANSLATION;
    cr_expect_eq(hf_course_movement(&course, &goal, HF_MEASURE_MESIAL, -1.0), HF_MOVE_CANINE_TRANSLATION);
    cr_expect_eq(hf_course_movement(&course, &goal, HF_MEASURE_TIP, -1.0), HF_MOVE_TIPPING);
}

/* Root areas: an upper canine 273, two upper molars 433 + 431, two central incisors and two lateral ones 204
 * and 179 mm2 each (Jepsen 1963, values from memory). Published sets differ by 10 to 40 %; ratios stay within
 * 10 % of these. */
Test(course, force_is_compared_by_root_area) {
    hf_course_in course = course_of_segments();
    hf_goal_in goal = hf_goal_default();
    goal.segment = "canine";
    goal.force_n = 1.0;
    cr_expect_float_eq(hf_course_canine_force(&course, &goal), 1.0, 1e-12);
    goal.segment = "molars";
    double molars = hf_course_canine_force(&course, &goal);
    cr_expect_float_eq(molars / (273.0 / 864.0), 1.0, 0.1, "%g N", molars);
    goal.segment = "incisors";
    double incisors = hf_course_canine_force(&course, &goal);
    cr_expect_float_eq(incisors / (273.0 / 766.0), 1.0, 0.1, "%g N", incisors);
    goal.force_n = 2.0;
    cr_expect_float_eq(hf_course_canine_force(&course, &goal) / incisors, 2.0, 1e-9);
    goal.segment = NULL;
    cr_expect(isnan(hf_course_canine_force(&course, &goal)));
    goal.segment = "molars";
    goal.force_n = NAN;
    cr_expect(isnan(hf_course_canine_force(&course, &goal)));
}

/* What has no name is not found by one, and a number that is no tooth has no root. */
Test(course, nameless_and_unknown_are_nothing) {
    static const int no_teeth[] = {19, 16};
    const hf_segment_in some[] = {{.teeth = no_teeth, .tooth_count = 2},
        {.name = "odd", .teeth = no_teeth, .tooth_count = 1},
        {.name = "molar", .teeth = no_teeth, .tooth_count = 2}};
    hf_course_in course = hf_course_default();
    course.segments = some;
    course.segment_count = 3;
    cr_expect_eq(hf_course_segment(&course, "molar"), &some[2]);
    cr_expect_null(hf_course_segment(&course, "premolar"));
    hf_goal_in goal = hf_goal_default();
    goal.force_n = 1.0;
    goal.segment = "odd";
    cr_expect(isnan(hf_course_canine_force(&course, &goal)));
    cr_expect_eq(hf_movement_usual(HF_MEASURE_OCCLUSAL, no_teeth, 2, -1.0), HF_MOVE_POSTERIOR_INTRUSION);

    hf_moved_in moved[] = {hf_moved_default(), hf_moved_default()};
    moved[0].figure[HF_MEASURE_TIP] = 5.0;
    moved[1].segment = "molar", moved[1].figure[HF_MEASURE_TIP] = 3.0;
    hf_seen_in visit = hf_seen_default();
    visit.on = 10, visit.moved = moved, visit.moved_count = 2;
    course.on = 10, course.visits = &visit, course.visit_count = 1;
    size_t count;
    hf_seen *series = hf_course_series(&course, "molar", HF_MEASURE_TIP, &arena, &count);
    cr_assert_eq(count, 1);
    cr_expect_eq(series[0].value, 3.0);
}
