#include <errno.h>
#include <malloc.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include "../../core/evaluate.h"
#include "../base/clock.h"
#include "../base/file.h"
#include "../base/log.h"
#include "../events/courier.h"
#include "../events/hub.h"
#include "../http/http.h"
#include "../rest/rest.h"
#include "../work/pool.h"
#include "../work/ticker.h"
#include "app.h"

static const size_t http_stack_bytes = 256 * 1024;
static const size_t worker_stack_bytes = 1024 * 1024;
static const size_t pem_max_bytes = 65536;
static const size_t request_memory_max_bytes = 256UL << 20;
/* Files beside the client connections: the log, sockets to the database, epoll. */
static const rlim_t other_files = 256;
static const int poll_ms = 20;
/* An event is told about this long after its change, half of it on average. */
static const int64_t event_pause_ns = 200 * HFD_NS_PER_MS;
/* A worker is bound by the database's time limits, far below this; a reply in flight needs moments. */
static const int stuck_s = 30, last_replies_s = 2;

struct daemon {
    const struct hfd_config *config;
    struct hfd_http *http;
    struct hfd_pool *pool;
    struct hfd_store_counters database;
    struct hfd_limiter *limiter; /* NULL: no limit */
    struct hfd_auditor *auditor;
    struct hfd_limiter *sign_ins;
    struct hfd_sealer *sealer;
    struct hfd_judge *judge;
    struct hfd_hub *hub;
    struct hfd_ticker *hub_ticker;
    struct hfd_courier *courier;
    sigset_t signals;
};

static void *new_worker(void *argument) {
    struct daemon *daemon = argument;
    return hfd_rest_worker_new(&(struct hfd_rest_config){.conninfo = daemon->config->database,
        .counters = &daemon->database,
        .limiter = daemon->limiter,
        .sign_ins = daemon->sign_ins,
        .secure = daemon->config->tls_key[0] != '\0' || daemon->config->https_in_front,
        .hub = daemon->hub});
}

static bool work(void *worker, void *job) {
    if (worker) return hfd_http_work(worker, job);
    hfd_http_refuse(job); /* no memory for a worker's context: the next job tries again */
    return false;
}

static bool reserve(void *pool, bool goes_on) {
    return hfd_pool_reserve(pool, goes_on);
}

static void push(void *pool, void *job) {
    hfd_pool_push(pool, job);
}

static void audit(void *auditor, void *job) {
    hfd_app_audit_reply(auditor, job);
}

static struct hfd_pool *start_workers(struct daemon *daemon) {
    struct hfd_pool *pool = hfd_pool_new(&(struct hfd_pool_config){
        .workers = (size_t)daemon->config->workers,
        .queue_length = (size_t)daemon->config->queue_length,
        .stack_bytes = worker_stack_bytes,
        .context_new = new_worker,
        .context_free = hfd_rest_worker_free,
        .ctx = daemon,
        .run = work,
        .drop = hfd_http_refuse,
    });
    if (!pool) fprintf(stderr, "holdfastd: cannot start the workers: %s\n", strerror(errno));
    return pool;
}

static uint64_t waiting(const void *ctx) {
    const struct daemon *daemon = ctx;
    return hfd_pool_waiting(daemon->pool);
}

static uint64_t running(const void *ctx) {
    const struct daemon *daemon = ctx;
    return hfd_pool_running(daemon->pool);
}

static uint64_t unaudited(const void *ctx) {
    const struct daemon *daemon = ctx;
    return hfd_app_audit_waiting(daemon->auditor);
}

static uint64_t workers(const void *ctx) {
    const struct daemon *daemon = ctx;
    return (uint64_t)daemon->config->workers;
}

static uint64_t opened(const void *ctx) {
    const struct daemon *daemon = ctx;
    return atomic_load(&daemon->database.opened);
}

static uint64_t lost(const void *ctx) {
    const struct daemon *daemon = ctx;
    return atomic_load(&daemon->database.lost);
}

static uint64_t late(const void *ctx) {
    const struct daemon *daemon = ctx;
    return atomic_load(&daemon->database.late);
}

static uint64_t listening(const void *ctx) {
    const struct daemon *daemon = ctx;
    return hfd_hub_listening(daemon->hub);
}

static uint64_t dropped(const void *ctx) {
    const struct daemon *daemon = ctx;
    return hfd_hub_dropped(daemon->hub);
}

static uint64_t delivered(const void *ctx) {
    const struct daemon *daemon = ctx;
    return hfd_courier_delivered(daemon->courier);
}

static uint64_t undelivered(const void *ctx) {
    const struct daemon *daemon = ctx;
    return hfd_courier_failed(daemon->courier);
}

