#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "../base/clock.h"
#include "inside.h"

static const int64_t bucket_upper_ns[HFD_DURATION_BUCKETS - 1] = {
    2 * HFD_NS_PER_MS, 10 * HFD_NS_PER_MS, 50 * HFD_NS_PER_MS, 250 * HFD_NS_PER_MS, 1000 * HFD_NS_PER_MS};
static const char *const bucket_names[HFD_DURATION_BUCKETS] = {"0.002", "0.01", "0.05", "0.25", "1", "+Inf"};
static const char *const class_names[] = {"none", "1xx", "2xx", "3xx", "4xx", "5xx"};
enum { CLASS_COUNT = sizeof class_names / sizeof class_names[0] };

void hfd_counters_init(struct hfd_counters *counters) {
    pthread_mutex_init(&counters->growing, NULL);
    snprintf(counters->routes[0].pattern, sizeof counters->routes[0].pattern, "none");
    atomic_store(&counters->route_count, 1);
}

void hfd_counters_fini(struct hfd_counters *counters) {
    pthread_mutex_destroy(&counters->growing);
}

static size_t find(struct hfd_counters *counters, const char *route) {
    size_t count = atomic_load_explicit(&counters->route_count, memory_order_acquire);
    size_t i = 1;
    while (i < count && strcmp(counters->routes[i].pattern, route) != 0) {
        i++;
    }
    return i < count ? i : 0;
}

static size_t take_in(struct hfd_counters *counters, const char *route) {
    pthread_mutex_lock(&counters->growing);
    size_t at = find(counters, route), count = atomic_load(&counters->route_count);
    struct hfd_route_counter *fresh = &counters->routes[count];
    if (at == 0 && count < HFD_ROUTES_COUNTED_MAX && strlen(route) < sizeof fresh->pattern) {
        memcpy(fresh->pattern, route, strlen(route) + 1);
        atomic_store_explicit(&counters->route_count, count + 1, memory_order_release);
        at = count;
    }
    pthread_mutex_unlock(&counters->growing);
    return at;
}

void hfd_counters_add(struct hfd_counters *counters, const char *route, int status, int64_t duration_ns) {
    size_t class = status >= 100 && status < 600 ? (size_t)status / 100 : 0;
    size_t bucket = 0, at = route ? find(counters, route) : 0;
    if (route && at == 0) at = take_in(counters, route);
    while (bucket < HFD_DURATION_BUCKETS - 1 && duration_ns > bucket_upper_ns[bucket]) {
        bucket++;
    }
    atomic_fetch_add_explicit(&counters->routes[at].by_class[class], 1, memory_order_relaxed);
    atomic_fetch_add_explicit(&counters->duration[bucket], 1, memory_order_relaxed);
    atomic_fetch_add_explicit(&counters->duration_us, (uint64_t)(duration_ns / 1000), memory_order_relaxed);
}

static void requests(struct hfd_buf *out, struct hfd_counters *counters) {
    size_t count = atomic_load_explicit(&counters->route_count, memory_order_acquire);
    hfd_buf_text(out, "# HELP holdfast_requests_total Requests ended, by route and class of status.\n"
                      "# TYPE holdfast_requests_total counter\n");
    for (size_t i = 0; i < count; i++) {
        for (size_t class = 0; class < CLASS_COUNT; class ++) {
            uint64_t seen = atomic_load_explicit(&counters->routes[i].by_class[class], memory_order_relaxed);
            if (seen == 0 && i > 0) continue;
            hfd_buf_printf(out, "holdfast_requests_total{route=\"%s\",status=\"%s\"} %" PRIu64 "\n",
                counters->routes[i].pattern, class_names[class], seen);
        }
    }
}

static void durations(struct hfd_buf *out, struct hfd_counters *counters) {
    uint64_t sum = 0;
    hfd_buf_text(out, "# HELP holdfast_request_seconds From request line to end of reply.\n"
                      "# TYPE holdfast_request_seconds histogram\n");
    for (size_t i = 0; i < HFD_DURATION_BUCKETS; i++) {
        sum += atomic_load(&counters->duration[i]);
        hfd_buf_printf(out, "holdfast_request_seconds_bucket{le=\"%s\"} %" PRIu64 "\n", bucket_names[i], sum);
    }
    hfd_buf_printf(out, "holdfast_request_seconds_sum %.6f\nholdfast_request_seconds_count %" PRIu64 "\n",
        (double)atomic_load(&counters->duration_us) / 1e6, sum);
}

void hfd_counters_write(struct hfd_counters *counters, struct hfd_buf *out) {
    requests(out, counters);
    durations(out, counters);
}
