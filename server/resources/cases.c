/* One course of treatment, and how far it has come. */
#include <string.h>

#include "../draw/progress.h"
#include "../json/course.h"
#include "../json/course_table.h"
#include "../rest/op.h"
#include "common.h"
#include "parts.h"
#include "sheets.h"

static const char *const states[] = {"open", "finished", "stopped", NULL};

static const struct hfd_field stage_fields[] = {
    TEXT_FIELD("name", HFD_FIELD_REQUIRED, "The stage in a few words."),
    {.name = "planned_from", .kind = HFD_FIELD_DATE, .at = HFD_NOWHERE, .what = "Planned first day."},
    {.name = "planned_to", .kind = HFD_FIELD_DATE, .at = HFD_NOWHERE, .what = "Planned last day."},
    TEXT_FIELD("note", 0, "Free text."),
};
static const struct hfd_table stage = {.what = "stage", HFD_FIELDS(stage_fields)};

static const struct hfd_field plan_fields[] = {
    LIST_FIELD("stages", &stage, HF_LIMIT_STAGES, "Planned stages in order."),
};
static const struct hfd_table plan = {.what = "plan", HFD_FIELDS(plan_fields)};
static const struct hfd_shape goals_shape = {&hfd_course_table, "goals"}, stages_shape = {&plan, "stages"};

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "patient_id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_REQUIRED | HFD_FIXED | HFD_FILTER,
        .table = "patients",
        .what = "Whose treatment it is."},
    {.name = "title", .kind = HFD_COLUMN_TEXT, .what = "The treatment in a few words."},
    {.name = "clinician", .kind = HFD_COLUMN_TEXT, .flags = HFD_FILTER, .what = "Who leads it."},
    {.name = "chair",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_FILTER,
        .max = 60,
        .what = "Chair or room where the case is usually seen."},
    {.name = "opened_on", .kind = HFD_COLUMN_DATE, .flags = HFD_RANGE, .what = "First day."},
    {.name = "closed_on", .kind = HFD_COLUMN_DATE, .what = "Last day; left out while it runs."},
    {.name = "state",
        .kind = HFD_COLUMN_ENUM,
        .flags = HFD_FILTER,
        .names = states,
        .initial = "open",
        .what = "How it stands."},
    {.name = "arches",
        .kind = HFD_COLUMN_PART,
        .shape = &hfd_shapes[HFD_SHAPE_ARCHES],
        .what = "Measured arches."},
    {.name = "teeth",
        .kind = HFD_COLUMN_PART,
        .shape = &hfd_shapes[HFD_SHAPE_TEETH],
        .what = "Teeth, with what was measured on them."},
    {.name = "segments",
        .kind = HFD_COLUMN_PART,
        .shape = &hfd_shapes[HFD_SHAPE_SEGMENTS],
        .what = "Teeth joined to groups."},
    {.name = "goals", .kind = HFD_COLUMN_PART, .shape = &goals_shape, .what = "What is to be reached."},
    {.name = "stages", .kind = HFD_COLUMN_PART, .shape = &stages_shape, .what = "Planned stages in order."},
    {.name = "note", .kind = HFD_COLUMN_TEXT, .flags = HFD_ANY_TEXT, .max = 4000, .what = "Free text."},
    HFD_COLUMNS_AFTER,
};

static void check(const struct hfd_row *row, struct hfd_errors *errors) {
    hfd_row_ordered(row, "opened_on", "closed_on", errors);
}

static const struct hfd_rule rules[] = {
    {.sql = "select '/goals/' || n - 1 || '/segment', 'The case has no segment of this name.' "
            "from jsonb_array_elements($2::jsonb) with ordinality e (g, n) where g ? 'segment' and not exists "
            "(select from jsonb_array_elements($1::jsonb) s where s ->> 'name' = g ->> 'segment')",
        .params = {"segments", "goals"}},
};

/* ---------------------------------------------------------------- how far it has come */

/* Force begins with the first visit that had an element; else with the course. */
const struct hfd_statement hfd_course_statement = {"case-course",
    "select json_strip_nulls(json_build_object('on', d.day, 'segments', c.segments, 'goals', c.goals, "
    "'from', coalesce((select min(v.visited_on) from visits v where v.case_id = c.id and "
    "jsonb_array_length(v.elements) > 0), c.opened_on, (select min(v.visited_on) from visits v where v.case_id = c.id)), "
    "'visits', (select json_agg(json_build_object('on', v.visited_on, 'overjet_mm', v.measures -> 'overjet_mm', "
    "'overbite_mm', v.measures -> 'overbite_mm', 'space_right_mm', v.measures -> 'space_right_mm', "
    "'space_left_mm', v.measures -> 'space_left_mm', 'segments', v.measures -> 'segments') order by v.visited_on) "
    "from visits v where v.case_id = c.id and v.visited_on <= d.day))) "
    "from cases c, (select coalesce($2::date, current_date) as day) d where c.id = $1::uuid",
    2};

static enum hfd_problem_kind read_progress(struct hfd_op *op) {
    const char *params[2] = {op->id};
    if (!hfd_op_day(op, &params[1])) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    struct hfd_call call = {.statement = &hfd_course_statement, .params = params};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind != HFD_OK) return kind;
    if (call.rows.row_count == 0) return HFD_NOT_FOUND;
    const char *text = hfd_cell(&call.rows, 0, 0);
    struct hfd_course_told told;
    /* The parts were checked when they were written: what does not fit now is a fault of ours. */
    if (hfd_course_progress(text, strlen(text), op->arena, &op->errors, &told) != HFD_OK) return HFD_INTERNAL;
    if (!hfd_op_produces(op, "image/svg+xml")) return hfd_op_json(op, told.body, told.body_len);
    struct hfd_buf buf;
    hfd_buf_init(&buf, op->arena, 16384);
    hfd_draw_progress(&buf, false, &told.progress);
    return hfd_clinic_drawing(op, &buf);
}

static const char *const day_query[] = {"on", NULL};
static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/cases/{id}/progress",
        .what = "Goals against what the visits measured: expected, estimated, and the time that is left",
        .answers = "{$ref: \"#/components/schemas/Progress\"}",
        .roles = HFD_CHART_READERS,
        .operation = read_progress,
        .produces = "application/json, image/svg+xml",
        .query = day_query},
};

const struct hfd_resource hfd_resource_cases = {
    .path = "/v1/cases",
    .noun = "case",
    .example =
        "{\"patient_id\": \"01890a5d-ac96-774b-bcce-b302099a8057\", \"title\": \"molar intrusion\", "
        "\"segments\": [{\"name\": \"upper right molars\", \"teeth\": [\"16\", \"17\"], \"joined\": \"rigid\"}], "
        "\"goals\": [{\"segment\": \"upper right molars\", \"occlusal_mm\": -2}]}",
    .change = "{\"title\": \"molar intrusion, then aligners\"}",
    .table = "cases",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CHART_READERS,
    .write_roles = HFD_CHART_WRITERS,
    .read_page = hfd_case_sheet,
    .sort = "-created_at",
    .check = check,
    .rules = rules,
    .rule_count = HFD_COUNT(rules),
    .routes = routes,
    .route_count = HFD_COUNT(routes),
};
