#include "op.h"

#include <stdlib.h>
#include <string.h>

#include "../base/date.h"
#include "../base/log.h"
#include "negotiate.h"
#include "trace.h"

const char HFD_PUBLIC[] = "public";

const char *hfd_row_get(const struct hfd_row *row, const char *name) {
    int i = hfd_column_find(row->resource, name);
    return i < 0 ? NULL : row->cells[i];
}

void hfd_row_ordered(
    const struct hfd_row *row, const char *early, const char *late, struct hfd_errors *errors) {
    const char *a = hfd_row_get(row, early), *b = hfd_row_get(row, late);
    if (a == NULL || b == NULL) return;
    bool is_date = row->resource->columns[hfd_column_find(row->resource, late)].kind == HFD_COLUMN_DATE;
    if (is_date ? strcmp(a, b) <= 0 : strtod(a, NULL) <= strtod(b, NULL)) return;
    hfd_errors_add(errors, hf_arena_printf(errors->arena, "/%s", late), "Must not be %s %s (%s).",
        is_date ? "before" : "below", early, a);
}

/* The column that a constraint is about: of all whose names stand in the constraint's, the one that ends
 * last. */
static const char *constrained(const struct hfd_resource *resource, const char *constraint) {
    const char *found = NULL, *found_end = NULL;
    for (size_t i = 0; i < resource->column_count; i++) {
        const char *name = resource->columns[i].name, *at = strstr(constraint, name);
        size_t length = strlen(name);
        if (at == NULL || at == constraint || at[-1] != '_' || (at[length] != '_' && at[length] != '\0'))
            continue;
        if (at + length > found_end || (at + length == found_end && length > strlen(found))) {
            found = name;
            found_end = at + length;
        }
    }
    return found;
}

static void blame(struct hfd_op *op, const struct hfd_store_error *error, const char *detail) {
    const char *column = error->column;
    if (column == NULL && error->constraint != NULL && op->resource->table != NULL)
        column = constrained(op->resource, error->constraint);
    const char *pointer = column ? hf_arena_printf(op->arena, "/%s", column) : NULL;
    hfd_errors_add(&op->errors, pointer, "%s", detail);
}

/* By this ending the schema names what is refused for the sake of other rows. */
static bool stands_in_use(const char *constraint) {
    static const char ending[] = "_in_use";
    size_t length = constraint ? strlen(constraint) : 0;
    return length >= sizeof ending - 1 && strcmp(constraint + length - (sizeof ending - 1), ending) == 0;
}

static void note(const struct hfd_op *op, enum hfd_log_level level, const char *event,
    const struct hfd_store_error *error) {
    hfd_log(level, event, HFD_LOG_TEXT("request_id", op->request->id),
        HFD_LOG_TEXT("sqlstate", error->sqlstate), HFD_LOG_TEXT("constraint", error->constraint));
}

enum hfd_problem_kind hfd_op_refusal(
    struct hfd_op *op, enum hfd_store_status status, const struct hfd_store_error *error) {
    switch (status) {
    case HFD_STORE_OK:
        return HFD_OK;
    case HFD_STORE_UNAUTHENTICATED:
        op->detail = "The token is unknown, expired or revoked.";
        return HFD_UNAUTHENTICATED;
    case HFD_STORE_FORBIDDEN:
        op->detail = hf_arena_printf(op->arena, "This needs a token with one of the roles %.*s.",
            (int)strlen(op->session.roles) - 2, op->session.roles + 1);
        return HFD_FORBIDDEN;
    case HFD_STORE_UNIQUE:
        blame(op, error, "Another row of this clinic has this value already.");
        return HFD_CONFLICT_UNIQUE;
    case HFD_STORE_REFERENCE:
        blame(op, error, "There is no such row in this clinic.");
        return HFD_VALIDATION;
    case HFD_STORE_CHECK:
        if (stands_in_use(error->constraint)) {
            op->detail = "Other rows were made with these values; new ones need a new row.";
            return HFD_CONFLICT_STATE;
        }
        note(op, HFD_LOG_WARNING, "value refused by the tables", error);
        blame(op, error, "This value is not admissible here.");
        return HFD_VALIDATION;
    case HFD_STORE_DOWN:
        note(op, HFD_LOG_WARNING, "database unavailable", error);
        return HFD_DATABASE_UNAVAILABLE;
    case HFD_STORE_ERROR:
        break;
    }
    note(op, HFD_LOG_ERROR, "statement failed", error);
    return HFD_INTERNAL;
}

