/* Plates as worn. A change of the plate is a new version with its first day; the one before keeps its dates.
 */
#include "../rest/op.h"
#include "plate.h"

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "case_id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_REQUIRED | HFD_FIXED | HFD_FILTER,
        .table = "cases",
        .what = "Course of treatment."},
    {.name = "name",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_REQUIRED | HFD_SORT,
        .what = "Name within the case."},
    {.name = "purpose", .kind = HFD_COLUMN_TEXT, .flags = HFD_FILTER, .what = "What it is for."},
    {.name = "plate_version",
        .kind = HFD_COLUMN_INT,
        .flags = HFD_READ_ONLY,
        .what = "Number of the plate shown here, counted from 1; visits name it."},
    {.name = "worn_from",
        .kind = HFD_COLUMN_DATE,
        .flags = HFD_REQUIRED,
        .what = "First day of this plate. Change it together with the plate."},
    {.name = "worn_to",
        .kind = HFD_COLUMN_DATE,
        .what = "First day it was no longer worn; left out while it is."},
    {.name = "pattern_id",
        .kind = HFD_COLUMN_UUID,
        .table = "plate_patterns",
        .what = "Pattern that supplies the members left out; they are copied."},
    HFD_PLATE_COLUMNS,
    HFD_COLUMNS_AFTER,
};

static void check(const struct hfd_row *row, struct hfd_errors *errors) {
    hfd_row_ordered(row, "worn_from", "worn_to", errors);
}

static const struct hfd_rule rules[] = {
    {.sql = "select coalesce($2::jsonb, material), coalesce($3::jsonb, nodes), coalesce($4::jsonb, bars), "
            "coalesce($5::jsonb, seats), coalesce($6::jsonb, fittings) from plate_patterns where id = $1::uuid",
        .params = {"pattern_id", "material", "nodes", "bars", "seats", "fittings"},
        .fills = {"material", "nodes", "bars", "seats", "fittings"}},
    {.sql = "select '/nodes', 'Required unless pattern_id names a pattern that has them.' where $1::jsonb is null",
        .params = {"nodes"}},
    HFD_PLATE_RULE,
    {.sql = "select '/seats/' || n - 1 || '/screw', 'The case has no screw of this name.' "
            "from jsonb_array_elements($2::jsonb) with ordinality e (s, n) where not exists "
            "(select from screws where case_id = $1::uuid and name = s ->> 'screw')",
        .params = {"case_id", "seats"}},
    {.sql = "select '/worn_from', 'A changed plate needs the day from which it is worn, after ' || worn_from || '.' "
            "from current_setups where id = $1::uuid and $2::date <= worn_from "
            "and ($2::date, $3::uuid, $4::jsonb, $5::jsonb, $6::jsonb, $7::jsonb, $8::jsonb) "
            "is distinct from (worn_from, pattern_id, material, nodes, bars, seats, fittings)",
        .params = {"id", "worn_from", "pattern_id", "material", "nodes", "bars", "seats", "fittings"}},
};

/* Parameters of both: id, case_id, name, purpose, worn_from, worn_to, pattern_id, material, nodes, bars,
 * seats, fittings. The version's number and the end of the one before are the table's work. */
static const char insert[] =
    "with setup as (insert into setups (id, case_id, name, purpose) values ($1, $2, $3, $4) returning id) "
    "insert into setup_versions "
    "(setup_id, version, worn_from, worn_to, pattern_id, material, nodes, bars, seats, fittings) "
    "select id, 1, $5, $6, $7, $8, $9, $10, $11, $12 from setup";

static const char update[] =
    "with before as (select * from current_setups where id = $1 and case_id = $2), plate as ("
    "insert into setup_versions "
    "(setup_id, version, worn_from, worn_to, pattern_id, material, nodes, bars, seats, fittings) "
    "select id, plate_version + 1, $5, $6, $7, $8, $9, $10, $11, $12 from before "
    "where ($5::date, $7::uuid, $8::jsonb, $9::jsonb, $10::jsonb, $11::jsonb, $12::jsonb) "
    "is distinct from (worn_from, pattern_id, material, nodes, bars, seats, fittings) returning version), "
    "ended as (update setup_versions v set worn_to = $6 from before b where v.setup_id = b.id "
    "and v.version = b.plate_version and v.worn_to is distinct from $6 and not exists (select from plate)) "
    "update setups set name = $3, purpose = $4 where id = $1";

