#include "course_table.h"

#include "answer_table.h"
#include "table.h"

HFD_INIT(hf_goal_in, hf_goal_default)
HFD_INIT(hf_moved_in, hf_moved_default)
HFD_INIT(hf_seen_in, hf_seen_default)
HFD_INIT(hf_course_in, hf_course_default)

/* ---------------------------------------------------------------- what is told */

/* In a segment's own directions. */
#define MOVEMENT(type, member)                                                                               \
    {"mesial_mm", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_MESIAL]), .limit = HF_LIMIT_MEASURE,            \
        .needs = "segment", .what = "Towards mesial."},                                                      \
        {"buccal_mm", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_BUCCAL]), .limit = HF_LIMIT_MEASURE,        \
            .needs = "segment", .what = "Towards buccal."},                                                  \
        {"occlusal_mm", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_OCCLUSAL]), .limit = HF_LIMIT_MEASURE,    \
            .needs = "segment", .what = "Towards occlusal; intrusion is negative."},                         \
        {"tip_deg", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_TIP]), .limit = HF_LIMIT_ANGLE,               \
            .needs = "segment", .what = "Crown to mesial."},                                                 \
        {"torque_deg", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_TORQUE]), .limit = HF_LIMIT_ANGLE,         \
            .needs = "segment", .what = "Crown to buccal."},                                                 \
    {                                                                                                        \
        "rotation_deg", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_ROTATION]),                               \
            .limit = HF_LIMIT_ANGLE, .needs = "segment", .what = "Mesial side to buccal."                    \
    }

#define BITE(type, member)                                                                                   \
    {"overjet_mm", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_OVERJET]), .limit = HF_LIMIT_MEASURE,          \
        .what = "Overjet."},                                                                                 \
        {"overbite_mm", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_OVERBITE]), .limit = HF_LIMIT_MEASURE,    \
            .what = "Overbite; an open bite is negative."},                                                  \
        {"space_right_mm", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_SPACE_RIGHT]),                         \
            .limit = HF_LIMIT_MEASURE, .what = "Space left to close, patient's right."},                     \
    {                                                                                                        \
        "space_left_mm", HFD_FIELD_REAL, AT(type, member[HF_MEASURE_SPACE_LEFT]),                            \
            .limit = HF_LIMIT_MEASURE, .what = "Space left to close, patient's left."                        \
    }

static const struct hfd_field goal_fields[] = {
    {"segment", HFD_FIELD_TEXT, AT(hf_goal_in, segment),
        .what = "Name of a segment of this case; left out: the goal is of the bite."},
    MOVEMENT(hf_goal_in, wished),
    BITE(hf_goal_in, wished),
    {"movement", HFD_FIELD_ENUM, AT(hf_goal_in, movement), .names = hf_movement_names,
        .what = "Whose published rate is expected; left out: the usual one by direction and teeth."},
    {"force_n", HFD_FIELD_REAL, AT(hf_goal_in, force_n), .limit = HF_LIMIT_TENSION,
        .what = "Force on the segment; left out: that of the published rate."},
    {"from", HFD_FIELD_DATE, AT(hf_goal_in, from),
        .what = "First day of its force; left out: the first visit with a force element."},
    {"by", HFD_FIELD_DATE, AT(hf_goal_in, by), .what = "Day on which it is to be reached."},
};
static const struct hfd_table goal_table = {
    "a goal", HFD_FIELDS(goal_fields), .size = sizeof(hf_goal_in), .init = hf_goal_in_init};

static const struct hfd_field moved_fields[] = {
    {"segment", HFD_FIELD_TEXT, REQUIRED, AT(hf_moved_in, segment), .what = "Name of a segment."},
    MOVEMENT(hf_moved_in, figure),
};
static const struct hfd_table moved_table = {
    "movement of a segment", HFD_FIELDS(moved_fields), .size = sizeof(hf_moved_in), .init = hf_moved_in_init};

static const struct hfd_field seen_fields[] = {
    {"on", HFD_FIELD_DATE, REQUIRED, AT(hf_seen_in, on), .what = "Day of the visit."},
    BITE(hf_seen_in, figure),
    {"segments", LIST(hf_seen_in, moved, moved_count), .table = &moved_table,
        .what = "Movement of segments."},
};
static const struct hfd_table seen_table = {
    "a visit", HFD_FIELDS(seen_fields), .size = sizeof(hf_seen_in), .init = hf_seen_in_init};

