/* One day on a case, and what its forces come to. */
#include <string.h>

#include "../base/digest.h"
#include "../draw/force_view.h"
#include "../draw/screw_loads.h"
#include "../json/document.h"
#include "../rest/op.h"
#include "common.h"
#include "parts.h"
#include "sheets.h"

static const struct hfd_field worn_fields[] = {
    TEXT_FIELD("setup_id", HFD_FIELD_REQUIRED, "A setup of the case."),
    INT_FIELD("version", HF_LIMIT_NONE, "Its plate_version; left out: the one worn that day."),
};
static const struct hfd_table worn_item = {.what = "setup worn", HFD_FIELDS(worn_fields)};

static const struct hfd_field check_fields[] = {
    TEXT_FIELD("screw", HFD_FIELD_REQUIRED, "Name of a screw of the case."),
    INT_FIELD("mobility_grade", HF_LIMIT_GRADE, "0 none to 3."),
    INT_FIELD("inflammation_grade", HF_LIMIT_GRADE, "0 none to 3."),
    REAL_FIELD("percussion_score", HF_LIMIT_SCORE, "Score of a percussion device."),
    REAL_FIELD("resonance_score", HF_LIMIT_SCORE, "Score of a resonance device."),
};
static const struct hfd_table check_item = {.what = "screw as seen", HFD_FIELDS(check_fields)};

static const struct hfd_field force_fields[] = {
    TEXT_FIELD("element", HFD_FIELD_REQUIRED, "Name of a force element."),
    REAL_FIELD("force_n", HF_LIMIT_TENSION, "Measured before anything was changed."),
};
static const struct hfd_table force = {.what = "measured force", HFD_FIELDS(force_fields)};

static const struct hfd_field tooth_fields[] = {
    {.name = "tooth",
        .kind = HFD_FIELD_TOOTH,
        .flags = HFD_FIELD_REQUIRED,
        .at = HFD_NOWHERE,
        .what = "ISO 3950 number."},
    {.name = "at_mm",
        .kind = HFD_FIELD_REALS,
        .flags = HFD_FIELD_REQUIRED,
        .at = HFD_NOWHERE,
        .count = 3,
        .limit = HF_LIMIT_COORDINATE,
        .what = "Centre of its crown."},
};
static const struct hfd_table tooth = {.what = "tooth position", HFD_FIELDS(tooth_fields)};

static const struct hfd_field moved_fields[] = {
    TEXT_FIELD("segment", HFD_FIELD_REQUIRED, "Name of a segment."),
    MOVEMENT_FIELDS,
};
static const struct hfd_table moved = {.what = "movement of a segment", HFD_FIELDS(moved_fields)};

static const struct hfd_field measure_fields[] = {
    REAL_FIELD("overjet_mm", HF_LIMIT_MEASURE, "Overjet."),
    REAL_FIELD("overbite_mm", HF_LIMIT_MEASURE, "Overbite; an open bite is negative."),
    REAL_FIELD("space_right_mm", HF_LIMIT_MEASURE, "Space left to close, patient's right."),
    REAL_FIELD("space_left_mm", HF_LIMIT_MEASURE, "Space left to close, patient's left."),
    LIST_FIELD("forces", &force, HF_LIMIT_ELEMENTS, "Forces measured."),
    LIST_FIELD("teeth", &tooth, HF_LIMIT_TEETH, "Positions of teeth."),
    LIST_FIELD("segments", &moved, HF_LIMIT_SEGMENTS, "Movement of segments."),
};
static const struct hfd_table measure_table = {.what = "measures", HFD_FIELDS(measure_fields)};

static const char *const action_words[] = {
    "placed", "activated", "reactivated", "exchanged", "adjusted", "removed", "instructed", NULL};
static const struct hfd_field action_fields[] = {
    {.name = "action",
        .kind = HFD_FIELD_ENUM,
        .flags = HFD_FIELD_REQUIRED,
        .at = HFD_NOWHERE,
        .names = action_words,
        .what = "What was done."},
    TEXT_FIELD("of", 0, "Name of the screw, setup or element."),
    TEXT_FIELD("note", 0, "Free text."),
};
static const struct hfd_table action = {.what = "action", HFD_FIELDS(action_fields)};

