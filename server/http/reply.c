#include <string.h>
#include <strings.h>

#include "inside.h"

static const size_t slowest_bytes_per_s = 16384;
static const char problem_type[] = "application/problem+json";

void hfd_reply_problem(struct hfd_exchange *exchange, enum hfd_problem_kind kind, const char *detail) {
    struct hfd_reply *reply = &exchange->reply;
    struct hfd_errors none;
    hfd_errors_init(&none, &exchange->arena);
    *reply = (struct hfd_reply){.content_type = problem_type, .route = reply->route};
    reply->status = hfd_problem_rows[kind].status;
    reply->body = hfd_problem_text(kind, detail, &exchange->request, &none, &reply->body_len);
    if (reply->status == 503) hfd_reply_header(reply, "Retry-After", "1");
}

static void add_header(struct MHD_Response *response, const char *name, const char *value) {
    /* Refused by the library: a line end or a tab in it. Never sent, whatever a handler made of a client's
     * text. */
    if (MHD_add_response_header(response, name, value) != MHD_YES) {
        hfd_log(HFD_LOG_ERROR, "reply header refused", HFD_LOG_TEXT("name", name));
    }
}

void hfd_reply_fields(struct hfd_exchange *exchange, struct MHD_Response *response) {
    const struct hfd_reply *reply = &exchange->reply;
    bool cache_told = false;
    if (reply->content_type) add_header(response, "Content-Type", reply->content_type);
    for (size_t i = 0; i < reply->header_count; i++) {
        add_header(response, reply->headers[i].name, reply->headers[i].value);
        if (strcasecmp(reply->headers[i].name, "Cache-Control") == 0) cache_told = true;
    }
    if (!cache_told) add_header(response, "Cache-Control", "no-store");
    add_header(response, "X-Content-Type-Options", "nosniff");
    add_header(response, "X-Request-Id", exchange->request.id);
    hfd_cors_add(exchange, response);
    if (exchange->close || atomic_load(&exchange->http->draining))
        add_header(response, "Connection", "close");
}

enum MHD_Result hfd_reply_send(struct hfd_exchange *exchange) {
    struct hfd_reply *reply = &exchange->reply;
    if (reply->next && !exchange->pieces && !hfd_pieces_begin(exchange)) return MHD_NO;
    if (reply->stream) return hfd_streaming_send(exchange);
    /* The library tells "Content-Length: 0" with a 304; every client knows that a 304 has no body. */
    bool bodiless = reply->status == 204 || reply->status == 304 || !reply->body;
    if (bodiless) reply->body_len = 0;
    /* The arena keeps the body until the library says that the request has ended: nothing is copied. The
     * library asks for a pointer to non-const and only reads it. */
    union {
        const char *given;
        void *asked;
    } body = {.given = bodiless ? "" : reply->body};
    struct MHD_Response *response =
        MHD_create_response_from_buffer(reply->body_len, body.asked, MHD_RESPMEM_PERSISTENT);
    if (!response) return MHD_NO;
    hfd_reply_fields(exchange, response);
    exchange->state = HFD_SENT;
    /* A long reply may take the longer, down to a weak mobile link; still a moment known beforehand. */
    hfd_connection_deadline(exchange->connection,
        exchange->http->config.request_deadline_s + (int)(reply->body_len / slowest_bytes_per_s));
    enum MHD_Result result = MHD_queue_response(exchange->mhd, (unsigned)reply->status, response);
    MHD_destroy_response(response);
    return result;
}
