#include "trace.h"

#include <string.h>

#include "../base/log.h"
#include "../base/uuid.h"

/* Of what has no table of its own: a sum over many records. */
static const struct hfd_statement general = {"trace",
    "insert into audit_unsealed (action, resource, records, patients, request, outcome) "
    "values ($2, $3, array_remove(array[$1::uuid], null), '{}', $4, 'done')",
    4};
static const struct hfd_statement refusal = {
    "trace-refusal", "select holdfast.audit_refusal(decode($1, 'hex'), $2, $3, $4::uuid, $5, $6)", 6};

bool hfd_trace_is_due(const struct hfd_op *op) {
    bool reads = op->request->method == HFD_GET || op->request->method == HFD_HEAD;
    return reads && !op->traced && op->session.roles != NULL && op->path != NULL && !op->resource->untraced;
}

const char *hfd_trace_action(const struct hfd_op *op) {
    bool is_verb = op->resource->path != NULL && strcmp(op->path, op->resource->path) == 0;
    switch (op->request->method) {
    case HFD_POST:
        return is_verb ? "create" : strrchr(op->path, '/') + 1;
    case HFD_PATCH:
        return "change";
    default:
        return is_verb && op->id == NULL ? "list" : "read";
    }
}

/* The texts of the resource whose records stand under `path`: "/v1/visits/{id}/…" is about visits, whichever
 * file the route stands in. */
static const struct hfd_texts *texts_of(const struct hfd_op *op, const char *path) {
    for (size_t i = 0; hfd_resources[i] != NULL; i++) {
        const char *above = hfd_resources[i]->path;
        size_t length = above ? strlen(above) : 0;
        if (above != NULL && strncmp(path, above, length) == 0 &&
            (path[length] == '\0' || path[length] == '/'))
            return hfd_texts_of(op, hfd_resources[i]);
    }
    return NULL;
}

struct hfd_call hfd_trace_call(
    const struct hfd_op *op, const char *action, const char *path, const char *id) {
    const char **params = HF_NEW_ARRAY(op->arena, const char *, 4);
    params[0] = id != NULL && hfd_uuid_valid(id) ? id : NULL;
    params[1] = action;
    params[2] = path;
    params[3] = op->request->id;
    const struct hfd_texts *texts = params[0] != NULL ? texts_of(op, path) : NULL;
    return (struct hfd_call){.statement = texts != NULL ? &texts->trace : &general, .params = params};
}

const char *hfd_trace_list(const struct hfd_op *op, const char *page, int limit, int from) {
    const char *shown = hf_arena_printf(op->arena, "(select * from page limit $%d::bigint - 1) t", limit);
    const char *patients =
        op->texts->patient
            ? hf_arena_printf(op->arena,
                  "array(select distinct p from (select %s as p from %s) s where p is not null)",
                  op->texts->patient, shown)
            : "'{}'::uuid[]";
    return hf_arena_printf(op->arena,
        "with page as (%s), trace as (insert into audit_unsealed (action, resource, records, patients, request, outcome) "
        "select 'list', $%d, array(select t.id from %s), %s, $%d, 'done') select * from page",
        page, from, shown, patients, from + 1);
}

void hfd_trace_refusal(struct hfd_op *op, enum hfd_problem_kind kind) {
    static const struct {
        enum hfd_problem_kind kind;
        const char *outcome;
    } outcomes[] = {
        {HFD_UNAUTHENTICATED, "unauthenticated"}, {HFD_FORBIDDEN, "forbidden"}, {HFD_NOT_FOUND, "not-found"}};
    const char *outcome = NULL;
    for (size_t i = 0; i < HFD_COUNT(outcomes); i++)
        if (outcomes[i].kind == kind) outcome = outcomes[i].outcome;
    if (outcome == NULL || op->path == NULL || op->session.digest_hex == NULL || op->resource->untraced)
        return;
    if (kind == HFD_NOT_FOUND && op->traced) return;
    const char *params[] = {op->session.digest_hex, hfd_trace_action(op), op->path,
        op->id != NULL && hfd_uuid_valid(op->id) ? op->id : NULL, op->request->id, outcome};
    struct hfd_call call = {.statement = &refusal, .params = params};
    struct hfd_store_error error;
    if (hfd_store_alone(op->store, &call, op->arena, &error) != HFD_STORE_OK)
        hfd_log(HFD_LOG_ERROR, "refusal not traced", HFD_LOG_TEXT("request", op->request->id),
            HFD_LOG_TEXT("sqlstate", error.sqlstate));
}
