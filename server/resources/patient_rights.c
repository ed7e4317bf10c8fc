/* What a patient may ask of the clinic: everything that is held, to be made nameless, to be erased. */
#include <string.h>

#include "../rest/negotiate.h"
#include "../rest/op.h"
#include "../rest/trace.h"
#include "common.h"

extern const struct hfd_resource hfd_resource_patients, hfd_resource_audit;

static const struct hfd_texts *patient_texts(const struct hfd_op *op) {
    return hfd_texts_of(op, &hfd_resource_patients);
}

static void write_patient(struct hfd_buf *out, const char *const *cells) {
    hfd_record_write(out, hfd_resource_patients.columns, hfd_resource_patients.column_count, cells);
}

/* ---------------------------------------------------------------- everything */

/* Of each kind; a document that would be longer says that it is not complete. */
#define MOST_ROWS 2000
#define MOST_ROWS_AND_ONE "2001"
enum { most_kinds = 32 };

/* Held with a patient's records, but no resources of their own. */
static const struct hfd_column version_columns[] = {
    {.name = "setup_id", .kind = HFD_COLUMN_UUID},
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
static const char versions_sql[] =
    "select v.setup_id, v.version, v.worn_from, v.worn_to, v.pattern_id, v.material, v.nodes, v.bars, v.seats, "
    "v.fittings from setup_versions v join setups s on s.id = v.setup_id join cases c on c.id = s.case_id "
    "where c.patient_id = $1 order by v.setup_id, v.version limit " MOST_ROWS_AND_ONE;
static const struct hfd_column evaluation_columns[] = {
    {.name = "visit_id", .kind = HFD_COLUMN_UUID},
    {.name = "core_version", .kind = HFD_COLUMN_TEXT},
    {.name = "parameters", .kind = HFD_COLUMN_TEXT},
    {.name = "evaluated_on", .kind = HFD_COLUMN_DATE},
    {.name = "answer", .kind = HFD_COLUMN_PART},
};
static const char evaluations_sql[] =
    "select e.visit_id, e.core_version, e.parameters, e.evaluated_on, e.answer from evaluations e "
    "join visits v on v.id = e.visit_id join cases c on c.id = v.case_id where c.patient_id = $1 "
    "order by v.visited_on, e.created_at limit " MOST_ROWS_AND_ONE;

/* One list of the document. */
struct kind {
    const char *name;
    const struct hfd_column *columns;
    size_t column_count;
};

struct everything {
    struct hfd_op *op;
    struct kind kinds[most_kinds];
    struct hfd_call calls[most_kinds];
    size_t count;
};

static void add(struct everything *all, struct kind kind, const char *sql) {
    hf_arena *arena = all->op->arena;
    struct hfd_statement *statement = HF_NEW(arena, struct hfd_statement);
    *statement = (struct hfd_statement){hf_arena_printf(arena, "everything-%s", kind.name), sql, 1};
    all->kinds[all->count] = kind;
    all->calls[all->count++] = (struct hfd_call){.statement = statement, .params = &all->op->id};
}

/* Every resource whose rows are about patients, as it reads by itself; not what is made of the others for a
 * day. */
static void add_resources(struct everything *all) {
    hf_arena *arena = all->op->arena;
    for (size_t i = 0; hfd_resources[i] != NULL && all->count < most_kinds - 2; i++) {
        const struct hfd_resource *r = hfd_resources[i];
        const struct hfd_texts *texts = hfd_texts_of(all->op, r);
        if (texts->patient == NULL || r == &hfd_resource_patients || r->dated) continue;
        const char *which = r == &hfd_resource_audit
                                ? "seq in (select audited($1)) order by seq desc"
                                : hf_arena_printf(arena, "%s = $1 order by id", texts->patient);
        add(all, (struct kind){strrchr(r->path, '/') + 1, r->columns, r->column_count},
            hf_arena_printf(arena, "select %s from %s t where %s limit " MOST_ROWS_AND_ONE, texts->columns,
                texts->from, which));
    }
}

static void write_rows(struct hfd_buf *out, const struct kind *kind, const struct hfd_rows *rows) {
    hfd_buf_printf(out, ",\"%s\":[", kind->name);
    for (size_t row = 0; row < rows->row_count && row < MOST_ROWS; row++) {
        if (row > 0) hfd_buf_char(out, ',');
        hfd_record_write(out, kind->columns, kind->column_count, rows->cells + row * rows->column_count);
    }
    hfd_buf_char(out, ']');
}

static enum hfd_problem_kind read_everything(struct hfd_op *op) {
    struct everything all = {.op = op, .count = 1};
    all.calls[0] = (struct hfd_call){.statement = &patient_texts(op)->read, .params = &op->id};
    add_resources(&all);
    add(&all, (struct kind){"setup-versions", version_columns, HFD_COUNT(version_columns)}, versions_sql);
    add(&all, (struct kind){"evaluations", evaluation_columns, HFD_COUNT(evaluation_columns)},
        evaluations_sql);
    enum hfd_problem_kind kind = hfd_op_run(op, all.calls, all.count);
    if (kind != HFD_OK) return kind;
    if (all.calls[0].rows.row_count == 0) return HFD_NOT_FOUND;
    struct hfd_buf out;
    bool complete = true;
    hfd_buf_init(&out, op->arena, 65536);
    hfd_buf_text(&out, "{\"patient\":");
    write_patient(&out, all.calls[0].rows.cells);
    for (size_t i = 1; i < all.count; i++) {
        write_rows(&out, &all.kinds[i], &all.calls[i].rows);
        complete &= all.calls[i].rows.row_count <= MOST_ROWS;
    }
    hfd_buf_printf(&out, ",\"complete\":%s}", complete ? "true" : "false");
    return hfd_op_json(op, out.text, out.length);
}

/* ---------------------------------------------------------------- nameless, erased */

/* Who is not there, or not as the one who asks has read it, stays as he is. */
static enum hfd_problem_kind lock_patient(struct hfd_op *op) {
    const struct hfd_texts *texts = patient_texts(op);
    struct hfd_call calls[2] = {
        {.statement = &texts->lock, .params = &op->id}, {.statement = &texts->read, .params = &op->id}};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, 2);
    if (kind != HFD_OK) return kind;
    if (calls[1].rows.row_count == 0) return HFD_NOT_FOUND;
    const char *etag = hfd_op_etag(&hfd_resource_patients, calls[1].rows.cells, op->arena);
    if (hfd_if_match(hfd_request_header(op->request, "if-match"), etag)) return HFD_OK;
    op->detail = hf_arena_printf(op->arena, "The patient was changed since: the tag is now %s.", etag);
    return HFD_PRECONDITION_FAILED;
}

