#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "../base/uuid.h"
#include "inside.h"
#include "path.h"

/* More than this of a body that will be refused is not read to its end: the connection is cut. */
static const uint64_t discard_max_bytes = 8 << 20;
static const size_t first_room_bytes = 16384;

const char *const hfd_method_names[HFD_METHOD_COUNT] = {
    [HFD_GET] = "GET",
    [HFD_HEAD] = "HEAD",
    [HFD_POST] = "POST",
    [HFD_PATCH] = "PATCH",
    [HFD_PUT] = "PUT",
    [HFD_DELETE] = "DELETE",
    [HFD_OPTIONS] = "OPTIONS",
    [HFD_METHOD_OTHER] = "other",
};

/* Two values of these can only be an error or an attack (request smuggling); RFC 9112 §6.3 for the first two.
 */
static const char *const single_headers[] = {
    "content-length",
    "transfer-encoding",
    "authorization",
    "content-type",
    "host",
    "idempotency-key",
    "if-match",
};

static enum hfd_method method_of(const char *name) {
    for (int i = 0; i < HFD_METHOD_OTHER; i++) {
        if (strcmp(name, hfd_method_names[i]) == 0) return (enum hfd_method)i;
    }
    return HFD_METHOD_OTHER;
}

static bool is_token(const char *text, size_t length) {
    static const char others[] = "!#$%&'*+-.^_`|~";
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        bool alphanumeric = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        if (!alphanumeric && (c == '\0' || !strchr(others, c))) return false;
    }
    return length > 0;
}

static bool is_field_value(const char *text, size_t length) {
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)text[i];
        if ((c < 0x20 && c != '\t') || c == 0x7f) return false;
    }
    return true;
}

/* The first refusal stays. */
static void refuse(struct hfd_exchange *exchange, enum hfd_problem_kind kind, const char *detail) {
    if (exchange->refusal != HFD_OK) return;
    exchange->refusal = kind;
    exchange->refusal_detail = detail;
}

struct header_walk {
    struct hfd_exchange *exchange;
    struct hfd_pair *pairs;
    size_t count, bytes;
};

static enum MHD_Result take_header(void *argument, enum MHD_ValueKind kind, const char *name,
    size_t name_size, const char *value, size_t value_size) {
    (void)kind;
    struct header_walk *walk = argument;
    if (!value) value = "";
    walk->bytes += name_size + value_size + 4;
    if (walk->count == HFD_HEADERS_MAX || walk->bytes > HFD_HEADERS_MAX_BYTES) {
        refuse(walk->exchange, HFD_HEADERS_TOO_LARGE,
            "At most 64 header fields and 8192 bytes of them are taken.");
        walk->exchange->close = true;
        return MHD_NO;
    }
    if (!is_token(name, name_size) || !is_field_value(value, value_size)) {
        refuse(walk->exchange, HFD_BAD_REQUEST, "A header field is not formed as HTTP wants it.");
        walk->exchange->close = true;
        return MHD_NO;
    }
    char *lower = hf_arena_alloc(&walk->exchange->arena, name_size + 1);
    for (size_t i = 0; i < name_size; i++) {
        lower[i] = (char)(name[i] >= 'A' && name[i] <= 'Z' ? name[i] + ('a' - 'A') : name[i]);
    }
    walk->pairs[walk->count++] = (struct hfd_pair){lower, value};
    return MHD_YES;
}

static void take_headers(struct hfd_exchange *exchange) {
    struct header_walk walk = {.exchange = exchange};
    walk.pairs = HF_NEW_ARRAY(&exchange->arena, struct hfd_pair, HFD_HEADERS_MAX);
    MHD_get_connection_values_n(exchange->mhd, MHD_HEADER_KIND, take_header, &walk);
    exchange->request.headers = walk.pairs;
    exchange->request.header_count = walk.count;
}

static void check_single_headers(struct hfd_exchange *exchange) {
    const struct hfd_request *request = &exchange->request;
    for (size_t k = 0; k < sizeof single_headers / sizeof single_headers[0]; k++) {
        size_t seen = 0;
        for (size_t i = 0; i < request->header_count; i++) {
            if (strcmp(request->headers[i].name, single_headers[k]) == 0) seen++;
        }
        if (seen < 2) continue;
        refuse(exchange, HFD_BAD_REQUEST,
            hf_arena_printf(&exchange->arena, "The header field %s may stand only once.", single_headers[k]));
        /* Where this request ends is no longer sure, so nothing behind it may be read as another one. */
        exchange->close = true;
    }
}

