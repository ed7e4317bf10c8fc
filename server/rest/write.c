/* Reading, creating and changing one row. */
#include <string.h>

#include "../base/uuid.h"
#include "negotiate.h"
#include "op.h"
#include "trace.h"

static const char *const JSON_TYPES[] = {"application/json", NULL};
static const char *const PATCH_TYPES[] = {"application/merge-patch+json", "application/json", NULL};

enum hfd_problem_kind hfd_op_read(struct hfd_op *op) {
    struct hfd_call call = {.statement = &op->texts->read, .params = &op->id};
    enum hfd_problem_kind kind = hfd_trace_run(op, &call, 1, 1);
    if (kind != HFD_OK) return kind;
    if (call.rows.row_count == 0) return HFD_NOT_FOUND;
    const char *const *cells = call.rows.cells;
    if (!hfd_op_unchanged(op, hfd_op_etag(op->resource, cells, op->arena))) hfd_op_row(op, 200, cells);
    return HFD_OK;
}

struct write {
    struct hfd_op *op;
    const char *id;
    bool creating;
    bool alone;          /* nothing of the transaction comes after it */
    const char **cells;  /* of all columns */
    struct hfd_rows row; /* as it stands afterwards */
};

/* Takes the cells of the named columns; "id" is the row's own. */
static const char **named_cells(const struct write *w, const char *const *names, size_t count) {
    const char **params = HF_NEW_ARRAY(w->op->arena, const char *, count);
    struct hfd_row row = {w->op->resource, w->cells};
    for (size_t i = 0; i < count && names[i] != NULL; i++)
        params[i] = strcmp(names[i], "id") == 0 ? w->id : hfd_row_get(&row, names[i]);
    return params;
}

static const char **reference_cells(const struct write *w) {
    const struct hfd_resource *r = w->op->resource;
    const char **params = HF_NEW_ARRAY(w->op->arena, const char *, r->column_count);
    for (size_t i = 0, n = 0; i < r->column_count; i++)
        if (r->columns[i].table != NULL) params[n++] = w->cells[i];
    return params;
}

static const char **written_cells(const struct write *w) {
    const struct hfd_resource *r = w->op->resource;
    const char **params = HF_NEW_ARRAY(w->op->arena, const char *, r->column_count + 1);
    size_t n = 0;
    params[n++] = w->id;
    for (size_t i = 0; i < r->column_count; i++)
        if (!(r->columns[i].flags & HFD_READ_ONLY)) params[n++] = w->cells[i];
    return params;
}

static void add_breaches(struct hfd_op *op, const struct hfd_rows *rows) {
    for (size_t i = 0; i < rows->row_count; i++)
        hfd_errors_add(&op->errors, hfd_cell(rows, i, 0), "%s", hfd_cell(rows, i, 1));
}

static void fill(struct write *w, const struct hfd_rule *rule, const struct hfd_rows *rows) {
    if (rows->row_count == 0) return;
    for (size_t i = 0; i < HFD_COUNT(rule->fills) && rule->fills[i] != NULL; i++)
        w->cells[hfd_column_find(w->op->resource, rule->fills[i])] = hfd_cell(rows, 0, i);
}

/* All references that point nowhere, not only the one that the database would meet first. */
static struct hfd_call references_call(const struct write *w) {
    return (struct hfd_call){.statement = &w->op->texts->references, .params = reference_cells(w)};
}

/* Does it look at what an earlier one of those from `first` on fills? */
static bool needs_one_of(const struct hfd_rule *rules, size_t first, size_t rule) {
    for (size_t i = first; i < rule; i++)
        for (size_t f = 0; f < HFD_COUNT(rules[i].fills) && rules[i].fills[f] != NULL; f++)
            for (size_t p = 0; p < HFD_COUNT(rules[rule].params) && rules[rule].params[p] != NULL; p++)
                if (strcmp(rules[i].fills[f], rules[rule].params[p]) == 0) return true;
    return false;
}

/* As many rules as can be asked at once, and in the first round whether all rows are there that they speak
 * of. */
