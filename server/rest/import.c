/* Rows from a table of texts (CSV): each as if it had been sent by itself, all in one transaction, with a
 * word on each. */
#include <string.h>

#include "../base/csv.h"
#include "../base/utf8.h"
#include "../base/uuid.h"
#include "op.h"

static const char *const CSV_TYPES[] = {"text/csv", NULL};
enum { ROWS_MAX = 20000, AT_ONCE = 64 /* rows that a fault makes go again, one by one */ };

enum result { CREATED, UPDATED, SKIPPED, REFUSED, RESULT_COUNT };
static const char *const result_names[RESULT_COUNT] = {"created", "updated", "skipped", "refused"};

enum existing { REFUSE, SKIP, UPDATE };

struct row {
    struct hfd_csv_row text;
    size_t line;
    enum result result;
    char id[HFD_UUID_TEXT_SIZE];
    struct hfd_errors errors;
};

struct import {
    const struct hfd_import *how;
    struct hfd_csv_row header;
    const struct hfd_column **columns; /* per header; NULL: part of a lookup, or passed over */
    struct row *rows;
    size_t count;
    bool dry_run, skip_bad;
    enum existing existing;
};

/* ---------------------------------------------------------------- what was asked */

static bool take_parameters(struct hfd_op *op, struct import *in) {
    static const char *const truth[] = {"false", "true", NULL},
                             *const existing[] = {"refuse", "skip", "update", NULL},
                             *const bad[] = {"refuse", "skip", NULL};
    size_t dry_run, on_existing, on_bad;
    bool good = hfd_op_choice(op, "dry_run", truth, &dry_run);
    good &= hfd_op_choice(op, "on_existing", existing, &on_existing);
    good &= hfd_op_choice(op, "on_bad", bad, &on_bad);
    in->dry_run = dry_run == 1;
    in->existing = (enum existing)on_existing;
    in->skip_bad = on_bad == 1;
    return good;
}

/* ---------------------------------------------------------------- the header */

static size_t header_place(const struct import *in, const char *name) {
    for (size_t i = 0; i < in->header.count; i++)
        if (strcmp(in->header.cells[i], name) == 0) return i;
    return SIZE_MAX;
}

static bool is_looked_up_by(const struct hfd_import *how, const char *name) {
    for (size_t l = 0; l < HFD_COUNT(how->lookups) && how->lookups[l].column; l++)
        for (size_t h = 0; h < HFD_COUNT(how->lookups[l].headers) && how->lookups[l].headers[h]; h++)
            if (strcmp(how->lookups[l].headers[h], name) == 0) return true;
    return false;
}

static const char *names_taken(const struct hfd_op *op, const struct import *in) {
    const char *names = "";
    const struct hfd_resource *r = op->resource;
    for (size_t i = 0; i < r->column_count; i++)
        if (!(r->columns[i].flags & HFD_READ_ONLY))
            names = hf_arena_printf(op->arena, "%s%s%s", names, *names ? ", " : "", r->columns[i].name);
    for (size_t l = 0; l < HFD_COUNT(in->how->lookups) && in->how->lookups[l].column; l++)
        for (size_t h = 0; h < HFD_COUNT(in->how->lookups[l].headers) && in->how->lookups[l].headers[h]; h++)
            if (strstr(names, in->how->lookups[l].headers[h]) == NULL)
                names = hf_arena_printf(op->arena, "%s, %s", names, in->how->lookups[l].headers[h]);
    return names;
}

