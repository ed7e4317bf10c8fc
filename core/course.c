#include "course.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "evidence.h"
#include "tooth.h"

const char *const hf_measure_names[HF_MEASURE_COUNT + 1] = {
    [HF_MEASURE_MESIAL] = "mesial_mm",
    [HF_MEASURE_BUCCAL] = "buccal_mm",
    [HF_MEASURE_OCCLUSAL] = "occlusal_mm",
    [HF_MEASURE_TIP] = "tip_deg",
    [HF_MEASURE_TORQUE] = "torque_deg",
    [HF_MEASURE_ROTATION] = "rotation_deg",
    [HF_MEASURE_OVERJET] = "overjet_mm",
    [HF_MEASURE_OVERBITE] = "overbite_mm",
    [HF_MEASURE_SPACE_RIGHT] = "space_right_mm",
    [HF_MEASURE_SPACE_LEFT] = "space_left_mm",
};

const char *const hf_measure_words[HF_MEASURE_COUNT] = {
    [HF_MEASURE_MESIAL] = "towards mesial",
    [HF_MEASURE_BUCCAL] = "towards buccal",
    [HF_MEASURE_OCCLUSAL] = "towards occlusal (intrusion \xE2\x88\x92)",
    [HF_MEASURE_TIP] = "tip, crown to mesial",
    [HF_MEASURE_TORQUE] = "torque, crown to buccal",
    [HF_MEASURE_ROTATION] = "rotation, mesial side to buccal",
    [HF_MEASURE_OVERJET] = "overjet",
    [HF_MEASURE_OVERBITE] = "overbite",
    [HF_MEASURE_SPACE_RIGHT] = "space left to close, right",
    [HF_MEASURE_SPACE_LEFT] = "space left to close, left",
};

static void nothing_in(double figure[HF_MEASURE_COUNT]) {
    for (int i = 0; i < HF_MEASURE_COUNT; i++)
        figure[i] = NAN;
}

hf_goal_in hf_goal_default(void) {
    hf_goal_in goal = {.movement = HF_MOVEMENT_COUNT, .force_n = NAN, .from = HF_ABSENT, .by = HF_ABSENT};
    nothing_in(goal.wished);
    return goal;
}

hf_moved_in hf_moved_default(void) {
    hf_moved_in moved = {0};
    nothing_in(moved.figure);
    return moved;
}

hf_seen_in hf_seen_default(void) {
    hf_seen_in seen = {.on = HF_ABSENT};
    nothing_in(seen.figure);
    return seen;
}

hf_course_in hf_course_default(void) {
    return (hf_course_in){.on = HF_ABSENT, .from = HF_ABSENT};
}

bool hf_measure_turns(hf_measure measure) {
    return measure >= HF_MEASURE_TIP && measure <= HF_MEASURE_ROTATION;
}

bool hf_measure_of_segment(hf_measure measure) {
    return measure <= HF_MEASURE_ROTATION;
}

double hf_measure_sd(hf_measure measure) {
    return hf_measure_turns(measure) ? HF_EV(MEASURE_SD_DEG) : HF_EV(MEASURE_SD_MM);
}

/* ---------------------------------------------------------------- which movement, at which rate */

const hf_segment_in *hf_course_segment(const hf_course_in *in, const char *name) {
    for (size_t i = 0; name && i < in->segment_count; i++)
        if (in->segments[i].name && strcmp(in->segments[i].name, name) == 0) return &in->segments[i];
    return NULL;
}

/* A group is told by its hindmost tooth: 1 and 2 incisors, 3 with a canine, above that back teeth. */
static int hindmost(const int *teeth, size_t count) {
    int position = 0;
    for (size_t i = 0; i < count; i++) {
        const hf_morphology *shape = hf_morphology_of(teeth[i]);
        if (shape && shape->position > position) position = shape->position;
    }
    return position;
}

