#include "trace.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "../base/log.h"
#include "../base/uuid.h"

/* Of what has no table of its own: a sum over many records. */
static const struct hfd_statement general = {"trace",
    "insert into audit_unsealed (action, resource, records, patients, request, outcome) "
    "values ($2, $3, array_remove(array[$1::uuid], null), '{}', $4, 'done')",
    4};
static const struct hfd_statement told = {
    "trace-reads", "select holdfast.audit_reads($1, $2, $3, $4, $5, $6, $7)", 7};
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

/* The ids in one column, each once, as an array literal. */
static const char *ids_of(const struct hfd_rows *rows, size_t row_count, size_t column, hf_arena *arena) {
    struct hfd_buf out;
    hfd_buf_init(&out, arena, row_count * HFD_UUID_TEXT_SIZE + 2);
    const char **kept = HF_NEW_ARRAY(arena, const char *, row_count);
    size_t count = 0;
    hfd_buf_char(&out, '{');
    for (size_t row = 0; row < row_count; row++) {
        const char *id = hfd_cell(rows, row, column);
        size_t i = 0;
        while (id != NULL && i < count && memcmp(kept[i], id, HFD_UUID_TEXT_SIZE) != 0)
            i++;
        if (id == NULL || i < count) continue;
        if (count > 0) hfd_buf_char(&out, ',');
        hfd_buf_text(&out, id);
        kept[count++] = id;
    }
    hfd_buf_char(&out, '}');
    return out.text;
}

static bool names_one(const struct hfd_op *op) {
    return op->id != NULL && hfd_uuid_valid(op->id);
}

static void leave(
    struct hfd_op *op, const char *action, const char *records, const char *patients, bool found) {
    struct hfd_trace *trace = HF_NEW(op->arena, struct hfd_trace);
    *trace = (struct hfd_trace){.token_digest = op->session.digest_hex,
        .action = action,
        .path = op->path,
        .records = records,
        .patients = patients,
        .request = op->request->id,
        .outcome = found ? "done" : "not-found"};
    op->reply->trace = trace;
    op->traced = true;
}

static const char *asked(const struct hfd_op *op) {
    return names_one(op) ? hf_arena_printf(op->arena, "{%s}", op->id) : "{}";
}

const struct hfd_statement *hfd_trace_subject(const struct hfd_op *op) {
    const struct hfd_texts *texts = names_one(op) ? texts_of(op, op->path) : NULL;
    return texts != NULL ? &texts->subject : NULL;
}

void hfd_trace_told(struct hfd_op *op, const struct hfd_rows *subject) {
    const char *patients = subject ? ids_of(subject, subject->row_count, 0, op->arena) : "{}";
    leave(op, hfd_trace_action(op), asked(op), patients, subject == NULL || subject->row_count > 0);
}

enum hfd_problem_kind hfd_trace_run(struct hfd_op *op, struct hfd_call *calls, size_t count, size_t most) {
    const bool due = hfd_trace_is_due(op);
    op->traced = due; /* by what it shows */
    enum hfd_problem_kind kind = hfd_op_run(op, calls, count);
    if (kind != HFD_OK || !due) return kind;
    const struct hfd_rows *rows = &calls[0].rows;
    const size_t shown = rows->row_count < most ? rows->row_count : most;
    const char *patients = op->texts->patient ? ids_of(rows, shown, op->texts->patient_at, op->arena) : "{}";
    if (names_one(op))
        leave(op, "read", asked(op), patients, shown > 0);
    else
        leave(op, "list", ids_of(rows, shown, 0, op->arena), patients, true);
    return HFD_OK;
}

/* One member of all traces as an array literal. None holds a quotation mark or a backslash: they are our own
 * words, ids, and names of requests, which are clean (base/exchange.h). */
static const char *array_of(
    const struct hfd_trace *const *traces, size_t count, size_t member, hf_arena *arena) {
    struct hfd_buf out;
    hfd_buf_init(&out, arena, count * 72 + 2);
    for (size_t i = 0; i < count; i++) {
        const char *text;
        memcpy(&text, (const char *)traces[i] + member, sizeof text);
        hfd_buf_text(&out, i > 0 ? "\",\"" : "{\"");
        hfd_buf_text(&out, text);
    }
    hfd_buf_text(&out, "\"}");
    return out.text;
}

bool hfd_trace_keep(struct hfd_store *store, const struct hfd_trace *const *traces, size_t count) {
    static const size_t members[] = {offsetof(struct hfd_trace, token_digest),
        offsetof(struct hfd_trace, action), offsetof(struct hfd_trace, path),
        offsetof(struct hfd_trace, records), offsetof(struct hfd_trace, patients),
        offsetof(struct hfd_trace, request), offsetof(struct hfd_trace, outcome)};
    hf_arena arena;
    hf_arena_init(&arena, 65536, 0);
    const char *params[HFD_COUNT(members)];
    for (size_t i = 0; i < HFD_COUNT(members); i++)
        params[i] = array_of(traces, count, members[i], &arena);
    struct hfd_call call = {.statement = &told, .params = params};
    struct hfd_store_error error;
    const enum hfd_store_status status = hfd_store_alone(store, &call, &arena, &error);
    const bool kept = status == HFD_STORE_OK && strtoull(hfd_cell(&call.rows, 0, 0), NULL, 10) == count;
    if (!kept)
        hfd_log(HFD_LOG_ERROR, "reads not traced", HFD_LOG_NUMBER("reads", count),
            HFD_LOG_TEXT("sqlstate", status == HFD_STORE_OK ? NULL : error.sqlstate));
    hf_arena_fini(&arena);
    return kept;
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