static const struct hfd_field course_fields[] = {
    {"on", HFD_FIELD_DATE, REQUIRED, AT(hf_course_in, on), .what = "Day that it is told for."},
    {"from", HFD_FIELD_DATE, AT(hf_course_in, from), .what = "First day of force."},
    {"segments", LIST(hf_course_in, segments, segment_count), .limit = HF_LIMIT_SEGMENTS,
        .table = &hfd_segment_table, .what = "Teeth joined to groups."},
    {"goals", LIST(hf_course_in, goals, goal_count), .limit = HF_LIMIT_GOALS, .table = &goal_table,
        .what = "What is to be reached: movement of segments in all (0: to be held), figures of the bite as "
                "they shall be."},
    {"visits", LIST(hf_course_in, visits, visit_count), .table = &seen_table, .what = "What was measured."},
};
const struct hfd_table hfd_course_table = {
    "a course", HFD_FIELDS(course_fields), .size = sizeof(hf_course_in), .init = hf_course_in_init};

/* ---------------------------------------------------------------- what is answered */

#define RANGE(type, member) .kind = HFD_FIELD_OBJECT, AT(type, member), .table = &hfd_range_table

static const struct hfd_field expected_fields[] = {
    {"per_month", RANGE(hf_goal_out, expected_per_month), .what = "published rate; 95 % of patients"},
    {"now", RANGE(hf_goal_out, expected),
        .what = "where that rate puts the figure on the day, at most at the goal"},
};
static const struct hfd_table expected_table = {
    "by the published rate", HFD_FIELDS(expected_fields), .size = sizeof(hf_goal_out)};

static const struct hfd_field measured_fields[] = {
    {"on", HFD_FIELD_DATE, REQUIRED, AT(hf_seen, on), .what = "day of the visit"},
    {"value", HFD_FIELD_REAL, REQUIRED, AT(hf_seen, value), .what = "figure"},
};
static const struct hfd_table measured_table = {
    "a measurement", HFD_FIELDS(measured_fields), .size = sizeof(hf_seen)};

static const struct hfd_field estimate_fields[] = {
    {"per_month", RANGE(hf_goal_out, per_month), .what = "this patient's rate"},
    {"now", RANGE(hf_goal_out, now), .what = "figure on the day, at most at the goal unless measured beyond"},
    {"reached", HFD_FIELD_REAL, AT(hf_goal_out, reached),
        .what = "probability that the goal is reached, if the movement went on since the last measurement"},
    {"reached_on", HFD_FIELD_DATE, AT(hf_goal_out, reached_on),
        .what = "first measurement that shows the goal reached; from then on the figure is held"},
};
static const struct hfd_table estimate_table = {
    "learnt from what was measured, beginning with the published rate; 95 % intervals",
    HFD_FIELDS(estimate_fields), .size = sizeof(hf_goal_out)};

static const struct hfd_field remaining_fields[] = {
    {"amount", RANGE(hf_goal_out, remaining), .what = "wished less where it stands"},
    {"days", RANGE(hf_goal_out, remaining_days),
        .what = "from the day on; an end that is not certain or beyond ten years is left out"},
    {"chance_by", HFD_FIELD_REAL, AT(hf_goal_out, chance_by),
        .what = "probability of arriving by the planned day"},
};
static const struct hfd_table remaining_table = {
    "what is left", HFD_FIELDS(remaining_fields), .size = sizeof(hf_goal_out)};

static const struct hfd_field relapse_fields[] = {
    {"first_year_mm", RANGE(hf_relapse, first_year_mm), .what = "in the first year of retention"},
    {"three_years_mm", RANGE(hf_relapse, three_years_mm), .what = "in three years"},
};
static const struct hfd_table relapse_table = {
    "what comes back of the whole intrusion", HFD_FIELDS(relapse_fields), .size = sizeof(hf_relapse)};