static enum hfd_problem_kind obey_rules(struct write *w) {
    const struct hfd_op *op = w->op;
    const struct hfd_resource *r = op->resource;
    struct hfd_call *calls = HF_NEW_ARRAY(op->arena, struct hfd_call, r->rule_count + 1);
    size_t next = 0;
    bool referring = op->texts->references.sql != NULL;
    while (next < r->rule_count || referring) {
        const size_t first = next, before = op->errors.count;
        size_t count = 0;
        if (referring) calls[count++] = references_call(w);
        for (; next < r->rule_count && !needs_one_of(r->rules, first, next); next++)
            calls[count++] = (struct hfd_call){.statement = &op->texts->rules[next],
                .params = named_cells(w, r->rules[next].params, HFD_COUNT(r->rules[next].params))};
        enum hfd_problem_kind kind = hfd_op_run(w->op, calls, count);
        if (kind != HFD_OK) return kind;
        const struct hfd_call *answer = calls;
        if (referring) add_breaches(w->op, &answer++->rows);
        if (op->errors.count > before) return HFD_VALIDATION;
        referring = false;
        for (size_t i = first; i < next; i++, answer++) {
            if (r->rules[i].fills[0] != NULL)
                fill(w, &r->rules[i], &answer->rows);
            else
                add_breaches(w->op, &answer->rows);
        }
    }
    return op->errors.count > 0 ? HFD_VALIDATION : HFD_OK;
}

static enum hfd_problem_kind check_row(struct write *w) {
    struct hfd_row row = {w->op->resource, w->cells};
    if (row.resource->check != NULL) row.resource->check(&row, &w->op->errors);
    return w->op->errors.count > 0 ? HFD_VALIDATION : HFD_OK;
}

/* Locks the row, compares its tag, applies the patch. *done: nothing is left to write. */
static enum hfd_problem_kind merge_locked(struct write *w, bool *done) {
    struct hfd_op *op = w->op;
    struct hfd_call calls[2] = {
        {.statement = &op->texts->lock, .params = &w->id}, {.statement = &op->texts->read, .params = &w->id}};
    enum hfd_problem_kind kind = hfd_op_run(op, calls, 2);
    if (kind != HFD_OK) return kind;
    w->row = calls[1].rows;
    if (w->row.row_count == 0) return HFD_NOT_FOUND;
    const char *etag = hfd_op_etag(op->resource, w->row.cells, op->arena);
    if (!hfd_if_match(hfd_request_header(op->request, "if-match"), etag)) {
        op->detail = hf_arena_printf(op->arena, "The row was changed since: its tag is now %s.", etag);
        return HFD_PRECONDITION_FAILED;
    }
    struct hfd_buf current;
    hfd_buf_init(&current, op->arena, 1024);
    hfd_record_write(&current, op->resource->columns, op->resource->column_count, w->row.cells);
    bool changed;
    kind = hfd_record_merge(op->resource->columns, op->resource->column_count, current.text,
        op->request->body, op->request->body_len, op->arena, w->cells, &changed, &op->errors, &op->detail);
    *done = !changed;
    return kind;
}

static void reply(const struct write *w) {
    struct hfd_op *op = w->op;
    if (w->creating)
        hfd_reply_header(
            op->reply, "Location", hf_arena_printf(op->arena, "%s/%s", op->resource->path, w->id));
    hfd_reply_header(op->reply, "ETag", hfd_op_etag(op->resource, w->row.cells, op->arena));
    if (!hfd_op_minimal(op, w->creating ? 201 : 204)) hfd_op_row(op, w->creating ? 201 : 200, w->row.cells);
}

static enum hfd_problem_kind write_row(struct write *w) {
    struct hfd_op *op = w->op;
    struct hfd_call calls[3] = {
        {.statement = w->creating ? &op->texts->insert : &op->texts->update, .params = written_cells(w)},
        {.statement = &op->texts->read, .params = &w->id},
        hfd_trace_call(op, w->creating ? "create" : "change", op->resource->path, w->id)};
    enum hfd_problem_kind kind = HFD_OK;
    if (op->tx == NULL || !w->alone)
        kind = hfd_op_run(op, calls, 3);
    else if (!hfd_tx_run_last(op->tx, calls, 3))
        kind = HFD_INTERNAL;
    if (kind != HFD_OK) return kind;
    w->row = calls[1].rows;
    reply(w);
    return HFD_OK;
}