static void check_framing(struct hfd_exchange *exchange) {
    const char *length = hfd_request_header(&exchange->request, "content-length");
    const char *coding = hfd_request_header(&exchange->request, "transfer-encoding");
    if (coding && (length || strcasecmp(coding, "chunked") != 0)) {
        refuse(exchange, HFD_BAD_REQUEST,
            length ? "Content-Length and Transfer-Encoding exclude each other."
                   : "The only Transfer-Encoding taken is chunked.");
        exchange->close = true;
    }
    /* The library has refused what is not a number. */
    if (length) exchange->declared = strtoull(length, NULL, 10);
}

/* RFC 9112 §3.2. The library could refuse it too, but with a page of its own. */
static void check_host(struct hfd_exchange *exchange, const char *version) {
    if (strcmp(version, "HTTP/1.1") != 0 || hfd_request_header(&exchange->request, "host")) return;
    refuse(exchange, HFD_BAD_REQUEST, "HTTP/1.1 wants a Host field.");
    exchange->close = true;
}

static void refuse_large(struct hfd_exchange *exchange) {
    refuse(exchange, HFD_PAYLOAD_TOO_LARGE,
        hf_arena_printf(
            &exchange->arena, "A body may have at most %zu bytes.", exchange->http->config.max_body_bytes));
}

/* The client's own id when it can stand in a header, a log line and a problem without any escape. */
static void take_id(struct hfd_request *request) {
    const char *id = hfd_request_header(request, "x-request-id");
    size_t length = id ? strlen(id) : 0;
    bool clean = length > 0 && length < sizeof request->id &&
                 strspn(id, "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ._-") == length;
    if (clean)
        memcpy(request->id, id, length + 1);
    else
        hfd_uuid_new(request->id);
}

/* A field that stands twice counts as none. */
static void take_trace(struct hfd_request *request) {
    const char *field = NULL;
    size_t seen = 0;
    for (size_t i = 0; i < request->header_count; i++) {
        if (strcmp(request->headers[i].name, "traceparent") != 0) continue;
        field = request->headers[i].value;
        seen++;
    }
    if (seen != 1 || !hfd_traceparent_read(field, request->trace_id)) hfd_trace_id_new(request->trace_id);
}

bool hfd_intake_head(struct hfd_exchange *exchange, const char *method, const char *version) {
    const char *detail = NULL;
    struct hfd_request *request = &exchange->request;
    request->method = method_of(method);
    take_headers(exchange);
    take_id(request);
    take_trace(request);
    check_single_headers(exchange);
    check_framing(exchange);
    check_host(exchange, version);
    enum hfd_problem_kind kind = hfd_path_parse(request, &detail);
    if (kind != HFD_OK) refuse(exchange, kind, detail);
    uint64_t most = exchange->http->config.max_body_bytes;
    if (exchange->declared > most) refuse_large(exchange);
    /* A client that waits to be told "go on" has sent nothing yet; a framing error leaves no body to trust.
     */
    bool waits = hfd_request_header(request, "expect") != NULL;
    bool answer_now =
        exchange->close || exchange->declared > discard_max_bytes || (waits && exchange->refusal != HFD_OK);
    return !answer_now;
}

static void make_room(struct hfd_exchange *exchange, size_t needed) {
    size_t room = exchange->body_room ? 2 * exchange->body_room : first_room_bytes;
    if (exchange->declared > 0 && exchange->declared <= first_room_bytes) room = (size_t)exchange->declared;
    if (room > exchange->http->config.max_body_bytes) room = exchange->http->config.max_body_bytes;
    if (room < needed) room = needed;
    char *body = hf_arena_alloc(&exchange->arena, room + 1);
    if (exchange->received > 0) memcpy(body, exchange->body, (size_t)exchange->received);
    exchange->body = body;
    exchange->body_room = room;
}

bool hfd_intake_body(struct hfd_exchange *exchange, const char *piece, size_t size) {
    uint64_t received = exchange->received + size;
    if (received > exchange->http->config.max_body_bytes) refuse_large(exchange);
    if (exchange->refusal == HFD_OK) {
        if (received > exchange->body_room) make_room(exchange, (size_t)received);
        memcpy(exchange->body + exchange->received, piece, size);
    }
    exchange->received = received;
    return received <= discard_max_bytes;
}

void hfd_intake_end(struct hfd_exchange *exchange) {
    if (!exchange->body || exchange->refusal != HFD_OK) return;
    exchange->body[exchange->received] = '\0';
    exchange->request.body = exchange->body;
    exchange->request.body_len = (size_t)exchange->received;
}