/* What only the service writes is passed over, so that what was taken out can be put in again. */
static bool read_header(struct hfd_op *op, struct import *in) {
    in->columns = HF_NEW_ARRAY(op->arena, const struct hfd_column *, in->header.count);
    for (size_t i = 0; i < in->header.count; i++) {
        const char *name = in->header.cells[i];
        int c = hfd_column_find(op->resource, name);
        if (c >= 0 && !(op->resource->columns[c].flags & HFD_READ_ONLY))
            in->columns[i] = &op->resource->columns[c];
        const char *at = hf_arena_printf(op->arena, "/header/%zu", i);
        if (c < 0 && !is_looked_up_by(in->how, name))
            hfd_errors_add(
                &op->errors, at, "There is no column \"%s\"; there are: %s.", name, names_taken(op, in));
        else if (header_place(in, name) != i)
            hfd_errors_add(&op->errors, at, "\"%s\" is told twice.", name);
    }
    return op->errors.count == 0;
}

/* ---------------------------------------------------------------- the rows, as text */

static bool read_rows(struct hfd_op *op, struct import *in) {
    struct hfd_csv csv;
    const char *fault;
    if (!hfd_utf8_valid(op->request->body, op->request->body_len)) {
        hfd_errors_add(&op->errors, NULL, "The table is not UTF-8: save it as such.");
        return false;
    }
    hfd_csv_begin(&csv, op->request->body, op->request->body_len);
    if (hfd_csv_next(&csv, op->arena, &in->header, &fault) && !read_header(op, in)) return false;
    size_t room = 0;
    struct row row = {.errors = {.arena = op->arena}};
    while (!fault && hfd_csv_next(&csv, op->arena, &row.text, &fault)) {
        row.line = csv.line;
        if (in->count == room) {
            struct row *more = HF_NEW_ARRAY(op->arena, struct row, room = room ? 2 * room : 256);
            if (in->count) memcpy(more, in->rows, in->count * sizeof *more);
            in->rows = more;
        }
        in->rows[in->count++] = row;
    }
    if (fault)
        hfd_errors_add(&op->errors, hf_arena_printf(op->arena, "/lines/%zu", csv.line),
            "The line is no row: it %s.", fault);
    else if (in->count == 0 || in->count > ROWS_MAX)
        hfd_errors_add(
            &op->errors, NULL, "A header and 1 to %d rows are expected, got %zu.", ROWS_MAX, in->count);
    return op->errors.count == 0;
}

static const char *cell(const struct import *in, const struct row *row, const char *header) {
    size_t place = header ? header_place(in, header) : SIZE_MAX;
    return place < row->text.count ? row->text.cells[place] : "";
}

/* ---------------------------------------------------------------- one row */

static void refuse_cell(struct row *row, const char *column, const char *detail) {
    hfd_errors_add(&row->errors, hf_arena_printf(row->errors.arena, "/%s", column), "%s", detail);
}

/* A value per column of the resource, NULL: not told. Empty cells say nothing: a value is never taken away by
 * one. */
static const char **told(struct hfd_op *op, const struct import *in, const struct row *row) {
    const char **values = HF_NEW_ARRAY(op->arena, const char *, op->resource->column_count);
    for (size_t i = 0; i < row->text.count && i < in->header.count; i++)
        if (in->columns[i] != NULL && *row->text.cells[i] != '\0')
            values[in->columns[i] - op->resource->columns] = row->text.cells[i];
    return values;
}

static enum hfd_problem_kind look_up(
    struct hfd_op *op, const struct import *in, struct row *row, const char **values) {
    for (size_t l = 0; l < HFD_COUNT(in->how->lookups) && in->how->lookups[l].column; l++) {
        const char *const *headers = in->how->lookups[l].headers;
        const char **value = &values[hfd_column_find(op->resource, in->how->lookups[l].column)];
        const char *params[2] = {cell(in, row, headers[0]), cell(in, row, headers[1])};
        if (*value != NULL || *params[0] == '\0') continue;
        const struct hfd_statement statement = {
            hf_arena_printf(op->arena, "import-%s-%zu", op->resource->table, l), in->how->lookups[l].sql,
            headers[1] ? 2 : 1};
        struct hfd_call call = {.statement = &statement, .params = params};
        enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
        if (kind != HFD_OK) return kind;
        if (call.rows.row_count == 1)
            *value = hfd_cell(&call.rows, 0, 0);
        else
            refuse_cell(row, headers[0],
                call.rows.row_count == 0 ? "There is no such row in this clinic."
                                         : "More than one row of this clinic answers to this.");
    }
    return row->errors.count == 0 ? HFD_OK : HFD_VALIDATION;
}