static enum hfd_problem_kind run(struct hfd_op *op, struct hfd_call *calls, size_t count) {
    if (op->tx != NULL) return hfd_tx_run(op->tx, calls, count) ? HFD_OK : HFD_INTERNAL;
    struct hfd_store_error error = {0};
    return hfd_op_refusal(
        op, hfd_store_run(op->store, &op->session, calls, count, op->arena, &error), &error);
}

enum hfd_problem_kind hfd_op_run(struct hfd_op *op, struct hfd_call *calls, size_t count) {
    if (count == 0 || !hfd_trace_is_due(op)) return run(op, calls, count);
    const struct hfd_statement *subject = hfd_trace_subject(op);
    struct hfd_call *all = HF_NEW_ARRAY(op->arena, struct hfd_call, count + 1);
    memcpy(all, calls, count * sizeof *calls);
    all[count] = (struct hfd_call){.statement = subject, .params = &op->id};
    enum hfd_problem_kind kind = run(op, all, subject != NULL ? count + 1 : count);
    memcpy(calls, all, count * sizeof *calls);
    if (kind == HFD_OK) hfd_trace_told(op, subject != NULL ? &all[count].rows : NULL);
    return kind;
}

enum hfd_problem_kind hfd_op_refuse(struct hfd_op *op, enum hfd_problem_kind kind) {
    if (op->tx != NULL) return kind;
    const struct hfd_errors errors = op->errors;
    const char *detail = op->detail;
    hfd_errors_init(&op->errors, op->arena);
    enum hfd_problem_kind door = hfd_op_run(op, NULL, 0);
    if (door != HFD_OK) return door;
    op->errors = errors;
    op->detail = detail;
    return kind;
}

enum hfd_problem_kind hfd_op_json(struct hfd_op *op, const char *body, size_t length) {
    op->reply->status = 200;
    op->reply->content_type = "application/json";
    op->reply->body = body;
    op->reply->body_len = length;
    return HFD_OK;
}

enum hfd_problem_kind hfd_op_text(struct hfd_op *op, const char *content_type, const struct hfd_buf *body) {
    hfd_op_json(op, body->text, body->length);
    op->reply->content_type = content_type;
    return HFD_OK;
}

enum hfd_problem_kind hfd_op_drawing(struct hfd_op *op, const struct hfd_buf *body) {
    hfd_reply_header(op->reply, "Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'");
    return hfd_op_text(op, "image/svg+xml", body);
}

enum hfd_problem_kind hfd_op_page(struct hfd_op *op, const struct hfd_buf *body, bool script) {
    static const char policy[] = "default-src 'none'; style-src 'self'; img-src 'self' data:; "
                                 "form-action 'self'; frame-ancestors 'none'; base-uri 'none'";
    hfd_reply_header(op->reply, "Content-Security-Policy",
        script ? hf_arena_printf(op->arena, "%s; script-src 'self'; connect-src 'self'", policy) : policy);
    /* Not "no-referrer": with it browsers do not tell the origin of a form either. */
    hfd_reply_header(op->reply, "Referrer-Policy", "same-origin");
    hfd_reply_header(op->reply, "Cross-Origin-Opener-Policy", "same-origin");
    return hfd_op_text(op, "text/html; charset=utf-8", body);
}