static bool has_tag(struct hfd_op *op) {
    if (hfd_request_header(op->request, "if-match") != NULL) return true;
    op->detail = "If-Match with the patient's ETag is needed.";
    return false;
}

static enum hfd_problem_kind make_nameless(struct hfd_op *op, void *ctx) {
    static const struct hfd_statement statement = {
        "patients-pseudonymise", "select pseudonymise_patient($1::uuid)", 1};
    (void)ctx;
    enum hfd_problem_kind kind = lock_patient(op);
    if (kind != HFD_OK) return kind;
    struct hfd_call calls[3] = {hfd_trace_call(op, "pseudonymise", op->path, op->id),
        {.statement = &statement, .params = &op->id},
        {.statement = &patient_texts(op)->read, .params = &op->id}};
    kind = hfd_op_run(op, calls, 3);
    if (kind != HFD_OK) return kind;
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 512);
    write_patient(&out, calls[2].rows.cells);
    hfd_reply_header(op->reply, "ETag", hfd_op_etag(&hfd_resource_patients, calls[2].rows.cells, op->arena));
    return hfd_op_json(op, out.text, out.length);
}

static enum hfd_problem_kind pseudonymise(struct hfd_op *op) {
    if (!has_tag(op)) return hfd_op_refuse(op, HFD_PRECONDITION_REQUIRED);
    return hfd_op_transact(op, "patients-pseudonymise", make_nameless, NULL);
}