/* The row that is there already under this key; NULL: none. */
static enum hfd_problem_kind find_existing(
    struct hfd_op *op, const struct import *in, const char **values, const char **id) {
    const char *const *key = in->how->key, *params[2];
    *id = NULL;
    for (int k = 0; k < 2 && key[k] != NULL; k++) {
        params[k] = values[hfd_column_find(op->resource, key[k])];
        if (params[k] == NULL) return HFD_OK;
    }
    const struct hfd_statement statement = {hf_arena_printf(op->arena, "import-%s-key", op->resource->table),
        key[1] ? hf_arena_printf(op->arena, "select id from %s where %s::text = $1 and %s::text = $2",
                     op->resource->table, key[0], key[1])
               : hf_arena_printf(
                     op->arena, "select id from %s where %s::text = $1", op->resource->table, key[0]),
        key[1] ? 2 : 1};
    struct hfd_call call = {.statement = &statement, .params = params};
    enum hfd_problem_kind kind = hfd_op_run(op, &call, 1);
    if (kind == HFD_OK && call.rows.row_count > 0) *id = hfd_cell(&call.rows, 0, 0);
    return kind;
}

/* A line as the request that it stands for: to create a row, or to change the one with this id. */
struct single {
    struct hfd_op op;
    struct hfd_request request;
    struct hfd_reply reply;
};

static const struct hfd_pair single_headers[] = {
    {"content-type", "application/json"}, {"if-match", "*"}, {"prefer", "return=minimal"}};

static void make_single(
    struct single *one, struct hfd_op *op, struct row *row, const char *const *values, const char *id) {
    const struct hfd_resource *r = op->resource;
    struct hfd_buf object;
    hfd_buf_init(&object, op->arena, 256);
    for (size_t i = 0; i < r->column_count; i++) {
        if (values[i] == NULL || (id && (r->columns[i].flags & HFD_FIXED))) continue;
        hfd_buf_char(&object, object.length ? ',' : '{');
        hfd_record_put_text(&object, &r->columns[i], values[i], op->arena);
    }
    hfd_buf_text(&object, object.length ? "}" : "{}");
    if (id)
        memcpy(row->id, id, sizeof row->id);
    else
        hfd_uuid_new(row->id);
    *one = (struct single){.op = *op};
    one->request = (struct hfd_request){.arena = op->arena,
        .method = id ? HFD_PATCH : HFD_POST,
        .target = op->request->target,
        .headers = single_headers,
        .header_count = HFD_COUNT(single_headers),
        .body = object.text,
        .body_len = object.length};
    memcpy(one->request.id, op->request->id, sizeof one->request.id);
    one->op.request = &one->request;
    one->op.reply = &one->reply;
    one->op.path = r->path;
    one->op.errors = row->errors;
    one->op.id = one->op.new_id = row->id;
    row->result = id ? UPDATED : CREATED;
}

/* Takes over what was found wrong. */
static enum hfd_problem_kind after(struct row *row, const struct single *one, enum hfd_problem_kind kind) {
    row->errors = one->op.errors;
    if (kind != HFD_OK && row->errors.count == 0)
        hfd_errors_add(
            &row->errors, NULL, "%s", one->op.detail ? one->op.detail : hfd_problem_rows[kind].title);
    return kind;
}

static bool has_all_cells(const struct import *in, struct row *row) {
    if (row->text.count == in->header.count) return true;
    hfd_errors_add(
        &row->errors, NULL, "The line has %zu cells, the header has %zu.", row->text.count, in->header.count);
    return false;
}

