/* The HTTP/1.1 door. Its threads read requests and send replies; the work between is queued for others, so no
 * connection waits for another one's database. The only user of the HTTP library. */
#ifndef HFD_HTTP_H
#define HFD_HTTP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "../base/exchange.h"

struct hfd_http;

/* A number of somebody else's, told by /metrics. */
struct hfd_http_gauge {
    const char *name, *type, *help; /* type: "gauge" or "counter" */
    uint64_t (*read)(const void *ctx);
};

struct hfd_http_config {
    const char *address;           /* IPv4 or IPv6, numeric */
    unsigned port;                 /* 0: any free one */
    bool public_allowed;           /* plain HTTP on an address that is not loopback */
    const char *certificate, *key; /* PEM texts, needed until hfd_http_new returns; NULL: plain HTTP */
    size_t threads, stack_bytes;
    size_t max_connections, max_connections_per_address; /* 0: no limit per address */
    size_t max_body_bytes, max_memory_bytes;             /* of one request */
    int request_deadline_s;   /* to receive a request, to wait in the queue, to take a reply: each */
    int keep_alive_s;         /* an idle connection is closed after this */
    const char *cors_origins; /* pages that may ask, parted by spaces; NULL or "": none */
    hfd_handler *handler;
    /* The queue: a reserved place is always followed by one push. Each job ends in hfd_http_work or
     * hfd_http_refuse. */
    bool (*reserve)(void *queue, bool goes_on); /* goes_on: for the next piece of a reply that has begun */
    void (*push)(void *queue, void *job);
    void *queue;
    /* A reply with a trace is given here by its worker; hfd_http_audited lets it go. */
    void (*audit)(void *auditor, void *job);
    void *auditor;
    /* What else /metrics tells. */
    const struct hfd_http_gauge *gauges;
    size_t gauge_count;
    const void *gauge_ctx;
};

/* NULL after one line on standard error that says what stands in the way. */
struct hfd_http *hfd_http_new(const struct hfd_http_config *config);
unsigned hfd_http_port(const struct hfd_http *http);

/* In a worker's thread. False: the worker's context was left in the middle of something and must be made
 * anew. */
bool hfd_http_work(void *worker, void *job);
/* The trace that a job's reply waits for. */
const struct hfd_trace *hfd_http_trace(const void *job);
/* In any thread. The reply leaves; not kept: a 503 in its place, and nothing of what was read. */
void hfd_http_audited(void *job, bool kept);
/* Answers 503. */
void hfd_http_refuse(void *job);

/* Accepts no new connection; every reply from now on closes its own. */
void hfd_http_drain(struct hfd_http *http);
/* From now on new requests are answered 503 without work. */
void hfd_http_refuse_new(struct hfd_http *http);
/* Requests begun and not yet fully answered. */
size_t hfd_http_active(const struct hfd_http *http);
/* Needs: no job is queued, running or waiting for the audit. */
void hfd_http_free(struct hfd_http *http);

#endif
