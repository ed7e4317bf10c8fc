/* One request and its reply, free of any HTTP library: what http fills, rest reads and answers. All memory
 * from request->arena, which lives until the reply has been sent. */
#ifndef HFD_EXCHANGE_H
#define HFD_EXCHANGE_H

#include <stddef.h>
#include <stdint.h>

#include "../../core/arena.h"
#include "stream.h"
#include "traceparent.h"

enum hfd_method {
    HFD_GET,
    HFD_HEAD,
    HFD_POST,
    HFD_PATCH,
    HFD_PUT,
    HFD_DELETE,
    HFD_OPTIONS,
    HFD_METHOD_OTHER,
    HFD_METHOD_COUNT
};

struct hfd_pair {
    const char *name, *value;
};

#define HFD_SEGMENTS_MAX 8
#define HFD_REPLY_HEADERS_MAX 16

struct hfd_request {
    hf_arena *arena;
    char id[37];                      /* UUID text; the client's X-Request-Id when it is clean */
    char trace_id[HFD_TRACE_ID_SIZE]; /* the client's trace when its traceparent is well formed */
    uint64_t peer; /* evenly spread bits of the address that the connection comes from; of IPv6 its network */
    enum hfd_method method;
    const char *target;                     /* raw, as received */
    const char *segments[HFD_SEGMENTS_MAX]; /* path split on '/', each percent-decoded; "/v1/visits" =
                                               {"v1","visits"} */
    size_t segment_count;
    const struct hfd_pair *query; /* decoded, in order */
    size_t query_count;
    const struct hfd_pair *headers; /* names lower case */
    size_t header_count;
    const char *body; /* NUL-ended beyond body_len; NULL when there is none */
    size_t body_len;
    const char *continues; /* asked again for the next piece: `next` of the piece before; NULL: the first */
};

/* What a request told about patients: who was told what of which records. Lists of ids are array literals of
 * SQL, "{…}". */
struct hfd_trace {
    const char *token_digest; /* hex */
    const char *action, *path, *records, *patients, *request, *outcome;
};

struct hfd_reply {
    const struct hfd_trace *trace; /* the reply may leave once the audit holds this; NULL: at once */
    int status;                    /* 0 = not answered yet */
    const char *content_type;      /* NULL: no body */
    const char *body;
    size_t body_len;
    const char
        *next; /* the body goes on: when this piece has left, the request is asked again; NULL: whole */
    struct hfd_pair headers[HFD_REPLY_HEADERS_MAX];
    size_t header_count;
    struct hfd_stream *stream; /* goes on in the place of a body; NULL: there is none */
    const char
        *route; /* pattern of the path that was asked, "/v1/visits/{id}", for the counters; NULL: none */
};

/* NULL when absent. `name` in lower case. */
const char *hfd_request_header(const struct hfd_request *request, const char *name);
const char *hfd_request_query(const struct hfd_request *request, const char *name);
void hfd_reply_header(struct hfd_reply *reply, const char *name, const char *value);

/* Called on a worker thread; `worker` is that worker's own context (its database connection lives there). */
typedef void hfd_handler(void *worker, struct hfd_request *request, struct hfd_reply *reply);

#endif