/* All versions, the latest last. */
static enum hfd_problem_kind list_versions(struct hfd_op *op) {
    static const struct hfd_column shown[] = {
        {.name = "version", .kind = HFD_COLUMN_INT},
        {.name = "worn_from", .kind = HFD_COLUMN_DATE},
        {.name = "worn_to", .kind = HFD_COLUMN_DATE},
        {.name = "pattern_id", .kind = HFD_COLUMN_UUID},
        {.name = "material", .kind = HFD_COLUMN_PART},
        {.name = "nodes", .kind = HFD_COLUMN_PART},
        {.name = "bars", .kind = HFD_COLUMN_PART},
        {.name = "seats", .kind = HFD_COLUMN_PART},
        {.name = "fittings", .kind = HFD_COLUMN_PART},
    };
    static const struct hfd_statement statement = {"setup-versions",
        "select version, worn_from, worn_to, pattern_id, material, nodes, bars, seats, fittings "
        "from setup_versions where setup_id = $1 order by version",
        1};
    struct hfd_call call = {.statement = &statement, .params = &op->id};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind != HFD_OK) return kind;
    if (call.rows.row_count == 0) return HFD_NOT_FOUND; /* no setup is without a version */
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 4096);
    hfd_buf_text(&out, "{\"items\":[");
    for (size_t i = 0; i < call.rows.row_count; i++) {
        if (i > 0) hfd_buf_char(&out, ',');
        hfd_record_write(&out, shown, HFD_COUNT(shown), call.rows.cells + i * call.rows.column_count);
    }
    hfd_buf_text(&out, "]}");
    return hfd_op_json(op, out.text, out.length);
}

static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/setups/{id}/versions",
        .what = "All plates of a setup with their days",
        .answers =
            "{type: object, required: [items], additionalProperties: false, properties: {items: {type: array, "
            "items: {type: object, additionalProperties: false, required: [version, worn_from], properties: "
            "{version: {type: integer}, worn_from: {type: string, format: date}, worn_to: {type: string, "
            "format: date}, pattern_id: {type: string, format: uuid}, "
            "material: {$ref: \"#/components/schemas/Setup/properties/material\"}, "
            "nodes: {$ref: \"#/components/schemas/Setup/properties/nodes\"}, "
            "bars: {$ref: \"#/components/schemas/Setup/properties/bars\"}, "
            "seats: {$ref: \"#/components/schemas/Setup/properties/seats\"}, "
            "fittings: {$ref: \"#/components/schemas/Setup/properties/fittings\"}}}}}}",
        .roles = HFD_CHART_READERS,
        .operation = list_versions},
};

const struct hfd_resource hfd_resource_setups = {
    .path = "/v1/setups",
    .noun = "setup",
    .example =
        "{\"case_id\": \"01890a5d-ac96-774b-bcce-b302099a8057\", \"name\": \"palatal plate\", \"purpose\": "
        "\"intrusion\", \"worn_from\": \"2026-02-16\", \"pattern_id\": \"01890a5d-ac96-774b-bcce-b302099a8057\", "
        "\"seats\": [{\"node\": \"seat\", \"screw\": \"A\"}]}",
    .change = "{\"purpose\": \"intrusion\"}",
    .table = "setups",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CHART_READERS,
    .write_roles = HFD_CHART_WRITERS,
    .sort = "-created_at",
    .check = check,
    .rules = rules,
    .rule_count = HFD_COUNT(rules),
    .routes = routes,
    .route_count = HFD_COUNT(routes),
    .from = "current_setups",
    .insert = insert,
    .update = update,
};
