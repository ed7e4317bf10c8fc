/* Addresses that are told of events (Standard Webhooks 1.0). A secret is told once, to who made it. */
#include <string.h>

#include "../base/signature.h"
#include "../base/uuid.h"
#include "../events/event.h"
#include "../rest/op.h"
#include "../rest/trace.h"
#include "common.h"

#define ASKED                                                                                                \
    {.name = "url",                                                                                          \
        .kind = HFD_COLUMN_TEXT,                                                                             \
        .flags = HFD_REQUIRED,                                                                               \
        .max = 500,                                                                                          \
        .what = "Where to: https, or http into a network that the service's settings name."},                \
        {.name = "description", .kind = HFD_COLUMN_TEXT, .what = "Whose it is."},                            \
        {.name = "types",                                                                                    \
            .kind = HFD_COLUMN_TEXT,                                                                         \
            .max = 1000,                                                                                     \
            .what = "Types of events, parted by commas: visit.created,screw.changed. Left out: all."},       \
    {                                                                                                        \
        .name = "active", .kind = HFD_COLUMN_BOOL, .initial = "true",                                        \
        .what = "Events are told. Set to false by an answer 410."                                            \
    }

static const struct hfd_column columns[] = {HFD_COLUMNS_BEFORE, ASKED, HFD_COLUMNS_AFTER};
static const struct hfd_column asked[] = {ASKED};

static bool is_address(const char *url) {
    const char *host = strncmp(url, "https://", 8) == 0  ? url + 8
                       : strncmp(url, "http://", 7) == 0 ? url + 7
                                                         : NULL;
    if (host == NULL || strcspn(host, "/?:") == 0) return false;
    for (const char *p = url; *p != '\0'; p++)
        if (*p <= ' ' || *p >= 0x7f || strchr("@#\\\"<>", *p)) return false;
    return true;
}

static void check_cells(const char *url, const char *types, struct hfd_errors *errors) {
    const char *known[HFD_EVENT_TYPES_MAX + 1];
    if (url != NULL && !is_address(url))
        hfd_errors_add(errors, "/url",
            "Expected an address such as https://chart.example/hook, without a name before @.");
    if (types != NULL && !hfd_event_types_read(types, known))
        hfd_errors_add(errors, "/types", "Expected types such as visit.created, parted by commas.");
}

static void check(const struct hfd_row *row, struct hfd_errors *errors) {
    check_cells(hfd_row_get(row, "url"), hfd_row_get(row, "types"), errors);
}

static void reply(struct hfd_op *op, int status, const struct hfd_rows *rows, const char *secret) {
    hfd_reply_header(op->reply, "ETag", hfd_op_etag(op->resource, rows->cells, op->arena));
    hfd_op_row_and(op, status, rows->cells, "secret", secret);
}

/* Not through the keeper of replies: the secret is told nowhere else. */
static enum hfd_problem_kind create(struct hfd_op *op) {
    static const char *const types[] = {"application/json", NULL};
    static const struct hfd_statement insert = {"webhooks-create",
        "insert into webhooks (id, url, description, types, active, secret) values ($1, $2, $3, $4, $5, $6)",
        6};
    const char *cells[HFD_COUNT(asked)];
    bool changed;
    enum hfd_problem_kind kind = hfd_op_body(op, types, "Accept-Post");
    if (kind == HFD_OK)
        kind = hfd_record_merge(asked, HFD_COUNT(asked), NULL, op->request->body, op->request->body_len,
            op->arena, cells, &changed, &op->errors, &op->detail);
    if (kind == HFD_OK) check_cells(cells[0], cells[2], &op->errors);
    if (kind == HFD_OK && op->errors.count > 0) kind = HFD_VALIDATION;
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    char *id = hf_arena_alloc(op->arena, HFD_UUID_TEXT_SIZE);
    char *secret = hf_arena_alloc(op->arena, HFD_SIGNING_SECRET_LENGTH + 1);
    hfd_uuid_new(id);
    hfd_signing_secret_new(secret);
    const char *params[] = {id, cells[0], cells[1], cells[2], cells[3], secret};
    const char *row = id;
    struct hfd_call calls[3] = {{.statement = &insert, .params = params},
        {.statement = &op->texts->read, .params = &row}, hfd_trace_call(op, "create", op->path, id)};
    kind = hfd_op_run(op, calls, 3);
    if (kind != HFD_OK) return kind;
    hfd_reply_header(op->reply, "Location", hf_arena_printf(op->arena, "/v1/webhooks/%s", id));
    reply(op, 201, &calls[1].rows, secret);
    return HFD_OK;
}

static enum hfd_problem_kind rotate(struct hfd_op *op) {
    static const struct hfd_statement update = {
        "webhooks-rotate", "select holdfast.rotate_secret($1, $2)", 2};
    char *secret = hf_arena_alloc(op->arena, HFD_SIGNING_SECRET_LENGTH + 1);
    hfd_signing_secret_new(secret);
    const char *params[] = {op->id, secret};
    struct hfd_call calls[3] = {{.statement = &update, .params = params},
        {.statement = &op->texts->read, .params = &op->id},
        hfd_trace_call(op, "rotate-secret", op->path, op->id)};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, 3);
    if (kind != HFD_OK) return kind;
    op->traced = true;
    if (calls[1].rows.row_count == 0) return HFD_NOT_FOUND;
    reply(op, 200, &calls[1].rows, secret);
    return HFD_OK;
}

#define WITH_SECRET                                                                                                 \
    "{type: object, required: [id, version, url, active, created_at, updated_at, secret], properties: {id: {type: " \
    "string, format: uuid}, url: {type: string}, secret: {type: string, pattern: \"^whsec_\", description: "        \
    "\"Keep it: it is not told again.\"}}}"

static const struct hfd_route routes[] = {
    {.method = HFD_POST,
        .path = "/v1/webhooks",
        .what =
            "Have events told to an address; the secret that signs them is in this answer and nowhere else",
        .takes =
            "{type: object, required: [url], additionalProperties: false, properties: {url: {type: string, minLength: "
            "1, maxLength: 500, pattern: \"^https?://[^@#]+$\"}, description: {type: [string, \"null\"], minLength: 1, "
            "maxLength: 200}, types: {type: [string, \"null\"], minLength: 1, maxLength: 1000, pattern: \"^[a-z.,-]+$\", description: \"Parted "
            "by commas: visit.created,screw.changed. Left out: all.\"}, active: {type: [boolean, \"null\"]}}}",
        .answers = WITH_SECRET,
        .example = "{\"url\": \"https://chart.example/hook\", \"types\": \"visit.created,screw.changed\"}",
        .creates = true,
        .roles = HFD_ADMINISTRATORS,
        .operation = create},
    {.method = HFD_POST,
        .path = "/v1/webhooks/{id}/rotate-secret",
        .what = "A new secret; the one before signs beside it for a day",
        .answers = WITH_SECRET,
        .roles = HFD_ADMINISTRATORS,
        .operation = rotate},
};

const struct hfd_resource hfd_resource_webhooks = {
    .path = "/v1/webhooks",
    .noun = "webhook",
    .change = "{\"active\": false}",
    .table = "webhooks",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CHANGE,
    .read_roles = HFD_ADMINISTRATORS,
    .write_roles = HFD_ADMINISTRATORS,
    .sort = "-created_at",
    .check = check,
    .routes = routes,
    .route_count = HFD_COUNT(routes),
    .untraced = true, /* reads tell nothing about patients; writes leave their trace all the same */
};
