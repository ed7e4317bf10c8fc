#include "problem.h"

#include <stdio.h>

#include "buf.h"

const struct hfd_problem_row hfd_problem_rows[HFD_PROBLEM_COUNT] = {
    [HFD_OK] = {"ok", "No problem", 200},
    [HFD_MALFORMED_JSON] = {"malformed-json", "The body is not well-formed JSON", 400},
    [HFD_BAD_REQUEST] = {"bad-request", "The request cannot be understood", 400},
    [HFD_UNAUTHENTICATED] = {"unauthenticated", "A valid access token is needed", 401},
    [HFD_FORBIDDEN] = {"forbidden", "The token's role may not do this", 403},
    [HFD_CROSS_SITE] = {"cross-site", "The request was not made by a page of this server", 403},
    [HFD_NOT_FOUND] = {"not-found", "There is nothing here", 404},
    [HFD_METHOD_NOT_ALLOWED] = {"method-not-allowed", "The resource does not offer this method", 405},
    [HFD_NOT_ACCEPTABLE] = {"not-acceptable", "The asked form is not offered", 406},
    [HFD_CONFLICT_UNIQUE] = {"conflict-unique", "A value that must be unique is taken", 409},
    [HFD_CONFLICT_STATE] = {"conflict-state", "The resource's state does not allow this", 409},
    [HFD_IDEMPOTENCY_IN_PROGRESS] = {"idempotency-in-progress", "The same request is still being worked on",
        409},
    [HFD_CURSOR_GONE] = {"cursor-gone", "The feed does not reach back to this place", 410},
    [HFD_PRECONDITION_FAILED] = {"precondition-failed", "The resource has changed meanwhile", 412},
    [HFD_PAYLOAD_TOO_LARGE] = {"payload-too-large", "The body is too large", 413},
    [HFD_URI_TOO_LONG] = {"uri-too-long", "The request target is too long", 414},
    [HFD_UNSUPPORTED_MEDIA_TYPE] = {"unsupported-media-type", "The body's media type is not understood", 415},
    [HFD_VALIDATION] = {"validation", "The body says something that is not allowed", 422},
    [HFD_IDEMPOTENCY_KEY_REUSED] = {"idempotency-key-reused", "The key belongs to another request", 422},
    [HFD_PRECONDITION_REQUIRED] = {"precondition-required", "A write needs If-Match with the version read",
        428},
    [HFD_RATE_LIMITED] = {"rate-limited", "The token has asked too much in a short time", 429},
    [HFD_HEADERS_TOO_LARGE] = {"headers-too-large", "The header fields are too large", 431},
    [HFD_INTERNAL] = {"internal", "The server failed", 500},
    [HFD_OVERLOADED] = {"overloaded", "The server has too much to do", 503},
    [HFD_DATABASE_UNAVAILABLE] = {"database-unavailable", "The database cannot be reached", 503},
};

void hfd_errors_init(struct hfd_errors *errors, hf_arena *arena) {
    *errors = (struct hfd_errors){.arena = arena};
}

void hfd_errors_add_list(struct hfd_errors *errors, const char *pointer, const char *format, va_list args) {
    if (errors->count++ >= HFD_ERRORS_KEPT) return;
    va_list again;
    va_copy(again, args);
    int length = vsnprintf(NULL, 0, format, again);
    va_end(again);
    size_t room = length < 0 ? 1 : (size_t)length + 1;
    char *detail = hf_arena_alloc(errors->arena, room);
    vsnprintf(detail, room, format, args);

    struct hfd_error *error = HF_NEW(errors->arena, struct hfd_error);
    *error = (struct hfd_error){
        .pointer = pointer ? hf_arena_strdup(errors->arena, pointer) : NULL, .detail = detail};
    if (errors->last)
        errors->last->next = error;
    else
        errors->first = error;
    errors->last = error;
}

void hfd_errors_add(struct hfd_errors *errors, const char *pointer, const char *format, ...) {
    va_list args;
    va_start(args, format);
    hfd_errors_add_list(errors, pointer, format, args);
    va_end(args);
}

static void put_member(struct hfd_buf *buf, const char *name, const char *text) {
    if (text == NULL || *text == '\0') return;
    hfd_buf_printf(buf, ",\"%s\":", name);
    hfd_buf_json_string(buf, text);
}

static void put_error(struct hfd_buf *buf, const struct hfd_error *error) {
    const char *at = error->pointer;
    hfd_buf_char(buf, '{');
    if (at) {
        hfd_buf_text(buf, at[0] == '?' ? "\"parameter\":" : "\"pointer\":");
        hfd_buf_json_string(buf, at[0] == '?' ? at + 1 : at);
        hfd_buf_char(buf, ',');
    }
    hfd_buf_text(buf, "\"detail\":");
    hfd_buf_json_string(buf, error->detail);
    hfd_buf_char(buf, '}');
}

const char *hfd_problem_text(enum hfd_problem_kind kind, const char *detail,
    const struct hfd_request *request, const struct hfd_errors *errors, size_t *length) {
    const struct hfd_problem_row *row = &hfd_problem_rows[kind];
    struct hfd_buf buf;
    hfd_buf_init(&buf, errors->arena, 512);
    hfd_buf_printf(&buf, "{\"type\":\"/problems/%s\",\"title\":\"%s\",\"status\":%d", row->slug, row->title,
        row->status);
    put_member(&buf, "detail", detail);
    if (request != NULL) put_member(&buf, "request_id", request->id);
    if (request != NULL) put_member(&buf, "trace_id", request->trace_id);
    if (errors->first) {
        hfd_buf_printf(&buf, ",\"error_count\":%zu,\"errors\":[", errors->count);
        for (const struct hfd_error *error = errors->first; error; error = error->next) {
            put_error(&buf, error);
            if (error->next) hfd_buf_char(&buf, ',');
        }
        hfd_buf_char(&buf, ']');
    }
    hfd_buf_char(&buf, '}');
    *length = buf.length;
    return buf.text;
}