static enum hfd_problem_kind bring_in(struct hfd_op *op, const struct import *in, struct row *row) {
    if (!has_all_cells(in, row)) return HFD_VALIDATION;
    const char **values = told(op, in, row), *id = NULL;
    enum hfd_problem_kind kind = look_up(op, in, row, values);
    if (kind == HFD_OK && in->existing != REFUSE) kind = find_existing(op, in, values, &id);
    if (kind != HFD_OK) return kind;
    if (id != NULL && in->existing == SKIP) {
        memcpy(row->id, id, sizeof row->id);
        row->result = SKIPPED;
        return HFD_OK;
    }
    struct single one;
    make_single(&one, op, row, values, id);
    return after(row, &one, id ? hfd_op_change(&one.op) : hfd_op_create(&one.op));
}

/* ---------------------------------------------------------------- all rows */

/* By itself: what is wrong with it is told, and the transaction goes on without it. False: at its end. */
static bool run_alone(
    struct hfd_op *op, const struct import *in, struct row *row, enum hfd_problem_kind *fatal) {
    hfd_errors_init(&row->errors, op->arena);
    if (!hfd_tx_save(op->tx)) return false;
    hf_arena_mark mark = hf_arena_here(op->arena);
    enum hfd_problem_kind kind = bring_in(op, in, row);
    if (kind == HFD_OK) {
        hf_arena_release(op->arena, mark);
        return true;
    }
    enum hfd_store_status status;
    struct hfd_store_error error;
    if (!hfd_tx_undo(op->tx, &status, &error)) return false;
    if (status != HFD_STORE_OK) {
        struct hfd_op blamed = *op;
        blamed.errors = row->errors = (struct hfd_errors){.arena = op->arena};
        kind = hfd_op_refusal(&blamed, status, &error);
        row->errors = blamed.errors;
        if (row->errors.count == 0)
            hfd_errors_add(
                &row->errors, NULL, "%s", blamed.detail ? blamed.detail : hfd_problem_rows[kind].title);
    }
    row->result = REFUSED;
    if (hfd_problem_rows[kind].status >= 500) *fatal = kind;
    return *fatal == HFD_OK;
}

/* Rows that need no look at others: all in one round trip. */
static bool run_together(struct hfd_op *op, const struct import *in, size_t from, size_t to) {
    struct hfd_call *calls = HF_NEW_ARRAY(op->arena, struct hfd_call, 2 * AT_ONCE);
    size_t n = 0;
    for (size_t i = from; i < to; i++, n += 2) {
        struct single *one = HF_NEW(op->arena, struct single);
        if (!has_all_cells(in, &in->rows[i])) return false;
        make_single(one, op, &in->rows[i], told(op, in, &in->rows[i]), NULL);
        if (hfd_op_create_calls(&one->op, calls + n) != HFD_OK) return false;
    }
    return hfd_op_run(op, calls, n) == HFD_OK;
}

static bool run_in_turn(struct hfd_op *op, const struct import *in, size_t from, size_t to) {
    for (size_t i = from; i < to; i++)
        if (bring_in(op, in, &in->rows[i]) != HFD_OK) return false;
    return true;
}

/* Mostly all is well: one place to come back to for many rows. What they took is given back once they stand.
 */
static bool run_some(
    struct hfd_op *op, const struct import *in, size_t from, size_t to, enum hfd_problem_kind *fatal) {
    bool plain =
        op->resource->rule_count == 0 && in->how->lookups[0].column == NULL && in->existing == REFUSE;
    hf_arena_mark mark = hf_arena_here(op->arena);
    if (!hfd_tx_save(op->tx)) return false;
    bool good = plain ? run_together(op, in, from, to) : run_in_turn(op, in, from, to);
    if (good) {
        hf_arena_release(op->arena, mark);
        return true;
    }
    enum hfd_store_status status;
    struct hfd_store_error error;
    if (!hfd_tx_undo(op->tx, &status, &error)) return false;
    for (size_t i = from; i < to; i++)
        if (!run_alone(op, in, &in->rows[i], fatal)) return false;
    return true;
}

