#include <inttypes.h>
#include <string.h>

#include "../base/buf.h"
#include "../base/clock.h"
#include "inside.h"

static const int64_t bucket_upper_ns[HFD_DURATION_BUCKETS - 1] = {
    2 * HFD_NS_PER_MS, 10 * HFD_NS_PER_MS, 50 * HFD_NS_PER_MS, 250 * HFD_NS_PER_MS, 1000 * HFD_NS_PER_MS};
static const char *const bucket_names[HFD_DURATION_BUCKETS] = {"0.002", "0.01", "0.05", "0.25", "1", "+Inf"};
static const char *const class_names[6] = {"none", "1xx", "2xx", "3xx", "4xx", "5xx"};

void hfd_counters_add(struct hfd_counters *counters, int status, int64_t duration_ns) {
    size_t class = status >= 100 && status < 600 ? (size_t)status / 100 : 0;
    size_t bucket = 0;
    while (bucket < HFD_DURATION_BUCKETS - 1 && duration_ns > bucket_upper_ns[bucket]) {
        bucket++;
    }
    atomic_fetch_add_explicit(&counters->by_class[class], 1, memory_order_relaxed);
    atomic_fetch_add_explicit(&counters->duration[bucket], 1, memory_order_relaxed);
    atomic_fetch_add_explicit(&counters->duration_us, (uint64_t)(duration_ns / 1000), memory_order_relaxed);
}

static void gauge(struct hfd_buf *buf, const char *name, const char *type, const char *help, uint64_t value) {
    hfd_buf_printf(buf, "# HELP %s %s\n# TYPE %s %s\n%s %" PRIu64 "\n", name, help, name, type, name, value);
}

static void durations(struct hfd_buf *buf, struct hfd_counters *counters) {
    uint64_t sum = 0;
    hfd_buf_text(buf, "# HELP holdfast_request_seconds From request line to end of reply.\n"
                      "# TYPE holdfast_request_seconds histogram\n");
    for (size_t i = 0; i < HFD_DURATION_BUCKETS; i++) {
        sum += atomic_load(&counters->duration[i]);
        hfd_buf_printf(buf, "holdfast_request_seconds_bucket{le=\"%s\"} %" PRIu64 "\n", bucket_names[i], sum);
    }
    hfd_buf_printf(buf, "holdfast_request_seconds_sum %.6f\nholdfast_request_seconds_count %" PRIu64 "\n",
        (double)atomic_load(&counters->duration_us) / 1e6, sum);
}

/* Prometheus text format 0.0.4. */
static void metrics(struct hfd_exchange *exchange) {
    struct hfd_http *http = exchange->http;
    struct hfd_buf buf;
    hfd_buf_init(&buf, &exchange->arena, 2048);
    hfd_buf_text(&buf, "# HELP holdfast_requests_total Requests ended, by class of status.\n"
                       "# TYPE holdfast_requests_total counter\n");
    for (size_t i = 0; i < sizeof class_names / sizeof class_names[0]; i++) {
        hfd_buf_printf(&buf, "holdfast_requests_total{status=\"%s\"} %" PRIu64 "\n", class_names[i],
            atomic_load(&http->counters.by_class[i]));
    }
    durations(&buf, &http->counters);
    gauge(&buf, "holdfast_requests_active", "gauge", "Requests begun and not ended.",
        atomic_load(&http->active));
    gauge(&buf, "holdfast_requests_waiting", "gauge", "Requests in the queue.",
        http->config.waiting(http->config.queue));
    gauge(&buf, "holdfast_refused_full_total", "counter", "Requests refused because the queue was full.",
        atomic_load(&http->counters.refused_full));
    gauge(&buf, "holdfast_deadline_cut_total", "counter", "Connections cut at a deadline.",
        atomic_load(&http->deadlines.cut));
    gauge(&buf, "holdfast_connections", "gauge", "Connections open.", atomic_load(&http->deadlines.open));
    exchange->reply.content_type = "text/plain; version=0.0.4; charset=utf-8";
    exchange->reply.body = buf.text;
    exchange->reply.body_len = buf.length;
}

static void alive(struct hfd_exchange *exchange) {
    exchange->reply.content_type = "application/json";
    exchange->reply.body = "{\"status\":\"alive\"}";
    exchange->reply.body_len = strlen(exchange->reply.body);
}

static const struct {
    const char *name;
    void (*answer)(struct hfd_exchange *exchange);
} pages[] = {{"livez", alive}, {"metrics", metrics}};

bool hfd_ops_answer(struct hfd_exchange *exchange) {
    const struct hfd_request *request = &exchange->request;
    if (request->segment_count != 1 || (request->method != HFD_GET && request->method != HFD_HEAD))
        return false;
    for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
        if (strcmp(request->segments[0], pages[i].name) != 0) continue;
        exchange->reply.status = 200;
        pages[i].answer(exchange);
        return true;
    }
    return false;
}
