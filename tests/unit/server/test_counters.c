/* The exposition format: https://prometheus.io/docs/instrumenting/exposition_formats/ (from memory): buckets
 * are cumulative and hold their upper bound. */
#include <criterion/criterion.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>

#include "../../../server/base/clock.h"
#include "../../../server/http/inside.h"

static struct hfd_counters counters;
static hf_arena arena;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
    hfd_counters_init(&counters);
}
static void tear_down(void) {
    hfd_counters_fini(&counters);
    hf_arena_fini(&arena);
}

TestSuite(counters, .init = set_up, .fini = tear_down);

static const char *told(void) {
    struct hfd_buf text;
    hfd_buf_init(&text, &arena, 4096);
    hfd_counters_write(&counters, &text);
    return text.text;
}

#define expect_line(line) cr_expect_not_null(strstr(told(), "\n" line "\n"), "%s in\n%s", line, told())

Test(counters, requests_by_route_and_class) {
    static const int statuses[] = {200, 204, 304, 404, 422, 503, 101, 0, 42, 600};
    for (size_t i = 0; i < sizeof statuses / sizeof *statuses; i++)
        hfd_counters_add(&counters, "/v1/patients/{id}", statuses[i], 0);
    hfd_counters_add(&counters, "/livez", 200, 0);
    hfd_counters_add(&counters, NULL, 404, 0);
    expect_line("holdfast_requests_total{route=\"/v1/patients/{id}\",status=\"1xx\"} 1");
    expect_line("holdfast_requests_total{route=\"/v1/patients/{id}\",status=\"2xx\"} 2");
    expect_line("holdfast_requests_total{route=\"/v1/patients/{id}\",status=\"3xx\"} 1");
    expect_line("holdfast_requests_total{route=\"/v1/patients/{id}\",status=\"4xx\"} 2");
    expect_line("holdfast_requests_total{route=\"/v1/patients/{id}\",status=\"5xx\"} 1");
    expect_line("holdfast_requests_total{route=\"/v1/patients/{id}\",status=\"none\"} 3");
    expect_line("holdfast_requests_total{route=\"/livez\",status=\"2xx\"} 1");
    expect_line("holdfast_requests_total{route=\"none\",status=\"4xx\"} 1");
    cr_expect_null(strstr(told(), "route=\"/livez\",status=\"4xx\""), "what never was is not told");
}

Test(counters, durations_in_buckets) {
    static const int64_t durations_ns[] = {0, 2 * HFD_NS_PER_MS, 2 * HFD_NS_PER_MS + 1, 10 * HFD_NS_PER_MS,
        50 * HFD_NS_PER_MS, 51 * HFD_NS_PER_MS, 250 * HFD_NS_PER_MS, HFD_NS_PER_S, HFD_NS_PER_S + 1};
    for (size_t i = 0; i < sizeof durations_ns / sizeof *durations_ns; i++)
        hfd_counters_add(&counters, "/livez", 200, durations_ns[i]);
    expect_line("holdfast_request_seconds_bucket{le=\"0.002\"} 2");
    expect_line("holdfast_request_seconds_bucket{le=\"0.01\"} 4");
    expect_line("holdfast_request_seconds_bucket{le=\"0.05\"} 5");
    expect_line("holdfast_request_seconds_bucket{le=\"0.25\"} 7");
    expect_line("holdfast_request_seconds_bucket{le=\"1\"} 8");
    expect_line("holdfast_request_seconds_bucket{le=\"+Inf\"} 9");
    /* 0.002 + 0.002 + 0.010 + 0.050 + 0.051 + 0.250 + 1 + 1 s; the nanoseconds are below a microsecond */
    expect_line("holdfast_request_seconds_sum 2.365000");
    expect_line("holdfast_request_seconds_count 9");
}

/* Nothing that a client sends makes the table grow without end or a line longer than its place. */
Test(counters, what_does_not_fit_is_counted_as_no_route) {
    char route[200], line[300];
    for (int i = 0; i < HFD_ROUTES_COUNTED_MAX + 20; i++) {
        snprintf(route, sizeof route, "/route-%d", i);
        hfd_counters_add(&counters, route, 200, 0);
    }
    memset(route, 'x', sizeof route);
    route[sizeof counters.routes[0].pattern] = '\0';
    hfd_counters_add(&counters, route, 200, 0);
    snprintf(line, sizeof line, "\nholdfast_requests_total{route=\"/route-%d\",status=\"2xx\"} 1\n",
        HFD_ROUTES_COUNTED_MAX - 2);
    cr_expect_not_null(strstr(told(), line));
    /* Row 0 is of no route: 127 others have a place, 21 have none, and so has the one that is too long. */
    expect_line("holdfast_requests_total{route=\"none\",status=\"2xx\"} 22");
}

enum { threads = 8, rounds = 20000, routes = 40 };

static void *count(void *unused) {
    char route[32];
    for (int i = 0; i < rounds; i++) {
        snprintf(route, sizeof route, "/route-%d", i % routes);
        hfd_counters_add(&counters, route, 200, HFD_NS_PER_MS);
    }
    return unused;
}

Test(counters, threads_lose_nothing) {
    pthread_t running[threads];
    for (int i = 0; i < threads; i++)
        pthread_create(&running[i], NULL, count, NULL);
    for (int i = 0; i < threads; i++)
        pthread_join(running[i], NULL);
    cr_expect_eq(counters.route_count, routes + 1, "each route has one row");
    for (size_t i = 1; i <= routes; i++)
        cr_expect_eq(counters.routes[i].by_class[2], threads * rounds / routes);
    expect_line("holdfast_request_seconds_count 160000");
    expect_line("holdfast_request_seconds_sum 160.000000");
}
