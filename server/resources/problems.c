/* What the `type` of a problem resolves to. */
#include <string.h>

#include "../pages/html.h"
#include "../rest/resource.h"

static const char *const advice[HFD_PROBLEM_COUNT] = {
    [HFD_MALFORMED_JSON] =
        "The body is not JSON (RFC 8259), names a member twice, nests too deep or is not UTF-8. "
        "detail says where.",
    [HFD_BAD_REQUEST] = "A query parameter, header field or the body's presence is wrong. errors says which.",
    [HFD_UNAUTHENTICATED] = "Send an access token that is in force: Authorization: Bearer hf_…",
    [HFD_FORBIDDEN] = "The token is good, but its role may not do this. detail names the roles that may.",
    [HFD_CROSS_SITE] =
        "A browser added the cookie of a session to a request that changes something and that no page of this "
        "server made. Programs send an access token instead.",
    [HFD_NOT_FOUND] = "There is no such path, or no such row in the token's clinic.",
    [HFD_METHOD_NOT_ALLOWED] = "The path is there, the method is not. Allow names those that are.",
    [HFD_NOT_ACCEPTABLE] = "Accept rules out every form that this is offered in.",
    [HFD_CONFLICT_UNIQUE] =
        "A value that may stand once in a clinic is there already. errors names the member.",
    [HFD_CONFLICT_STATE] = "What is already recorded does not allow this change.",
    [HFD_IDEMPOTENCY_IN_PROGRESS] =
        "A request with the same Idempotency-Key has not ended. Ask again after Retry-After seconds: its answer "
        "is then replayed.",
    [HFD_CURSOR_GONE] =
        "What followed this cursor is no longer kept, or the database was brought back to an earlier time. Read the "
        "lists anew and go on from cursor=latest.",
    [HFD_PRECONDITION_FAILED] = "The row was changed since it was read. Read it again, then decide again.",
    [HFD_PAYLOAD_TOO_LARGE] = "The body is longer than this server takes.",
    [HFD_URI_TOO_LONG] = "The request target is longer than this server takes.",
    [HFD_UNSUPPORTED_MEDIA_TYPE] = "Content-Type is missing or not one that is taken here.",
    [HFD_VALIDATION] =
        "The body is JSON but says something that is not admissible. errors points at every place at once.",
    [HFD_IDEMPOTENCY_KEY_REUSED] =
        "This Idempotency-Key came with another body before. A new request needs a new key; a key is kept for "
        "24 hours.",
    [HFD_PRECONDITION_REQUIRED] = "A change needs If-Match with the ETag that was read.",
    [HFD_RATE_LIMITED] = "The token's share of this minute is used up. Try again after Retry-After seconds.",
    [HFD_HEADERS_TOO_LARGE] = "The request has more header fields, or longer ones, than this server takes.",
    [HFD_INTERNAL] = "A fault of the server. Nothing was written. request_id finds it in the log.",
    [HFD_OVERLOADED] = "Too much to do at once. Try again after Retry-After seconds.",
    [HFD_DATABASE_UNAVAILABLE] =
        "The database cannot be reached. Nothing was written unless an earlier reply said so; try "
        "again after Retry-After seconds.",
};

static void put_problem(struct hfd_buf *out, enum hfd_problem_kind kind) {
    const struct hfd_problem_row *row = &hfd_problem_rows[kind];
    hfd_buf_printf(out, "{\"type\":\"/problems/%s\",\"title\":", row->slug);
    hfd_buf_json_string(out, row->title);
    hfd_buf_printf(out, ",\"status\":%d,\"what\":", row->status);
    hfd_buf_json_string(out, advice[kind]);
    hfd_buf_char(out, '}');
}

static void put_page(struct hfd_buf *out, enum hfd_problem_kind kind) {
    const struct hfd_problem_row *row = &hfd_problem_rows[kind];
    hfd_html_begin(out, &(struct hfd_frame){.title = row->title});
    hfd_html(out,
        "<h1>%s</h1>\n<p>Status %d, <code>/problems/%s</code></p>\n<p>%s</p>\n"
        "<p><a href=\"/problems\">All kinds of refusal</a></p>\n",
        row->title, row->status, row->slug, advice[kind]);
    hfd_html_end(out);
}

static void put_page_of_all(struct hfd_buf *out) {
    static const char title[] = "All kinds of refusal";
    hfd_html_begin(out, &(struct hfd_frame){.title = title});
    hfd_html(out, "<h1>%s</h1>\n<dl>\n", title);
    for (enum hfd_problem_kind kind = HFD_OK + 1; kind < HFD_PROBLEM_COUNT; kind++) {
        const struct hfd_problem_row *row = &hfd_problem_rows[kind];
        hfd_html(out, "<dt><a href=\"/problems/%s\">%d %s</a></dt>\n<dd>%s</dd>\n", row->slug, row->status,
            row->title, advice[kind]);
    }
    hfd_buf_text(out, "</dl>\n");
    hfd_html_end(out);
}

static enum hfd_problem_kind read_problem(struct hfd_op *op) {
    for (enum hfd_problem_kind kind = HFD_OK + 1; kind < HFD_PROBLEM_COUNT; kind++) {
        if (strcmp(hfd_problem_rows[kind].slug, op->id) != 0) continue;
        struct hfd_buf out;
        hfd_buf_init(&out, op->arena, 1024);
        if (hfd_op_produces(op, "text/html")) {
            put_page(&out, kind);
            return hfd_op_page(op, &out, false);
        }
        put_problem(&out, kind);
        return hfd_op_json(op, out.text, out.length);
    }
    return HFD_NOT_FOUND;
}

static enum hfd_problem_kind list_problems(struct hfd_op *op) {
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 8192);
    if (hfd_op_produces(op, "text/html")) {
        put_page_of_all(&out);
        return hfd_op_page(op, &out, false);
    }
    hfd_buf_text(&out, "{\"items\":[");
    for (enum hfd_problem_kind kind = HFD_OK + 1; kind < HFD_PROBLEM_COUNT; kind++) {
        if (kind > HFD_OK + 1) hfd_buf_char(&out, ',');
        put_problem(&out, kind);
    }
    hfd_buf_text(&out, "]}");
    return hfd_op_json(op, out.text, out.length);
}

#define PROBLEM_SCHEMA                                                                                              \
    "{type: object, required: [type, title, status, what], additionalProperties: false, properties: {type: {type: " \
    "string}, title: {type: string}, status: {type: integer}, what: {type: string}}}"

static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/problems",
        .roles = HFD_PUBLIC,
        .produces = "application/json, text/html",
        .operation = list_problems,
        .what = "All kinds of refusal",
        .answers =
            "{type: object, required: [items], additionalProperties: false, properties: {items: {type: array, "
            "items: " PROBLEM_SCHEMA "}}}"},
    {.method = HFD_GET,
        .path = "/problems/{slug}",
        .roles = HFD_PUBLIC,
        .produces = "application/json, text/html",
        .operation = read_problem,
        .what = "What a kind of refusal means and what to do",
        .answers = PROBLEM_SCHEMA},
};

const struct hfd_resource hfd_resource_problems = {.routes = routes, .route_count = HFD_COUNT(routes)};