static const struct hfd_column reason_column[] = {
    {.name = "reason", .kind = HFD_COLUMN_TEXT, .flags = HFD_REQUIRED, .what = "Why; it stays, so no name."},
};
static const struct hfd_column tombstone_columns[] = {
    {.name = "id", .kind = HFD_COLUMN_UUID},
    {.name = "erased_at", .kind = HFD_COLUMN_TIME},
    {.name = "reason", .kind = HFD_COLUMN_TEXT},
    {.name = "token_id", .kind = HFD_COLUMN_UUID},
};

static enum hfd_problem_kind remove_patient(struct hfd_op *op, void *ctx) {
    static const struct hfd_statement erase_statement = {
        "patients-erase", "select erase_patient($1::uuid, $2)", 2};
    static const struct hfd_statement tombstone = {"patients-tombstone",
        "select id, erased_at, reason, token_id "
        "from erasures where id = $1",
        1};
    (void)ctx;
    const char *params[] = {op->id, NULL};
    bool changed;
    enum hfd_problem_kind kind = lock_patient(op);
    if (kind == HFD_OK)
        kind = hfd_record_merge(reason_column, 1, NULL, op->request->body, op->request->body_len, op->arena,
            &params[1], &changed, &op->errors, &op->detail);
    if (kind != HFD_OK) return kind;
    struct hfd_call calls[3] = {hfd_trace_call(op, "erase", op->path, op->id),
        {.statement = &erase_statement, .params = params}, {.statement = &tombstone, .params = params}};
    kind = hfd_op_run(op, calls, 3);
    if (kind != HFD_OK) return kind;
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 512);
    hfd_record_write(&out, tombstone_columns, HFD_COUNT(tombstone_columns), calls[2].rows.cells);
    return hfd_op_json(op, out.text, out.length);
}

static enum hfd_problem_kind erase(struct hfd_op *op) {
    static const char *const types[] = {"application/json", NULL};
    enum hfd_problem_kind kind = hfd_op_body(op, types, "Accept-Post");
    if (kind == HFD_OK && !has_tag(op)) kind = HFD_PRECONDITION_REQUIRED;
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    return hfd_op_transact(op, "patients-erase", remove_patient, NULL);
}

static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/v1/patients/{id}/everything",
        .what = "All that is held about a patient, with the latest rows of the audit of who looked",
        .answers =
            "{type: object, required: [patient, cases, screws, setups, visits, audit, complete], "
            "additionalProperties: {type: array, items: {type: object}}, properties: {patient: "
            "{$ref: \"#/components/schemas/Patient\"}, cases: {type: array, items: "
            "{$ref: \"#/components/schemas/Case\"}}, audit: {type: array, items: "
            "{$ref: \"#/components/schemas/AuditRow\"}}, complete: {type: boolean, description: \"False: a list "
            "was cut after 2000 rows; the resource's own list has all.\"}}}",
        .roles = HFD_ADMINISTRATORS,
        .operation = read_everything},
    {.method = HFD_POST,
        .path = "/v1/patients/{id}/pseudonymise",
        .what = "Take names, numbers, free text and the day of birth from a patient's records",
        .answers = "{$ref: \"#/components/schemas/Patient\"}",
        .needs_match = true,
        .writes = true,
        .roles = HFD_ADMINISTRATORS,
        .operation = pseudonymise},
    {.method = HFD_POST,
        .path = "/v1/patients/{id}/erase",
        .what = "Remove a patient with all records; id, time, reason and token stay",
        .takes =
            "{type: object, required: [reason], additionalProperties: false, properties: {reason: {type: string, "
            "minLength: 1, maxLength: 200}}}",
        .answers =
            "{type: object, required: [id, erased_at, reason, token_id], additionalProperties: false, properties: "
            "{id: {type: string, format: uuid}, erased_at: {type: string, format: date-time}, reason: {type: "
            "string}, token_id: {type: string, format: uuid}}}",
        .example = "{\"reason\": \"asked for by the patient; no duty to keep\"}",
        .needs_match = true,
        .writes = true,
        .roles = HFD_ADMINISTRATORS,
        .operation = erase},
};

const struct hfd_resource hfd_resource_patient_rights = {.routes = routes, .route_count = HFD_COUNT(routes)};
