#include <inttypes.h>
#include <string.h>

#include "inside.h"

static void gauge(struct hfd_buf *buf, const char *name, const char *type, const char *help, uint64_t value) {
    hfd_buf_printf(buf, "# HELP %s %s\n# TYPE %s %s\n%s %" PRIu64 "\n", name, help, name, type, name, value);
}

/* Prometheus text format 0.0.4. */
static void metrics(struct hfd_exchange *exchange) {
    struct hfd_http *http = exchange->http;
    struct hfd_buf buf;
    hfd_buf_init(&buf, &exchange->arena, 2048);
    hfd_counters_write(&http->counters, &buf);
    gauge(&buf, "holdfast_requests_active", "gauge", "Requests begun and not ended.",
        atomic_load(&http->active));
    gauge(&buf, "holdfast_refused_full_total", "counter", "Requests refused because the queue was full.",
        atomic_load(&http->counters.refused_full));
    gauge(&buf, "holdfast_deadline_cut_total", "counter", "Connections cut at a deadline.",
        atomic_load(&http->deadlines.cut));
    gauge(&buf, "holdfast_connections", "gauge", "Connections open.", atomic_load(&http->deadlines.open));
    for (size_t i = 0; i < http->config.gauge_count; i++) {
        const struct hfd_http_gauge *g = &http->config.gauges[i];
        gauge(&buf, g->name, g->type, g->help, g->read(http->config.gauge_ctx));
    }
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
    const char *path;
    void (*answer)(struct hfd_exchange *exchange);
} pages[] = {{"/livez", alive}, {"/metrics", metrics}};

bool hfd_ops_answer(struct hfd_exchange *exchange) {
    const struct hfd_request *request = &exchange->request;
    if (request->segment_count != 1 || (request->method != HFD_GET && request->method != HFD_HEAD))
        return false;
    for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
        if (strcmp(request->segments[0], pages[i].path + 1) != 0) continue;
        exchange->reply.status = 200;
        exchange->reply.route = pages[i].path;
        pages[i].answer(exchange);
        return true;
    }
    return false;
}