static const struct hfd_field part_fields[] = {
    LIST_FIELD("worn", &worn_item, HF_LIMIT_PLATES, "Setups worn when the patient left."),
    LIST_FIELD("screw_checks", &check_item, HF_LIMIT_SCREWS, "Screws as seen."),
    {.name = "measures",
        .kind = HFD_FIELD_OBJECT,
        .at = HFD_NOWHERE,
        .table = &measure_table,
        .what = "What was measured."},
    LIST_FIELD("actions", &action, HF_LIMIT_ACTIONS, "What was done."),
};
static const struct hfd_table parts = {.what = "visit", HFD_FIELDS(part_fields)};
static const struct hfd_shape worn_shape = {&parts, "worn"}, checks_shape = {&parts, "screw_checks"},
                              measures_shape = {&parts, "measures"}, actions_shape = {&parts, "actions"};

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "case_id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_REQUIRED | HFD_FIXED | HFD_FILTER,
        .table = "cases",
        .what = "Course of treatment."},
    {.name = "visited_on",
        .kind = HFD_COLUMN_DATE,
        .flags = HFD_REQUIRED | HFD_FILTER | HFD_RANGE | HFD_SORT,
        .what = "Day of the visit, once in a case."},
    {.name = "worn",
        .kind = HFD_COLUMN_PART,
        .shape = &worn_shape,
        .what = "Setups worn when the patient left."},
    {.name = "elements",
        .kind = HFD_COLUMN_PART,
        .shape = &hfd_shapes[HFD_SHAPE_ELEMENTS],
        .what = "Force elements when the patient left; activated_on left out: that day."},
    {.name = "screw_checks", .kind = HFD_COLUMN_PART, .shape = &checks_shape, .what = "Screws as seen."},
    {.name = "measures", .kind = HFD_COLUMN_PART, .shape = &measures_shape, .what = "What was measured."},
    {.name = "actions", .kind = HFD_COLUMN_PART, .shape = &actions_shape, .what = "What was done."},
    {.name = "next_interval_days",
        .kind = HFD_COLUMN_INT,
        .limit = HF_LIMIT_HORIZON,
        .what = "Days to the next visit; stability is told for them."},
    {.name = "note", .kind = HFD_COLUMN_TEXT, .flags = HFD_ANY_TEXT, .max = 4000, .what = "Free text."},
    HFD_COLUMNS_AFTER,
};

/* $1 case, $2 worn, $3 day. Ids are compared as text: what is no UUID is no setup either. */
static const char worn_rule[] =
    "with w as (select '/worn/' || e.n - 1 as pointer, e.n, lower(e.w ->> 'setup_id') as setup_id, "
    "(e.w ->> 'version')::numeric as version from jsonb_array_elements($2::jsonb) with ordinality as e (w, n)) "
    "select pointer || '/setup_id', 'The case has no such setup.' from w "
    "where not exists (select from setups s where s.case_id = $1::uuid and s.id::text = w.setup_id) union all "
    "select pointer || '/setup_id', 'The setup stands in the list twice.' from w "
    "where exists (select from w as e where e.setup_id = w.setup_id and e.n < w.n) union all "
    "select pointer || '/version', 'The setup has no such version.' from w "
    "join setups s on s.case_id = $1::uuid and s.id::text = w.setup_id where w.version is not null and not exists "
    "(select from setup_versions v where v.setup_id = s.id and v.version = w.version) union all "
    "select pointer || '/setup_id', 'No version of the setup was worn yet on ' || $3::date || '.' from w "
    "join setups s on s.case_id = $1::uuid and s.id::text = w.setup_id where w.version is null and not exists "
    "(select from setup_versions v where v.setup_id = s.id and v.worn_from <= $3::date)";

static const struct hfd_rule rules[] = {
    /* Told here once, so that an element that stays over several visits keeps the day its force began. */
    {.sql = "select coalesce(jsonb_agg(case when e ->> 'kind' in ('applied', 'rigid-bar') then e "
            "else jsonb_build_object('activated_on', $2::date) || e end order by n), $1::jsonb) "
            "from jsonb_array_elements($1::jsonb) with ordinality as l (e, n)",
        .params = {"elements", "visited_on"},
        .fills = {"elements"}},
    {.sql = worn_rule, .params = {"case_id", "worn", "visited_on"}},
    {.sql = "select '/screw_checks/' || n - 1 || '/screw', 'The case has no screw of this name.' "
            "from jsonb_array_elements($2::jsonb) with ordinality e (c, n) where not exists "
            "(select from screws s where s.case_id = $1::uuid and s.name = c ->> 'screw')",
        .params = {"case_id", "screw_checks"}},
};

/* ---------------------------------------------------------------- what its forces come to */

