/* One course of treatment. */
#include "common.h"
#include "parts.h"

static const char *const states[] = {"open", "finished", "stopped", NULL};

static const struct hfd_field goal_fields[] = {
    TEXT_FIELD("segment", HFD_FIELD_REQUIRED, "Name of a segment of this case."),
    MOVEMENT_FIELDS,
};
static const struct hfd_table goal = {.what = "goal", HFD_FIELDS(goal_fields)};

static const struct hfd_field stage_fields[] = {
    TEXT_FIELD("name", HFD_FIELD_REQUIRED, "The stage in a few words."),
    {.name = "planned_from", .kind = HFD_FIELD_DATE, .at = HFD_NOWHERE, .what = "Planned first day."},
    {.name = "planned_to", .kind = HFD_FIELD_DATE, .at = HFD_NOWHERE, .what = "Planned last day."},
    TEXT_FIELD("note", 0, "Free text."),
};
static const struct hfd_table stage = {.what = "stage", HFD_FIELDS(stage_fields)};

static const struct hfd_field plan_fields[] = {
    LIST_FIELD("goals", &goal, "Wished movement per segment."),
    LIST_FIELD("stages", &stage, "Planned stages in order."),
};
static const struct hfd_table plan = {.what = "plan", HFD_FIELDS(plan_fields)};
static const struct hfd_shape goals_shape = {"goals", &plan, "goals"},
                              stages_shape = {"stages", &plan, "stages"};

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "patient_id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_REQUIRED | HFD_FIXED | HFD_FILTER,
        .table = "patients",
        .what = "Whose treatment it is."},
    {.name = "title", .kind = HFD_COLUMN_TEXT, .what = "The treatment in a few words."},
    {.name = "clinician", .kind = HFD_COLUMN_TEXT, .flags = HFD_FILTER, .what = "Who leads it."},
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
    {.name = "goals", .kind = HFD_COLUMN_PART, .shape = &goals_shape, .what = "Wished movement per segment."},
    {.name = "stages", .kind = HFD_COLUMN_PART, .shape = &stages_shape, .what = "Planned stages in order."},
    {.name = "note", .kind = HFD_COLUMN_TEXT, .flags = HFD_ANY_TEXT, .max = 4000, .what = "Free text."},
    HFD_COLUMNS_AFTER,
};

static void check(const struct hfd_row *row, struct hfd_errors *errors) {
    hfd_row_ordered(row, "opened_on", "closed_on", errors);
}

static const struct hfd_rule rules[] = {
    {.sql = "select '/goals/' || n - 1 || '/segment', 'The case has no segment of this name.' "
            "from jsonb_array_elements($2::jsonb) with ordinality e (g, n) where not exists "
            "(select from jsonb_array_elements($1::jsonb) s where s ->> 'name' = g ->> 'segment')",
        .params = {"segments", "goals"}},
};

const struct hfd_resource hfd_resource_cases = {
    .path = "/v1/cases",
    .noun = "case",
    .example =
        "{\"patient_id\": \"01890a5d-ac96-774b-bcce-b302099a8057\", \"title\": \"molar intrusion\", "
        "\"segments\": [{\"name\": \"upper right molars\", \"teeth\": [\"16\", \"17\"], \"joined\": \"rigid\"}], "
        "\"goals\": [{\"segment\": \"upper right molars\", \"occlusal_mm\": -2}]}",
    .table = "cases",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CHART_READERS,
    .write_roles = HFD_CHART_WRITERS,
    .sort = "-created_at",
    .check = check,
    .rules = rules,
    .rule_count = HFD_COUNT(rules),
};