static const struct hfd_http_gauge gauges[] = {
    {"holdfast_requests_waiting", "gauge", "Requests in the queue.", waiting},
    {"holdfast_workers", "gauge", "Workers, each with a database connection of its own.", workers},
    {"holdfast_workers_busy", "gauge", "Workers that answer a request now.", running},
    {"holdfast_replies_waiting_for_audit", "gauge", "Replies that leave when the audit has them.", unaudited},
    {"holdfast_database_connects_total", "counter", "Database connections made.", opened},
    {"holdfast_database_lost_total", "counter", "Database connections lost or given up.", lost},
    {"holdfast_database_late_total", "counter", "Answers of the database given up at the time limit.", late},
    {"holdfast_event_streams", "gauge", "Streams of events open.", listening},
    {"holdfast_event_streams_dropped_total", "counter", "Streams ended because the client was too slow.",
        dropped},
    {"holdfast_webhooks_delivered_total", "counter", "Requests to webhooks that were taken.", delivered},
    {"holdfast_webhooks_failed_total", "counter", "Requests to webhooks that were not.", undelivered},
};

static struct hfd_http *open_door_with(
    const struct daemon *daemon, const char *certificate, const char *key) {
    const struct hfd_config *config = daemon->config;
    return hfd_http_new(&(struct hfd_http_config){
        .address = config->listen_address,
        .port = (unsigned)config->port,
        .public_allowed = config->allow_plain_http_on_public_address,
        .certificate = certificate,
        .key = key,
        .threads = (size_t)config->http_threads,
        .stack_bytes = http_stack_bytes,
        .max_connections = (size_t)config->max_connections,
        .max_connections_per_address = (size_t)config->max_connections_per_address,
        .max_body_bytes = (size_t)config->max_body_bytes,
        .max_memory_bytes = request_memory_max_bytes,
        .request_deadline_s = (int)config->request_deadline_s,
        .keep_alive_s = (int)config->keep_alive_s,
        .cors_origins = config->cors_origins,
        .handler = hfd_rest_handle,
        .reserve = reserve,
        .push = push,
        .queue = daemon->pool,
        .audit = audit,
        .auditor = daemon->auditor,
        .gauges = gauges,
        .gauge_ctx = daemon,
        .gauge_count = sizeof gauges / sizeof gauges[0],
    });
}

static char *read_pem(const char *setting, const char *path, hf_arena *arena, size_t *length) {
    char *text = hfd_file_read(path, pem_max_bytes, arena, length);
    if (!text) fprintf(stderr, "holdfastd: %s cannot be read from %s: %s\n", setting, path, strerror(errno));
    return text;
}

static struct hfd_http *open_door(const struct daemon *daemon) {
    const struct hfd_config *config = daemon->config;
    const bool certified = config->tls_certificate[0] != '\0', keyed = config->tls_key[0] != '\0';
    if (!certified && !keyed) return open_door_with(daemon, NULL, NULL);
    if (!certified || !keyed) {
        fputs("holdfastd: tls_certificate and tls_key need each other\n", stderr);
        return NULL;
    }
    hf_arena arena;
    hf_arena_init(&arena, 16384, 0);
    size_t length, key_length = 0;
    char *certificate = read_pem("tls_certificate", config->tls_certificate, &arena, &length);
    char *key = certificate ? read_pem("tls_key", config->tls_key, &arena, &key_length) : NULL;
    struct hfd_http *http = key ? open_door_with(daemon, certificate, key) : NULL;
    if (key) explicit_bzero(key, key_length);
    hf_arena_fini(&arena);
    return http;
}

static void allow_files(rlim_t needed) {
    struct rlimit limit;
    if (getrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur >= needed) return;
    limit.rlim_cur = needed < limit.rlim_max ? needed : limit.rlim_max;
    if (setrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur < needed) {
        hfd_log(HFD_LOG_WARNING, "too few open files allowed for max_connections",
            HFD_LOG_NUMBER("allowed", limit.rlim_cur), HFD_LOG_NUMBER("needed", needed));
    }
}

/* All threads to come inherit the mask: signals are read in one place, by sigwait. */
static void take_signals(struct daemon *daemon) {
    sigemptyset(&daemon->signals);
    sigaddset(&daemon->signals, SIGTERM);
    sigaddset(&daemon->signals, SIGINT);
    sigprocmask(SIG_BLOCK, &daemon->signals, NULL);
    signal(SIGPIPE, SIG_IGN);
    signal(SIGHUP, SIG_IGN);
}

static size_t requests(const struct daemon *daemon) {
    return hfd_http_active(daemon->http);
}

static size_t jobs(const struct daemon *daemon) {
    size_t busy = hfd_pool_busy(daemon->pool); /* first: jobs go from there to the audit */
    return busy + hfd_app_audit_waiting(daemon->auditor);
}

/* Until nothing is left, the time is over or another signal says to hurry. */
static void wait_for_end(
    const struct daemon *daemon, size_t (*left)(const struct daemon *), int64_t seconds) {
    const struct timespec pause = {.tv_nsec = poll_ms * HFD_NS_PER_MS};
    int64_t end_ns = hfd_clock_monotonic_ns() + seconds * HFD_NS_PER_S;
    while (left(daemon) > 0 && hfd_clock_monotonic_ns() < end_ns) {
        if (sigtimedwait(&daemon->signals, NULL, &pause) > 0) return;
    }
}