enum hfd_problem_kind hfd_op_see_other(struct hfd_op *op, const char *path) {
    hfd_reply_header(op->reply, "Location", path);
    op->reply->status = 303;
    op->reply->content_type = NULL;
    return HFD_OK;
}

bool hfd_op_produces(const struct hfd_op *op, const char *media_type) {
    return strcmp(op->produces, media_type) == 0;
}

bool hfd_op_day(struct hfd_op *op, const char **on) {
    int day;
    *on = hfd_request_query(op->request, "on");
    /* A form's field that was left empty. */
    if (*on != NULL && **on == '\0' && hfd_op_produces(op, "text/html")) *on = NULL;
    if (*on == NULL || hfd_date_parse(*on, &day)) return true;
    hfd_errors_add(&op->errors, "?on", "expected a date YYYY-MM-DD");
    return false;
}

bool hfd_op_choice(struct hfd_op *op, const char *name, const char *const *words, size_t *choice) {
    const char *given = hfd_request_query(op->request, name), *list = words[0];
    *choice = 0;
    for (size_t i = 0; words[i] != NULL; i++) {
        if (i > 0) list = hf_arena_printf(op->arena, "%s, %s", list, words[i]);
        if (given != NULL && strcmp(given, words[i]) == 0) {
            *choice = i;
            return true;
        }
    }
    if (given == NULL) return true;
    hfd_errors_add(&op->errors, hf_arena_printf(op->arena, "?%s", name), "expected one of %s", list);
    return false;
}

bool hfd_op_unchanged(struct hfd_op *op, const char *etag) {
    hfd_reply_header(op->reply, "ETag", etag);
    const char *field = hfd_request_header(op->request, "if-none-match");
    if (field == NULL || !hfd_if_none_match(field, etag)) return false;
    op->reply->status = 304;
    op->reply->content_type = NULL;
    return true;
}

const char *hfd_op_etag(const struct hfd_resource *resource, const char *const *cells, hf_arena *arena) {
    size_t i = 0;
    while (!(resource->columns[i].flags & HFD_ETAG))
        i++;
    return hf_arena_printf(arena, "\"%s\"", cells[i]);
}

void hfd_op_row(struct hfd_op *op, int status, const char *const *cells) {
    hfd_op_row_and(op, status, cells, NULL, NULL);
}

void hfd_op_row_and(
    struct hfd_op *op, int status, const char *const *cells, const char *member, const char *secret) {
    struct hfd_buf body;
    hfd_buf_init(&body, op->arena, 1024);
    hfd_record_write(&body, op->resource->columns, op->resource->column_count, cells);
    if (member != NULL) {
        hfd_buf_cut(&body, body.length - 1);
        hfd_buf_printf(&body, ",\"%s\":\"%s\"}", member, secret);
    }
    hfd_op_json(op, body.text, body.length);
    op->reply->status = status;
}

bool hfd_op_minimal(struct hfd_op *op, int status) {
    if (!hfd_prefers_minimal(hfd_request_header(op->request, "prefer"))) return false;
    hfd_reply_header(op->reply, "Preference-Applied", "return=minimal");
    op->reply->status = status;
    return true;
}

enum hfd_problem_kind hfd_op_body(
    struct hfd_op *op, const char *const *media_types, const char *accept_field) {
    const char *field = hfd_request_header(op->request, "content-type");
    const char *taken = media_types[0];
    for (size_t i = 0; media_types[i] != NULL; i++) {
        if (hfd_is_media_type(field, media_types[i])) {
            if (op->request->body_len > 0) return HFD_OK;
            op->detail = "A body is needed.";
            return HFD_BAD_REQUEST;
        }
        if (i > 0) taken = hf_arena_printf(op->arena, "%s, %s", taken, media_types[i]);
    }
    hfd_reply_header(op->reply, accept_field, taken);
    op->detail = hf_arena_printf(op->arena, "Content-Type must be one of: %s (charset utf-8).", taken);
    return HFD_UNSUPPORTED_MEDIA_TYPE;
}