static void put_row(struct hfd_buf *out, const struct row *row) {
    hfd_buf_printf(out, "{\"line\":%zu,\"result\":\"%s\"", row->line, result_names[row->result]);
    if (row->result != REFUSED) hfd_buf_printf(out, ",\"id\":\"%s\"", row->id);
    for (const struct hfd_error *e = row->errors.first; e != NULL; e = e->next) {
        hfd_buf_text(out, e == row->errors.first ? ",\"errors\":[{" : ",{");
        if (e->pointer != NULL) {
            hfd_buf_text(out, "\"column\":");
            hfd_buf_json_string(out, e->pointer + 1);
            hfd_buf_char(out, ',');
        }
        hfd_buf_text(out, "\"detail\":");
        hfd_buf_json_string(out, e->detail);
        hfd_buf_text(out, e->next ? "}" : "}]");
    }
    hfd_buf_char(out, '}');
}

static enum hfd_problem_kind report(struct hfd_op *op, const struct import *in) {
    size_t counts[RESULT_COUNT] = {0};
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 96 * in->count + 128);
    for (size_t i = 0; i < in->count; i++)
        counts[in->rows[i].result]++;
    hfd_buf_printf(&out, "{\"dry_run\":%s,\"rows\":%zu", in->dry_run ? "true" : "false", in->count);
    for (size_t r = 0; r < RESULT_COUNT; r++)
        hfd_buf_printf(&out, ",\"%s\":%zu", result_names[r], counts[r]);
    hfd_buf_text(&out, ",\"items\":[");
    for (size_t i = 0; i < in->count; i++) {
        if (i > 0) hfd_buf_char(&out, ',');
        put_row(&out, &in->rows[i]);
    }
    hfd_buf_text(&out, "]}");
    return hfd_op_json(op, out.text, out.length);
}

static enum hfd_problem_kind tell_refused(struct hfd_op *op, const struct import *in) {
    for (size_t i = 0; i < in->count; i++)
        for (const struct hfd_error *e = in->rows[i].errors.first; e != NULL; e = e->next)
            hfd_errors_add(&op->errors,
                hf_arena_printf(op->arena, "/lines/%zu%s", in->rows[i].line, e->pointer ? e->pointer : ""),
                "%s", e->detail);
    op->detail = "Nothing was written.";
    return HFD_VALIDATION;
}

static enum hfd_problem_kind run(struct hfd_op *op, void *ctx) {
    const struct import *in = ctx;
    enum hfd_problem_kind fatal = HFD_OK;
    size_t refused = 0;
    for (size_t i = 0; i < in->count; i++)
        hfd_errors_init(&in->rows[i].errors, op->arena);
    for (size_t i = 0; i < in->count; i += AT_ONCE) {
        size_t end = i + AT_ONCE < in->count ? i + AT_ONCE : in->count;
        if (!run_some(op, in, i, end, &fatal)) return fatal != HFD_OK ? fatal : HFD_INTERNAL;
    }
    for (size_t i = 0; i < in->count; i++)
        refused += in->rows[i].result == REFUSED;
    return refused > 0 && !in->skip_bad && !in->dry_run ? tell_refused(op, in) : report(op, in);
}

enum hfd_problem_kind hfd_op_import(struct hfd_op *op) {
    struct import in = {.how = op->resource->import};
    if (!take_parameters(op, &in)) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    enum hfd_problem_kind kind = hfd_op_body(op, CSV_TYPES, "Accept-Post");
    if (kind == HFD_OK && !read_rows(op, &in)) kind = HFD_VALIDATION;
    if (kind != HFD_OK) return hfd_op_refuse(op, kind);
    op->rehearsal = in.dry_run;
    return hfd_op_transact(op, "import", run, &in);
}
