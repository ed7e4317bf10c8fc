/* Reading, creating and changing one row. */
#include <string.h>

#include "../base/uuid.h"
#include "negotiate.h"
#include "op.h"

static const char *const JSON_TYPES[] = {"application/json", NULL};
static const char *const PATCH_TYPES[] = {"application/merge-patch+json", "application/json", NULL};

enum hfd_problem_kind hfd_op_read(struct hfd_op *op) {
    struct hfd_call call = {.statement = &op->texts->read, .params = &op->id};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
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
    const char **cells;            /* of all columns */
    enum hfd_problem_kind refusal; /* of ours; HFD_OK: none */
    struct hfd_rows row;           /* as it stands afterwards */
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

static void add_breaches(struct write *w, const struct hfd_rows *rows) {
    for (size_t i = 0; i < rows->row_count; i++)
        hfd_errors_add(&w->op->errors, hfd_cell(rows, i, 0), "%s", hfd_cell(rows, i, 1));
}

static void fill(struct write *w, const struct hfd_rule *rule, const struct hfd_rows *rows) {
    if (rows->row_count == 0) return;
    for (size_t i = 0; i < HFD_COUNT(rule->fills) && rule->fills[i] != NULL; i++)
        w->cells[hfd_column_find(w->op->resource, rule->fills[i])] = hfd_cell(rows, 0, i);
}

/* False: the store refused. Breaches are in op->errors. */
static bool obey_rules(struct write *w, struct hfd_tx *tx) {
    const struct hfd_op *op = w->op;
    const struct hfd_resource *r = op->resource;
    if (op->texts->references.sql != NULL) {
        struct hfd_call call = {.statement = &op->texts->references, .params = reference_cells(w)};
        if (!hfd_tx_run(tx, &call, 1)) return false;
        add_breaches(w, &call.rows);
        if (op->errors.count > 0) return true; /* the rules speak of rows that are there */
    }
    for (size_t i = 0; i < r->rule_count; i++) {
        struct hfd_call call = {.statement = &op->texts->rules[i],
            .params = named_cells(w, r->rules[i].params, HFD_COUNT(r->rules[i].params))};
        if (!hfd_tx_run(tx, &call, 1)) return false;
        if (r->rules[i].fills[0] != NULL)
            fill(w, &r->rules[i], &call.rows);
        else
            add_breaches(w, &call.rows);
    }
    return true;
}

static void check_row(struct write *w) {
    if (w->op->resource->check == NULL) return;
    struct hfd_row row = {w->op->resource, w->cells};
    w->op->resource->check(&row, &w->op->errors);
}

static void write_calls(const struct write *w, struct hfd_call calls[2]) {
    calls[0] = (struct hfd_call){
        .statement = w->creating ? &w->op->texts->insert : &w->op->texts->update, .params = written_cells(w)};
    calls[1] = (struct hfd_call){.statement = &w->op->texts->read, .params = &w->id};
}

static bool refuse(struct write *w, enum hfd_problem_kind kind) {
    w->refusal = kind;
    return false;
}

/* Locks the row, compares its tag, applies the patch. *done: nothing is left to write. */
static bool merge_locked(struct write *w, struct hfd_tx *tx, bool *done) {
    struct hfd_op *op = w->op;
    struct hfd_call calls[2] = {
        {.statement = &op->texts->lock, .params = &w->id}, {.statement = &op->texts->read, .params = &w->id}};
    if (!hfd_tx_run(tx, calls, 2)) return false;
    w->row = calls[1].rows;
    if (w->row.row_count == 0) return refuse(w, HFD_NOT_FOUND);
    const char *etag = hfd_op_etag(op->resource, w->row.cells, op->arena);
    if (!hfd_if_match(hfd_request_header(op->request, "if-match"), etag)) {
        op->detail = hf_arena_printf(op->arena, "The row was changed since: its tag is now %s.", etag);
        return refuse(w, HFD_PRECONDITION_FAILED);
    }
    struct hfd_buf current;
    hfd_buf_init(&current, op->arena, 1024);
    hfd_record_write(&current, op->resource->columns, op->resource->column_count, w->row.cells);
    bool changed;
    enum hfd_problem_kind kind =
        hfd_record_merge(op->resource->columns, op->resource->column_count, current.text, op->request->body,
            op->request->body_len, op->arena, w->cells, &changed, &op->errors, &op->detail);
    *done = !changed;
    return kind == HFD_OK || refuse(w, kind);
}

static bool write_body(struct hfd_tx *tx, void *ctx) {
    struct write *w = ctx;
    hfd_errors_init(&w->op->errors, w->op->arena); /* the body may run again */
    w->refusal = HFD_OK;
    bool done = false;
    if (!w->creating && !merge_locked(w, tx, &done)) return false;
    if (done) return true;
    check_row(w);
    if (w->op->resource->rule_count > 0 && !obey_rules(w, tx)) return false;
    if (w->op->errors.count > 0) return refuse(w, HFD_VALIDATION);
    struct hfd_call calls[2];
    write_calls(w, calls);
    if (!hfd_tx_run(tx, calls, 2)) return false;
    w->row = calls[1].rows;
    return true;
}

/* Which of the references point nowhere: all of them, not only the one that the database met first. */
static enum hfd_problem_kind name_dangling(struct write *w) {
    struct hfd_call call = {.statement = &w->op->texts->references, .params = reference_cells(w)};
    if (w->op->texts->references.sql == NULL || hfd_op_run(w->op, &call, 1) != HFD_OK) return HFD_VALIDATION;
    if (call.rows.row_count > 0) hfd_errors_init(&w->op->errors, w->op->arena);
    add_breaches(w, &call.rows);
    return HFD_VALIDATION;
}

static enum hfd_problem_kind finish(
    struct write *w, enum hfd_store_status status, struct hfd_store_error *error) {
    if (status == HFD_STORE_OK) return w->refusal;
    enum hfd_problem_kind kind = hfd_op_refusal(w->op, status, error);
    return status == HFD_STORE_REFERENCE ? name_dangling(w) : kind;
}

static enum hfd_problem_kind transact(struct write *w) {
    struct hfd_store_error error = {0};
    const char *name = w->creating ? w->op->texts->insert.name : w->op->texts->update.name;
    enum hfd_store_status status =
        hfd_store_transact(w->op->store, &w->op->session, name, write_body, w, w->op->arena, &error);
    return finish(w, status, &error);
}

/* A row that needs no look at others is written in one round trip. */
static enum hfd_problem_kind insert_at_once(struct write *w) {
    struct hfd_op *op = w->op;
    check_row(w);
    if (op->errors.count > 0) return hfd_op_refuse(op, HFD_VALIDATION);
    struct hfd_call calls[2];
    struct hfd_store_error error = {0};
    write_calls(w, calls);
    enum hfd_store_status status = hfd_store_run(op->store, &op->session, calls, 2, op->arena, &error);
    w->row = calls[1].rows;
    return finish(w, status, &error);
}

enum hfd_problem_kind hfd_op_create(struct hfd_op *op) {
    enum hfd_problem_kind kind = hfd_op_body(op, JSON_TYPES, "Accept-Post");
    bool changed;
    struct write w = {.op = op, .creating = true};
    w.cells = HF_NEW_ARRAY(op->arena, const char *, op->resource->column_count);
    if (kind == HFD_OK)
        kind = hfd_record_merge(op->resource->columns, op->resource->column_count, NULL, op->request->body,
            op->request->body_len, op->arena, w.cells, &changed, &op->errors, &op->detail);
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    char *id = hf_arena_alloc(op->arena, HFD_UUID_TEXT_SIZE);
    hfd_uuid_new(id);
    w.id = id;
    kind = op->resource->rule_count > 0 ? transact(&w) : insert_at_once(&w);
    if (kind != HFD_OK) return kind;
    hfd_reply_header(op->reply, "Location", hf_arena_printf(op->arena, "%s/%s", op->resource->path, id));
    hfd_reply_header(op->reply, "ETag", hfd_op_etag(op->resource, w.row.cells, op->arena));
    hfd_op_row(op, 201, w.row.cells);
    return HFD_OK;
}

enum hfd_problem_kind hfd_op_change(struct hfd_op *op) {
    enum hfd_problem_kind kind = hfd_op_body(op, PATCH_TYPES, "Accept-Patch");
    if (kind == HFD_OK && hfd_request_header(op->request, "if-match") == NULL) {
        op->detail = "If-Match with the row's ETag is needed, so that no one's change is lost.";
        kind = HFD_PRECONDITION_REQUIRED;
    }
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    struct write w = {.op = op, .id = op->id};
    w.cells = HF_NEW_ARRAY(op->arena, const char *, op->resource->column_count);
    kind = transact(&w);
    if (kind != HFD_OK) return kind;
    hfd_reply_header(op->reply, "ETag", hfd_op_etag(op->resource, w.row.cells, op->arena));
    hfd_op_row(op, 200, w.row.cells);
    return HFD_OK;
}
