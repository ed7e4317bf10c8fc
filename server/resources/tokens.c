/* Access tokens of the clinic. The text of one is told once, to who made it. */
#include <string.h>

#include "../base/digest.h"
#include "../base/secret.h"
#include "../base/uuid.h"
#include "../rest/op.h"
#include "../rest/trace.h"
#include "common.h"

static const char *const roles[] = {
    "clinician", "assistant", "dashboard", "integrator", "auditor", "admin", NULL};

static const struct hfd_column columns[] = {
    {.name = "id",
        .kind = HFD_COLUMN_UUID,
        .flags = HFD_READ_ONLY,
        .what = "Names the token; the audit says it."},
    {.name = "role",
        .kind = HFD_COLUMN_ENUM,
        .flags = HFD_REQUIRED | HFD_FILTER,
        .names = roles,
        .what = "What its bearer may do."},
    {.name = "label", .kind = HFD_COLUMN_TEXT, .flags = HFD_REQUIRED, .what = "Where it is used."},
    {.name = "expires_at", .kind = HFD_COLUMN_TIME, .what = "Refused from this time on; left out: no end."},
    {.name = "created_at",
        .kind = HFD_COLUMN_TIME,
        .flags = HFD_READ_ONLY | HFD_SORT,
        .what = "Time of creation."},
    {.name = "revoked_at", .kind = HFD_COLUMN_TIME, .what = "Refused since this time; left out: in force."},
    {.name = "last_used_at", .kind = HFD_COLUMN_TIME, .what = "Last use, to the minute; left out: never."},
};

/* What a new one is made from. */
static const struct hfd_column asked[] = {
    {.name = "role",
        .kind = HFD_COLUMN_ENUM,
        .flags = HFD_REQUIRED,
        .names = roles,
        .what = "What its bearer may do."},
    {.name = "label", .kind = HFD_COLUMN_TEXT, .flags = HFD_REQUIRED, .what = "Where it will be used."},
    {.name = "expires_on",
        .kind = HFD_COLUMN_DATE,
        .what = "Refused from the beginning (UTC) of this day on."},
};

#define SHOWN "id, role, label, expires_at, created_at, revoked_at, last_used_at"

/* Not through the keeper of replies: the token's text stays nowhere. */
static enum hfd_problem_kind create(struct hfd_op *op) {
    static const char *const types[] = {"application/json", NULL};
    static const struct hfd_statement insert = {"tokens-create",
        "insert into tokens (id, digest, role, label, expires_at) values ($1, decode($2, 'hex'), $3, $4, "
        "$5::date::timestamp at time zone 'utc') returning " SHOWN,
        5};
    const char *cells[HFD_COUNT(asked)];
    bool changed;
    enum hfd_problem_kind kind = hfd_op_body(op, types, "Accept-Post");
    if (kind == HFD_OK)
        kind = hfd_record_merge(asked, HFD_COUNT(asked), NULL, op->request->body, op->request->body_len,
            op->arena, cells, &changed, &op->errors, &op->detail);
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    char *id = hf_arena_alloc(op->arena, HFD_UUID_TEXT_SIZE),
         *text = hf_arena_alloc(op->arena, HFD_SECRET_LENGTH + 1);
    char digest[HFD_DIGEST_HEX];
    hfd_uuid_new(id);
    hfd_secret_new(HFD_TOKEN_PREFIX, text);
    hfd_digest_hex(text, HFD_SECRET_LENGTH, digest);
    const char *params[] = {id, digest, cells[0], cells[1], cells[2]};
    struct hfd_call calls[2] = {
        {.statement = &insert, .params = params}, hfd_trace_call(op, "create", op->path, id)};
    kind = hfd_op_run(op, calls, 2);
    if (kind == HFD_OK) hfd_op_row_and(op, 201, calls[0].rows.cells, "token", text);
    return kind;
}

static enum hfd_problem_kind revoke(struct hfd_op *op) {
    static const struct hfd_statement update = {"tokens-revoke",
        "update tokens set revoked_at = coalesce(revoked_at, now()) where id = $1 returning " SHOWN, 1};
    struct hfd_call calls[2] = {
        {.statement = &update, .params = &op->id}, hfd_trace_call(op, "revoke", op->path, op->id)};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, 2);
    if (kind != HFD_OK) return kind;
    op->traced = true;
    if (calls[0].rows.row_count == 0) return HFD_NOT_FOUND;
    hfd_op_row(op, 200, calls[0].rows.cells);
    return HFD_OK;
}

static const struct hfd_route routes[] = {
    {.method = HFD_POST,
        .path = "/v1/tokens",
        .what = "Make a token; its text is in this answer and nowhere else",
        .takes =
            "{type: object, required: [role, label], additionalProperties: false, properties: {role: "
            "{$ref: \"#/components/schemas/Token/properties/role\"}, label: {type: string, minLength: 1, "
            "maxLength: 200}, expires_on: {type: string, format: date, description: \"Refused from the beginning "
            "(UTC) of this day on.\"}}}",
        .answers =
            "{type: object, required: [id, role, label, created_at, token], additionalProperties: false, properties: {"
            "id: {type: string, format: uuid}, role: {$ref: \"#/components/schemas/Token/properties/role\"}, "
            "label: {type: string}, created_at: {type: string, format: date-time}, expires_at: {type: string, "
            "format: date-time}, token: {type: string, pattern: \"^hf_\", description: \"Keep it: it is not told "
            "again.\"}}}",
        .example =
            "{\"role\": \"dashboard\", \"label\": \"screen at the front desk\", \"expires_on\": \"2099-01-01\"}",
        .creates = true,
        .roles = HFD_ADMINISTRATORS,
        .operation = create},
    {.method = HFD_POST,
        .path = "/v1/tokens/{id}/revoke",
        .what = "Refuse a token from the next request on",
        .answers = "{$ref: \"#/components/schemas/Token\"}",
        .roles = HFD_ADMINISTRATORS,
        .operation = revoke},
};

const struct hfd_resource hfd_resource_tokens = {
    .path = "/v1/tokens",
    .noun = "token",
    .table = "tokens",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST,
    .read_roles = HFD_ADMINISTRATORS,
    .sort = "-created_at",
    .routes = routes,
    .route_count = HFD_COUNT(routes),
};
