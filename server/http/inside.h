/* What the files of this room share. */
#ifndef HFD_HTTP_INSIDE_H
#define HFD_HTTP_INSIDE_H

#include <microhttpd.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdint.h>

#include "../base/buf.h"
#include "../base/log.h"
#include "../base/problem.h"
#include "http.h"

#define HFD_HEADERS_MAX 64
#define HFD_HEADERS_MAX_BYTES 8192

/* One socket. `deadline_ns` is when it is cut off, whatever it is doing; INT64_MAX while we work. */
struct hfd_connection {
    int fd;
    _Atomic int64_t deadline_ns;
    _Atomic bool cut;
    struct hfd_connection *next, *previous;
};

/* Cuts connections whose deadline has passed: the library's own timeout starts anew with every byte. */
struct hfd_deadlines {
    pthread_mutex_t lock;
    pthread_cond_t wake;
    pthread_t thread;
    bool started, stopping;
    struct hfd_connection *first;
    _Atomic uint64_t open, cut;
};

#define HFD_DURATION_BUCKETS 6

#define HFD_ROUTES_COUNTED_MAX 128

struct hfd_route_counter {
    char pattern[96];
    _Atomic uint64_t by_class[6]; /* [2] = 2xx; [0] = ended without a reply */
};

/* Routes are taken in as they are first asked for, never changed and never removed: who sees `route_count`
 * may read so many rows without the lock. What is no route, and what does not fit, is counted in row 0. */
struct hfd_counters {
    pthread_mutex_t growing;
    _Atomic size_t route_count;
    struct hfd_route_counter routes[HFD_ROUTES_COUNTED_MAX];
    _Atomic uint64_t refused_full;
    _Atomic uint64_t duration[HFD_DURATION_BUCKETS]; /* not cumulative */
    _Atomic uint64_t duration_us;
};

struct hfd_http {
    struct hfd_http_config config;
    struct MHD_Daemon *daemon;
    int listen_fd;
    unsigned port;
    _Atomic size_t active;
    _Atomic bool started, draining, refusing;
    struct hfd_deadlines deadlines;
    struct hfd_counters counters;
};

/* HEAD → BODY → (QUEUED →) ANSWERED → SENT, never back. Made when the request line has come, freed in one
 * place when the library is done with it. A queued exchange belongs to its worker, at all other times to its
 * HTTP thread. */
enum hfd_exchange_state { HFD_HEAD_COMES, HFD_BODY_COMES, HFD_QUEUED, HFD_ANSWERED, HFD_SENT };

struct hfd_pieces;

struct hfd_exchange {
    enum hfd_exchange_state state;
    struct hfd_http *http;
    struct MHD_Connection *mhd;
    struct hfd_connection *connection;
    hf_arena arena;
    struct hfd_request request;
    struct hfd_reply reply;
    int64_t began_ns, queued_ns;
    struct hfd_pieces *pieces; /* of a reply that is asked for piece by piece; NULL: it is not */
    int64_t streamed_ns;       /* when a reply that goes on began; 0: none did */
    /* Body: a growing piece of the arena, NUL-ended. */
    char *body;
    size_t body_room;
    uint64_t declared, received; /* declared: 0 when not told */
    /* Found before the body was in: answered when it is, so that the client reads it. */
    enum hfd_problem_kind refusal;
    const char *refusal_detail;
    bool close;
};

/* deadline.c */
bool hfd_deadlines_start(struct hfd_deadlines *deadlines, size_t stack_bytes);
void hfd_deadlines_stop(struct hfd_deadlines *deadlines);
struct hfd_connection *hfd_deadlines_add(struct hfd_deadlines *deadlines, int fd);
void hfd_deadlines_remove(struct hfd_deadlines *deadlines, struct hfd_connection *connection);
/* 0: none. */
void hfd_connection_deadline(struct hfd_connection *connection, int seconds);

extern const char *const hfd_method_names[HFD_METHOD_COUNT];

/* intake.c: request line and headers → request or refusal. True: the body may come; false: answer now. */
bool hfd_intake_head(struct hfd_exchange *exchange, const char *method, const char *version);
/* False: cut the connection. */
bool hfd_intake_body(struct hfd_exchange *exchange, const char *piece, size_t size);
void hfd_intake_end(struct hfd_exchange *exchange);

/* cors.c */
void hfd_cors_add(const struct hfd_exchange *exchange, struct MHD_Response *response);

/* reply.c */
void hfd_reply_problem(struct hfd_exchange *exchange, enum hfd_problem_kind kind, const char *detail);
enum MHD_Result hfd_reply_send(struct hfd_exchange *exchange);
/* The fields of exchange->reply. */
void hfd_reply_fields(struct hfd_exchange *exchange, struct MHD_Response *response);

/* access.c. False: the request asked for more memory than one may have and was left where it stood. */
bool hfd_handler_run(
    hfd_handler *handler, void *worker, struct hfd_request *request, struct hfd_reply *reply);

/* pieces.c: makes the reply's stream of its first piece. False: no memory. */
bool hfd_pieces_begin(struct hfd_exchange *exchange);
bool hfd_pieces_work(void *worker, struct hfd_exchange *exchange);
const struct hfd_trace *hfd_pieces_trace(const struct hfd_exchange *exchange);
/* In any thread: the piece may leave; not good: the reply ends, and the client sees that it is not whole. */
void hfd_pieces_ready(struct hfd_exchange *exchange, bool good);

/* streaming.c */
enum MHD_Result hfd_streaming_send(struct hfd_exchange *exchange);
void hfd_streaming_end(struct hfd_exchange *exchange);

/* ops.c: /livez and /metrics, which ask no database. False: not for us. */
bool hfd_ops_answer(struct hfd_exchange *exchange);

/* counters.c */
void hfd_counters_init(struct hfd_counters *counters);
void hfd_counters_fini(struct hfd_counters *counters);
void hfd_counters_add(struct hfd_counters *counters, const char *route, int status, int64_t duration_ns);
void hfd_counters_write(struct hfd_counters *counters, struct hfd_buf *out);

/* access.c: the library's callbacks. */
void *hfd_access_begin(void *http, const char *target, struct MHD_Connection *mhd);
enum MHD_Result hfd_access(void *http, struct MHD_Connection *mhd, const char *url, const char *method,
    const char *version, const char *upload, size_t *upload_size, void **exchange);
void hfd_access_end(
    void *http, struct MHD_Connection *mhd, void **exchange, enum MHD_RequestTerminationCode why);

/* socket.c */
int hfd_socket_listen(const struct hfd_http_config *config, unsigned *port);

#endif
