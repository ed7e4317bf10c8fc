#include <netinet/in.h>
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>

#include "../base/clock.h"
#include "inside.h"
#include "path.h"

static const size_t arena_chunk_bytes = 8192;

static struct hfd_connection *connection_of(struct MHD_Connection *mhd) {
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(mhd, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info ? info->socket_context : NULL;
}

/* A network of IPv6 (64 bits) is one customer's (RFC 6177). The multiplier is Knuth's, 2^64 / golden ratio.
 */
static uint64_t peer_of(struct MHD_Connection *mhd) {
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(mhd, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    const struct sockaddr *address = info ? info->client_addr : NULL;
    uint64_t bits = 0;
    if (address && address->sa_family == AF_INET)
        bits = ((const struct sockaddr_in *)address)->sin_addr.s_addr;
    else if (address && address->sa_family == AF_INET6)
        memcpy(&bits, &((const struct sockaddr_in6 *)address)->sin6_addr, sizeof bits);
    bits = (bits + 1) * UINT64_C(0x9E3779B97F4A7C15);
    return bits ^ bits >> 32;
}

void *hfd_access_begin(void *argument, const char *target, struct MHD_Connection *mhd) {
    struct hfd_http *http = argument;
    struct hfd_exchange *exchange = calloc(1, sizeof *exchange);
    if (!exchange) return NULL;
    exchange->http = http;
    exchange->mhd = mhd;
    exchange->connection = connection_of(mhd);
    exchange->began_ns = hfd_clock_monotonic_ns();
    hf_arena_init(&exchange->arena, arena_chunk_bytes, http->config.max_memory_bytes);
    exchange->request.arena = &exchange->arena;
    exchange->request.peer = peer_of(mhd);
    /* Copied now: the library is about to cut its own copy at the question mark. */
    exchange->request.target = hf_arena_strdup(&exchange->arena, target ? target : "");
    hfd_connection_deadline(exchange->connection, http->config.request_deadline_s);
    atomic_fetch_add(&http->active, 1);
    return exchange;
}

static enum MHD_Result answer_problem(
    struct hfd_exchange *exchange, enum hfd_problem_kind kind, const char *detail) {
    hfd_reply_problem(exchange, kind, detail);
    return hfd_reply_send(exchange);
}

/* The request is complete. */
static enum MHD_Result dispatch(struct hfd_exchange *exchange) {
    struct hfd_http *http = exchange->http;
    hfd_intake_end(exchange);
    if (exchange->refusal != HFD_OK)
        return answer_problem(exchange, exchange->refusal, exchange->refusal_detail);
    if (hfd_ops_answer(exchange)) return hfd_reply_send(exchange);
    if (atomic_load(&http->refusing))
        return answer_problem(exchange, HFD_OVERLOADED, "The server is stopping.");
    if (!http->config.reserve(http->config.queue, false)) {
        atomic_fetch_add_explicit(&http->counters.refused_full, 1, memory_order_relaxed);
        return answer_problem(exchange, HFD_OVERLOADED, "The queue of requests is full.");
    }
    /* Suspended first: a worker may be done before this function returns. After the push the exchange is not
     * ours. */
    hfd_connection_deadline(exchange->connection, 0);
    exchange->state = HFD_QUEUED;
    exchange->queued_ns = hfd_clock_monotonic_ns();
    MHD_suspend_connection(exchange->mhd);
    http->config.push(http->config.queue, exchange);
    return MHD_YES;
}

enum MHD_Result hfd_access(void *http, struct MHD_Connection *mhd, const char *url, const char *method,
    const char *version, const char *upload, size_t *upload_size, void **context) {
    (void)http, (void)mhd, (void)url;
    struct hfd_exchange *exchange = *context;
    if (!exchange) return MHD_NO; /* no memory when it began */
    switch (exchange->state) {
    case HFD_HEAD_COMES:
        if (!hfd_intake_head(exchange, method, version)) return dispatch(exchange);
        exchange->state = HFD_BODY_COMES;
        return MHD_YES;
    case HFD_BODY_COMES: {
        size_t size = *upload_size;
        if (size == 0) return dispatch(exchange);
        *upload_size = 0;
        return hfd_intake_body(exchange, upload, size) ? MHD_YES : MHD_NO;
    }
    case HFD_ANSWERED:
        return hfd_reply_send(exchange);
    case HFD_QUEUED:
    case HFD_SENT:
        break;
    }
    return MHD_NO;
}

/* ---- in a worker's thread ---- */

static void out_of_memory(void *jump) {
    longjmp(*(jmp_buf *)jump, 1);
}

bool hfd_handler_run(
    hfd_handler *handler, void *worker, struct hfd_request *request, struct hfd_reply *reply) {
    jmp_buf out;
    hf_arena *arena = request->arena;
    arena->exhausted = out_of_memory;
    arena->ctx = &out;
    bool whole = setjmp(out) == 0;
    if (whole) handler(worker, request, reply);
    arena->exhausted = NULL;
    arena->ctx = NULL;
    return whole;
}

static void hand_back(struct hfd_exchange *exchange) {
    exchange->state = HFD_ANSWERED;
    MHD_resume_connection(exchange->mhd);
}

bool hfd_http_work(void *worker, void *job) {
    struct hfd_exchange *exchange = job;
    int64_t waited_ns = hfd_clock_monotonic_ns() - exchange->queued_ns;
    if (waited_ns > exchange->http->config.request_deadline_s * HFD_NS_PER_S) {
        hfd_http_refuse(job); /* nobody is waiting any more */
        return true;
    }
    if (exchange->pieces) return hfd_pieces_work(worker, exchange);
    bool finished =
        hfd_handler_run(exchange->http->config.handler, worker, &exchange->request, &exchange->reply);
    if (!finished) {
        exchange->arena.limit_bytes = 0;
        hfd_reply_problem(
            exchange, HFD_PAYLOAD_TOO_LARGE, "The request needs more memory than one request may use.");
    } else if (exchange->reply.status == 0) {
        hfd_reply_problem(exchange, HFD_INTERNAL, NULL);
    }
    if (exchange->reply.trace)
        exchange->http->config.audit(exchange->http->config.auditor, exchange);
    else
        hand_back(exchange);
    return finished;
}

const struct hfd_trace *hfd_http_trace(const void *job) {
    const struct hfd_exchange *exchange = job;
    return exchange->pieces ? hfd_pieces_trace(exchange) : exchange->reply.trace;
}

void hfd_http_audited(void *job, bool kept) {
    struct hfd_exchange *exchange = job;
    if (exchange->pieces) {
        hfd_pieces_ready(exchange, kept);
        return;
    }
    if (!kept) {
        exchange->arena.limit_bytes = 0;
        hfd_reply_problem(exchange, HFD_DATABASE_UNAVAILABLE, "What was read could not be put on record.");
    }
    hand_back(exchange);
}

void hfd_http_refuse(void *job) {
    struct hfd_exchange *exchange = job;
    if (exchange->pieces) {
        hfd_pieces_ready(exchange, false);
        return;
    }
    hfd_reply_problem(exchange, HFD_OVERLOADED, "The request waited too long for its turn.");
    hand_back(exchange);
}

/* ---- the end, in the HTTP thread ---- */

/* How it ended, when not well. The library's own time limit is off. */
static const char *ending(const struct hfd_exchange *exchange, enum MHD_RequestTerminationCode why) {
    if (why == MHD_REQUEST_TERMINATED_COMPLETED_OK) return NULL;
    if (exchange->connection && atomic_load(&exchange->connection->cut)) return "deadline";
    if (why == MHD_REQUEST_TERMINATED_DAEMON_SHUTDOWN) return "shutdown";
    return why == MHD_REQUEST_TERMINATED_CLIENT_ABORT || why == MHD_REQUEST_TERMINATED_READ_ERROR
               ? "client gone"
               : "error";
}

/* The library answers some requests itself (no Host, headers beyond its memory); it knows their status. */
static int final_status(const struct hfd_exchange *exchange) {
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(exchange->mhd, MHD_CONNECTION_INFO_HTTP_STATUS);
    return info ? (int)info->http_status : exchange->state == HFD_SENT ? exchange->reply.status : 0;
}

static void tell(const struct hfd_exchange *exchange, const char *ended) {
    const struct hfd_request *request = &exchange->request;
    int status = final_status(exchange);
    /* Of a reply that goes on, until it began: how long somebody listens is no measure of ours. */
    int64_t until_ns = exchange->streamed_ns ? exchange->streamed_ns : hfd_clock_monotonic_ns();
    int64_t duration_ns = until_ns - exchange->began_ns;
    char route[256];
    size_t length = hfd_path_length(request->target);
    if (length >= sizeof route) length = sizeof route - 1;
    memcpy(route, request->target, length);
    route[length] = '\0';
    hfd_counters_add(&exchange->http->counters, exchange->reply.route, status, duration_ns);
    hfd_log(status >= 500 ? HFD_LOG_WARNING : HFD_LOG_INFO, "request",
        HFD_LOG_TEXT("request_id", request->id[0] ? request->id : NULL),
        HFD_LOG_TEXT("trace_id", request->id[0] ? request->trace_id : NULL),
        HFD_LOG_TEXT("method", request->id[0] ? hfd_method_names[request->method] : NULL),
        HFD_LOG_TEXT("route", route), HFD_LOG_NUMBER("status", status),
        HFD_LOG_NUMBER("bytes", request->method == HFD_HEAD ? 0 : exchange->reply.body_len),
        HFD_LOG_MS("ms", duration_ns), HFD_LOG_TEXT("ended", ended));
}

void hfd_access_end(
    void *argument, struct MHD_Connection *mhd, void **context, enum MHD_RequestTerminationCode why) {
    (void)mhd;
    struct hfd_http *http = argument;
    struct hfd_exchange *exchange = *context;
    if (!exchange) return;
    *context = NULL;
    hfd_streaming_end(exchange);
    tell(exchange, ending(exchange, why));
    hfd_connection_deadline(exchange->connection, http->config.keep_alive_s);
    hf_arena_fini(&exchange->arena);
    free(exchange);
    atomic_fetch_sub(&http->active, 1);
}