/* Usual movement by direction: against (-) and along (+) the measure, of front and of back teeth. */
static const struct {
    hf_movement front_down, front_up, back_down, back_up;
} by_direction[HF_MEASURE_COUNT] = {
    [HF_MEASURE_MESIAL] = {HF_MOVE_EN_MASSE_RETRACTION, HF_MOVE_MOLAR_PROTRACTION,
        HF_MOVE_MOLAR_DISTALISATION, HF_MOVE_MOLAR_PROTRACTION},
    [HF_MEASURE_BUCCAL] = {HF_MOVE_EN_MASSE_RETRACTION, HF_MOVE_TRANSVERSE, HF_MOVE_TRANSVERSE,
        HF_MOVE_TRANSVERSE},
    [HF_MEASURE_OCCLUSAL] = {HF_MOVE_INCISOR_INTRUSION, HF_MOVE_EXTRUSION, HF_MOVE_POSTERIOR_INTRUSION,
        HF_MOVE_EXTRUSION},
    [HF_MEASURE_TIP] = {HF_MOVE_TIPPING, HF_MOVE_TIPPING, HF_MOVE_TIPPING, HF_MOVE_TIPPING},
    [HF_MEASURE_TORQUE] = {HF_MOVE_TORQUE, HF_MOVE_TORQUE, HF_MOVE_TORQUE, HF_MOVE_TORQUE},
    [HF_MEASURE_ROTATION] = {HF_MOVE_ROTATION, HF_MOVE_ROTATION, HF_MOVE_ROTATION, HF_MOVE_ROTATION},
    [HF_MEASURE_OVERJET] = {HF_MOVE_EN_MASSE_RETRACTION, HF_MOVE_TRANSVERSE, HF_MOVE_EN_MASSE_RETRACTION,
        HF_MOVE_TRANSVERSE},
    [HF_MEASURE_OVERBITE] = {HF_MOVE_OVERBITE, HF_MOVE_OVERBITE, HF_MOVE_OVERBITE, HF_MOVE_OVERBITE},
    [HF_MEASURE_SPACE_RIGHT] = {HF_MOVE_EN_MASSE_RETRACTION, HF_MOVE_MOLAR_DISTALISATION,
        HF_MOVE_EN_MASSE_RETRACTION, HF_MOVE_MOLAR_DISTALISATION},
    [HF_MEASURE_SPACE_LEFT] = {HF_MOVE_EN_MASSE_RETRACTION, HF_MOVE_MOLAR_DISTALISATION,
        HF_MOVE_EN_MASSE_RETRACTION, HF_MOVE_MOLAR_DISTALISATION},
};

hf_movement hf_movement_usual(hf_measure measure, const int *teeth, size_t count, double direction) {
    int position = hindmost(teeth, count);
    bool front = position >= 1 && position <= 3;
    if (measure == HF_MEASURE_MESIAL && direction < 0.0 && position == 3 && count == 1)
        return HF_MOVE_CANINE_RETRACTION;
    if (front) return direction < 0.0 ? by_direction[measure].front_down : by_direction[measure].front_up;
    return direction < 0.0 ? by_direction[measure].back_down : by_direction[measure].back_up;
}

hf_movement hf_course_movement(
    const hf_course_in *in, const hf_goal_in *goal, hf_measure measure, double direction) {
    const hf_segment_in *segment = hf_course_segment(in, goal->segment);
    if (goal->movement != HF_MOVEMENT_COUNT && hf_movement_turns(goal->movement) == hf_measure_turns(measure))
        return goal->movement;
    return hf_movement_usual(
        measure, segment ? segment->teeth : NULL, segment ? segment->tooth_count : 0, direction);
}

/* From neck to apex, as root areas are published. */
static double root_area_mm2(int tooth) {
    const hf_morphology *shape = hf_morphology_of(tooth);
    const hf_ligament any = {1.0, 1.0, 1.0}; /* does not bear on the area */
    double sum = 0.0, area;
    for (size_t i = 0; shape && i < shape->root_count; i++) {
        hf_root_stiffness(&shape->roots[i], 0.0, &any, &area);
        sum += area;
    }
    return sum;
}

double hf_course_canine_force(const hf_course_in *in, const hf_goal_in *goal) {
    const hf_segment_in *segment = hf_course_segment(in, goal->segment);
    double sum_mm2 = 0.0;
    for (size_t i = 0; segment && i < segment->tooth_count; i++)
        sum_mm2 += root_area_mm2(segment->teeth[i]);
    return sum_mm2 > 0.0 ? goal->force_n * root_area_mm2(13) / sum_mm2 : NAN;
}

/* ---------------------------------------------------------------- what was measured */

static double figure_at(const hf_seen_in *visit, const char *segment, hf_measure measure) {
    if (!hf_measure_of_segment(measure)) return visit->figure[measure];
    for (size_t i = 0; segment && i < visit->moved_count; i++) {
        const hf_moved_in *moved = &visit->moved[i];
        if (moved->segment && strcmp(moved->segment, segment) == 0) return moved->figure[measure];
    }
    return NAN;
}

static int by_day(const void *a, const void *b) {
    const hf_seen *one = a, *other = b;
    return (one->on > other->on) - (one->on < other->on);
}

hf_seen *hf_course_series(
    const hf_course_in *in, const char *segment, hf_measure measure, hf_arena *arena, size_t *count) {
    hf_seen *series = HF_NEW_ARRAY(arena, hf_seen, in->visit_count);
    *count = 0;
    for (size_t i = 0; i < in->visit_count; i++) {
        const hf_seen_in *visit = &in->visits[i];
        double value = figure_at(visit, segment, measure);
        if (visit->on <= in->on && !isnan(value)) series[(*count)++] = (hf_seen){visit->on, value};
    }
    qsort(series, *count, sizeof *series, by_day);
    return series;
}