static void end_hub(struct daemon *daemon) {
    hfd_courier_free(daemon->courier);
    if (daemon->hub_ticker) hfd_ticker_free(daemon->hub_ticker);
    hfd_hub_free(daemon->hub);
}

static bool start_hub(struct daemon *daemon) {
    const struct hfd_config *config = daemon->config;
    daemon->hub = hfd_hub_new(
        &(struct hfd_hub_config){.database = config->database, .keep_days = (int)config->event_days});
    if (daemon->hub) daemon->hub_ticker = hfd_ticker_new(event_pause_ns, hfd_hub_work, daemon->hub);
    daemon->courier = hfd_courier_new(config->database, config->webhook_networks);
    return daemon->hub_ticker && daemon->courier;
}

/* All that was started, whether the rest was or not. */
static void release(struct daemon *daemon) {
    if (daemon->http) hfd_http_free(daemon->http);
    if (daemon->pool) hfd_pool_free(daemon->pool);
    hfd_app_audit_end(daemon->auditor);
    hfd_app_judge_end(daemon->judge);
    end_hub(daemon);
    hfd_app_seal_end(daemon->sealer);
    hfd_limiter_free(daemon->limiter);
    hfd_limiter_free(daemon->sign_ins);
}

/* Nothing that was accepted is dropped while there is time. The library may only be stopped when no request
 * is with a worker or waits for the audit, and the workers only when no HTTP thread can still hand them one.
 */
static void stop(struct daemon *daemon) {
    hfd_app_notify("STOPPING=1");
    hfd_log(HFD_LOG_INFO, "stopping", HFD_LOG_NUMBER("requests", requests(daemon)));
    hfd_http_drain(daemon->http);
    hfd_hub_end_streams(daemon->hub);
    wait_for_end(daemon, requests, daemon->config->drain_s);
    hfd_http_refuse_new(daemon->http);
    hfd_pool_close(daemon->pool);
    hfd_pool_drop_waiting(daemon->pool);
    wait_for_end(daemon, jobs, stuck_s);
    if (jobs(daemon) > 0) {
        hfd_log(
            HFD_LOG_ERROR, "a worker or the audit does not come back", HFD_LOG_NUMBER("jobs", jobs(daemon)));
        _exit(1);
    }
    wait_for_end(daemon, requests, last_replies_s);
    release(daemon);
    hfd_log_fields(HFD_LOG_INFO, "stopped", NULL, 0);
}

/* What requests need. False: something of it cannot be had, which was told. */
static bool start(struct daemon *daemon) {
    const struct hfd_config *config = daemon->config;
    if (config->rate_limit_per_minute > 0 &&
        !(daemon->limiter = hfd_limiter_new(config->rate_limit_per_minute)))
        return false;
    daemon->sign_ins = hfd_limiter_new(config->sign_in_failures_per_minute);
    daemon->auditor = hfd_app_audit(config->database, (size_t)config->max_connections, &daemon->database);
    if (!daemon->sign_ins || !daemon->auditor || !start_hub(daemon)) return false;
    daemon->pool = start_workers(daemon);
    daemon->http = daemon->pool ? open_door(daemon) : NULL;
    return daemon->http != NULL;
}

int hfd_app_serve(const struct hfd_config *config) {
    struct daemon daemon = {.config = config};
    /* Large blocks go back to the system when a request ends instead of staying with the thread that had
     * them; what an ordinary request needs stays, for the next one would fault it in again page by page. */
    mallopt(M_MMAP_THRESHOLD, 256 * 1024);
    mallopt(M_TRIM_THRESHOLD, 1024 * 1024);
    hfd_log_set_least((enum hfd_log_level)config->log_level);
    take_signals(&daemon);
    allow_files((rlim_t)config->max_connections + other_files);
    if (!start(&daemon)) {
        release(&daemon);
        return 1;
    }
    daemon.sealer = hfd_app_seal(config->database);
    if (!daemon.sealer) hfd_log_fields(HFD_LOG_ERROR, "the audit will not be sealed", NULL, 0);
    daemon.judge = hfd_app_judge(config->database);
    if (!daemon.judge) hfd_log_fields(HFD_LOG_ERROR, "the worklist will not be judged", NULL, 0);
    hfd_log(HFD_LOG_INFO, "serving", HFD_LOG_TEXT("address", config->listen_address),
        HFD_LOG_NUMBER("port", hfd_http_port(daemon.http)),
        HFD_LOG_TEXT("scheme", config->tls_key[0] ? "https" : "http"),
        HFD_LOG_NUMBER("workers", config->workers), HFD_LOG_TEXT("version", HF_CORE_VERSION));
    hfd_app_notify("READY=1");
    int signal_number;
    sigwait(&daemon.signals, &signal_number);
    stop(&daemon);
    return 0;
}