static const struct hfd_statement document_statement = {
    "visit-document", "select visit_document($1::uuid, $2::date)", 2};
/* The answers kept for this day under this model, by digest. */
static const struct hfd_statement kept_statement = {"evaluations-kept",
    "select digest from evaluations where visit_id = $1::uuid and core_version = $3 and parameters = $4 "
    "and evaluated_on = coalesce($2::date, (select visited_on from visits where id = $1::uuid))",
    4};
static const struct hfd_statement keep_statement = {"evaluations-keep",
    "insert into evaluations (visit_id, digest, core_version, parameters, evaluated_on, answer) "
    "select id, $2, $3, $4, coalesce($5::date, visited_on), $6 from visits where id = $1::uuid on conflict do nothing",
    6};

static enum hfd_problem_kind read_document(struct hfd_op *op) {
    const char *params[2] = {op->id};
    if (!hfd_op_day(op, &params[1])) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    struct hfd_call call = {.statement = &document_statement, .params = params};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind != HFD_OK) return kind;
    const char *text = hfd_cell(&call.rows, 0, 0);
    return text ? hfd_op_json(op, text, strlen(text)) : HFD_NOT_FOUND;
}

static bool is_kept(const struct hfd_rows *rows, const char *digest) {
    for (size_t i = 0; i < rows->row_count; i++)
        if (strcmp(hfd_cell(rows, i, 0), digest) == 0) return true;
    return false;
}

/* Kept is always the whole answer, whichever part was asked for. */
static enum hfd_problem_kind keep(struct hfd_op *op, const char *text, const char *on,
    const struct hfd_evaluation *told, enum hfd_answer_part part) {
    struct hfd_evaluation whole = *told;
    if (part != HFD_ANSWER_WHOLE)
        hfd_document_evaluate(text, strlen(text), false, HFD_ANSWER_WHOLE, op->arena, &whole);
    const char *answer = hf_arena_printf(op->arena, "%.*s", (int)whole.body_len, whole.body);
    const char *params[] = {op->id, told->digest, HF_CORE_VERSION, HF_PARAMETERS_VERSION, on, answer};
    struct hfd_call call = {.statement = &keep_statement, .params = params};
    return hfd_op_run(op, &call, 1);
}

/* Tagged by its own bytes: a drawing may change while the numbers stay. */
static enum hfd_problem_kind draw(
    struct hfd_op *op, const struct hfd_evaluation *e, enum hfd_answer_part part, size_t view) {
    struct hfd_buf buf;
    char digest[HFD_DIGEST_HEX];
    hfd_buf_init(&buf, op->arena, 65536);
    if (part == HFD_ANSWER_STABILITY)
        hfd_draw_screw_loads(&buf, false, e->answer);
    else
        hfd_draw_force_view(&buf, false, e->input, e->answer, view, op->arena);
    hfd_digest_hex(buf.text, buf.length, digest);
    return hfd_op_unchanged(op, hf_arena_printf(op->arena, "\"%s\"", digest)) ? HFD_OK
                                                                              : hfd_clinic_drawing(op, &buf);
}

enum hfd_problem_kind hfd_visit_evaluate(struct hfd_op *op, const char *on, enum hfd_answer_part part,
    struct hfd_call *calls, size_t count, struct hfd_evaluation *e) {
    const char *params[] = {op->id, on, HF_CORE_VERSION, HF_PARAMETERS_VERSION};
    calls[count - 2] = (struct hfd_call){.statement = &document_statement, .params = params};
    calls[count - 1] = (struct hfd_call){.statement = &kept_statement, .params = params};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, count);
    if (kind != HFD_OK) return kind;
    const char *text = hfd_cell(&calls[count - 2].rows, 0, 0);
    if (text == NULL) return HFD_NOT_FOUND;
    hfd_document_evaluate(text, strlen(text), false, part, op->arena, e);
    if (e->kind != HFD_OK || is_kept(&calls[count - 1].rows, e->digest)) return HFD_OK;
    return keep(op, text, on, e, part);
}