static enum hfd_problem_kind look_and_write(struct hfd_op *op, void *ctx) {
    (void)op;
    struct write *w = ctx;
    bool done = false;
    enum hfd_problem_kind kind = w->creating ? HFD_OK : merge_locked(w, &done);
    if (kind != HFD_OK) return kind;
    if (done) {
        struct hfd_call trace = hfd_trace_call(op, "read", op->resource->path, w->id);
        reply(w);
        return hfd_op_run(op, &trace, 1);
    }
    check_row(w);
    kind = obey_rules(w);
    return kind == HFD_OK ? write_row(w) : kind;
}

/* A row that needs no look at others is written in one round trip. */
static enum hfd_problem_kind insert_at_once(struct write *w) {
    struct hfd_op *op = w->op;
    enum hfd_problem_kind kind = check_row(w);
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    kind = write_row(w);
    if (kind != HFD_VALIDATION || op->texts->references.sql == NULL) return kind;
    const struct hfd_errors errors = op->errors;
    hfd_errors_init(&op->errors, op->arena);
    struct hfd_call call = references_call(w);
    if (hfd_op_run(op, &call, 1) == HFD_OK) add_breaches(op, &call.rows);
    if (op->errors.count == 0) op->errors = errors;
    return HFD_VALIDATION;
}

static enum hfd_problem_kind read_new(struct write *w) {
    struct hfd_op *op = w->op;
    enum hfd_problem_kind kind = hfd_op_body(op, JSON_TYPES, "Accept-Post");
    if (kind != HFD_OK) return kind;
    bool changed;
    w->creating = true;
    w->cells = HF_NEW_ARRAY(op->arena, const char *, op->resource->column_count);
    w->id = op->new_id;
    if (w->id == NULL) {
        char *id = hf_arena_alloc(op->arena, HFD_UUID_TEXT_SIZE);
        hfd_uuid_new(id);
        w->id = id;
    }
    return hfd_record_merge(op->resource->columns, op->resource->column_count, NULL, op->request->body,
        op->request->body_len, op->arena, w->cells, &changed, &op->errors, &op->detail);
}

enum hfd_problem_kind hfd_op_create_calls(struct hfd_op *op, struct hfd_call calls[2]) {
    struct write w = {.op = op};
    enum hfd_problem_kind kind = read_new(&w);
    if (kind == HFD_OK) kind = check_row(&w);
    if (kind != HFD_OK) return kind;
    calls[0] = (struct hfd_call){.statement = &op->texts->insert, .params = written_cells(&w)};
    calls[1] = hfd_trace_call(op, "create", op->resource->path, w.id);
    return HFD_OK;
}

enum hfd_problem_kind hfd_op_create(struct hfd_op *op) {
    struct write w = {.op = op};
    enum hfd_problem_kind kind = read_new(&w);
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    w.alone = op->tx == NULL && hfd_request_header(op->request, "idempotency-key") == NULL;
    return w.alone && op->resource->rule_count == 0
               ? insert_at_once(&w)
               : hfd_op_transact(op, op->texts->insert.name, look_and_write, &w);
}

enum hfd_problem_kind hfd_op_change(struct hfd_op *op) {
    enum hfd_problem_kind kind = hfd_op_body(op, PATCH_TYPES, "Accept-Patch");
    if (kind == HFD_OK && hfd_request_header(op->request, "if-match") == NULL) {
        op->detail = "If-Match with the row's ETag is needed, so that no one's change is lost.";
        kind = HFD_PRECONDITION_REQUIRED;
    }
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    struct write w = {.op = op, .id = op->id, .alone = op->tx == NULL};
    w.cells = HF_NEW_ARRAY(op->arena, const char *, op->resource->column_count);
    return hfd_op_transact(op, op->texts->update.name, look_and_write, &w);
}