static const struct hfd_field autorotation_fields[] = {
    {"overbite_mm", RANGE(hf_autorotation, overbite_mm), .what = "overbite gained"},
    {"menton_up_mm", RANGE(hf_autorotation, menton_up_mm), .what = "lowest point of the chin goes up"},
    {"pogonion_forward_mm", RANGE(hf_autorotation, pogonion_forward_mm), .what = "chin goes forward"},
    {"plane_flatter_deg", RANGE(hf_autorotation, plane_flatter_deg), .what = "mandibular plane flattens"},
};
static const struct hfd_table autorotation_table = {
    "what the mandible does when the upper back teeth of both sides are intruded that far",
    HFD_FIELDS(autorotation_fields), .size = sizeof(hf_autorotation)};

static const struct hfd_field goal_out_fields[] = {
    {"segment", HFD_FIELD_TEXT, AT(hf_goal_out, segment), .what = "name; left out: of the bite"},
    {"measure", HFD_FIELD_TEXT, REQUIRED, AT(hf_goal_out, measure),
        .what = "member of the goal; all figures in its unit and sign"},
    {"movement", HFD_FIELD_TEXT, AT(hf_goal_out, movement), .what = "whose published rate is expected"},
    {"wished", HFD_FIELD_REAL, AT(hf_goal_out, wished), .what = "goal"},
    {"from", HFD_FIELD_DATE, AT(hf_goal_out, from), .what = "first day of its force"},
    {"by", HFD_FIELD_DATE, AT(hf_goal_out, by), .what = "planned day of arrival"},
    {"lag_days", HFD_FIELD_REAL, AT(hf_goal_out, lag_days), .what = "days before movement sets in"},
    {"expected", HFD_FIELD_OBJECT, .table = &expected_table, .what = "by the published rate"},
    {"measured", LIST(hf_goal_out, measured, measured_count), .table = &measured_table,
        .what = "what the visits measured"},
    {"estimate", HFD_FIELD_OBJECT, .table = &estimate_table, .what = "left out while nothing is measured"},
    {"remaining", HFD_FIELD_OBJECT, .table = &remaining_table,
        .what = "by the estimate; while nothing is measured, by the published rate"},
    {"relapse", HFD_FIELD_OBJECT, AT(hf_goal_out, relapse), .table = &relapse_table,
        .what = "of an intrusion of back teeth"},
    {"autorotation", HFD_FIELD_OBJECT, AT(hf_goal_out, autorotation), .table = &autorotation_table,
        .what = "of an intrusion of upper back teeth"},
};
static const struct hfd_table goal_out_table = {
    "one wished figure", HFD_FIELDS(goal_out_fields), .size = sizeof(hf_goal_out)};

static const struct hfd_field model_fields[] = {
    {"core", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_progress_view, core),
        .what = "version of the computation"},
    {"parameters", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_progress_view, parameters),
        .what = "version of the constants"},
};
static const struct hfd_table model_table = {
    "the model", HFD_FIELDS(model_fields), .size = sizeof(struct hfd_progress_view)};

#define VIEW_LIST(items, number) LIST(struct hfd_progress_view, progress.items, progress.number)
static const struct hfd_field progress_fields[] = {
    {"model", HFD_FIELD_OBJECT, REQUIRED, .table = &model_table, .what = "versions of what computed this"},
    {"on", HFD_FIELD_DATE, REQUIRED, AT(struct hfd_progress_view, progress.on),
        .what = "day that it is told for"},
    {"goals", VIEW_LIST(goals, goal_count), .table = &goal_out_table, .what = "one for each wished figure"},
    {"findings", VIEW_LIST(findings, finding_count), .table = &hfd_finding_table,
        .what = "what to know beside the numbers"},
    {"sources", .kind = HFD_FIELD_MAP, .at = offsetof(struct hfd_progress_view, progress.sources),
        .count_at = offsetof(struct hfd_progress_view, progress.source_count), .table = &hfd_source_table,
        .what = "citations by key"},
    {"notice", HFD_FIELD_TEXT, REQUIRED, AT(struct hfd_progress_view, progress.notice),
        .what = "what this is for"},
};
const struct hfd_table hfd_progress_table = {
    "progress of a course", HFD_FIELDS(progress_fields), .size = sizeof(struct hfd_progress_view)};