static enum hfd_problem_kind evaluate(struct hfd_op *op, enum hfd_answer_part part) {
    const char *on;
    size_t view;
    bool has_day = hfd_op_day(op, &on);
    if (!hfd_op_choice(op, "view", hfd_force_views, &view) || !has_day)
        return hfd_op_refuse(op, HFD_BAD_REQUEST);
    struct hfd_evaluation e;
    struct hfd_call calls[2];
    enum hfd_problem_kind kind = hfd_visit_evaluate(op, on, part, calls, 2, &e);
    if (kind != HFD_OK) return kind;
    if (e.kind != HFD_OK) {
        op->errors = e.errors;
        op->detail =
            "What is recorded does not make a complete mechanics document yet. The pointers are into "
            "the visit's mechanics-document.";
        return e.kind;
    }
    if (hfd_op_produces(op, "image/svg+xml")) return draw(op, &e, part, view);
    const char *etag =
        hf_arena_printf(op->arena, "\"%s-%s-%s\"", e.digest, HF_CORE_VERSION, HF_PARAMETERS_VERSION);
    return hfd_op_unchanged(op, etag) ? HFD_OK : hfd_op_json(op, e.body, e.body_len);
}

static enum hfd_problem_kind read_force_system(struct hfd_op *op) {
    return evaluate(op, HFD_ANSWER_WHOLE);
}
static enum hfd_problem_kind read_stability(struct hfd_op *op) {
    return evaluate(op, HFD_ANSWER_STABILITY);
}

static const char *const day_query[] = {"on", NULL}, *const drawn_query[] = {"on", "view", NULL};
static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/visits/{id}/mechanics-document",
        .what = "The mechanics document that a visit amounts to, as far as the record goes",
        .answers =
            "{type: object, additionalProperties: false, required: [frame, \"on\"], description: A MechanicsDocument in "
            "which what is not recorded yet is missing; force-system names it, properties: {"
            "frame: {const: occlusal-lps}, \"on\": {type: string, format: date}, "
            "arches: {$ref: \"#/components/schemas/Arches\"}, "
            "teeth: {type: array, items: {$ref: \"#/components/schemas/DocumentTooth\"}}, "
            "segments: {type: array, items: {$ref: \"#/components/schemas/DocumentSegment\"}}, "
            "sites: {type: array, items: {type: object, required: [key]}}, "
            "screws: {type: array, items: {type: object, required: [name, diameter_mm, length_mm]}}, "
            "plates: {type: array, items: {$ref: \"#/components/schemas/DocumentPlate\"}}, "
            "elements: {type: array, items: {$ref: \"#/components/schemas/Element\"}}, "
            "patient: {type: object}, horizon_days: {type: integer}}}",
        .roles = HFD_CHART_READERS,
        .operation = read_document,
        .query = day_query},
    {.method = HFD_GET,
        .path = "/v1/visits/{id}/force-system",
        .what = "What the forces of a visit come to; kept with the visit",
        .answers = "{$ref: \"#/components/schemas/Answer\"}",
        .has_etag = true,
        .refuses_state = true,
        .roles = HFD_CHART_READERS,
        .operation = read_force_system,
        .produces = "application/json, image/svg+xml",
        .query = drawn_query},
    {.method = HFD_GET,
        .path = "/v1/visits/{id}/stability",
        .what = "The same without the mechanics: risk, findings, assumptions",
        .answers = "{$ref: \"#/components/schemas/Answer\"}",
        .has_etag = true,
        .refuses_state = true,
        .roles = HFD_CHART_READERS,
        .operation = read_stability,
        .produces = "application/json, image/svg+xml",
        .query = day_query},
};

const struct hfd_resource hfd_resource_visits = {
    .path = "/v1/visits",
    .noun = "visit",
    .example =
        "{\"case_id\": \"01890a5d-ac96-774b-bcce-b302099a8057\", \"visited_on\": \"2026-03-02\", "
        "\"worn\": [{\"setup_id\": \"01890a5d-ac96-774b-bcce-b302099a8057\"}], \"elements\": [{\"name\": "
        "\"chain right\", \"kind\": \"chain\", \"from\": {\"fitting\": \"hook\"}, \"to\": {\"tooth\": \"16\", "
        "\"at\": \"palatal-attachment\"}, \"force_n\": {\"value\": 150, \"unit\": \"gf\"}}], "
        "\"screw_checks\": [{\"screw\": \"A\", \"mobility_grade\": 0}], \"next_interval_days\": 42}",
    .change = "{\"note\": \"the chain was renewed\", \"next_interval_days\": 28}",
    .table = "visits",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CHART_READERS,
    .write_roles = HFD_CHART_WRITERS,
    .read_page = hfd_visit_sheet,
    .sort = "-visited_on",
    .rules = rules,
    .rule_count = HFD_COUNT(rules),
    .routes = routes,
    .route_count = HFD_COUNT(routes),
};
