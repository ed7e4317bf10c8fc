#include "http.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "inside.h"

/* Request line and headers of one connection, and its reply headers: above our own limits, so that ours
 * answer first. Taken from malloc when a connection opens; what stays untouched costs no memory. */
static const size_t connection_memory_bytes = 24576;

static void on_connection(
    void *argument, struct MHD_Connection *mhd, void **context, enum MHD_ConnectionNotificationCode what) {
    struct hfd_http *http = argument;
    if (what == MHD_CONNECTION_NOTIFY_CLOSED) {
        hfd_deadlines_remove(&http->deadlines, *context);
        *context = NULL;
        return;
    }
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(mhd, MHD_CONNECTION_INFO_CONNECTION_FD);
    *context = info ? hfd_deadlines_add(&http->deadlines, info->connect_fd) : NULL;
    /* The first request line must come as fast as any request. */
    hfd_connection_deadline(*context, http->config.request_deadline_s);
}

/* Paths are decoded by us, segment by segment. */
static size_t unescape_nothing(void *argument, struct MHD_Connection *mhd, char *text) {
    (void)argument, (void)mhd;
    return strlen(text);
}

/* Until it has started, what the library says is why it does not. */
static void on_library_message(void *argument, const char *format, va_list values) {
    const struct hfd_http *http = argument;
    char text[512];
    vsnprintf(text, sizeof text, format, values);
    text[strcspn(text, "\n")] = '\0';
    hfd_log(atomic_load(&http->started) ? HFD_LOG_DEBUG : HFD_LOG_ERROR, "http library",
        HFD_LOG_TEXT("message", text));
}

/* The library's own default would let TLS 1.0 and 1.1 in (RFC 8996 forbids both). */
static char tls_versions[] = "NORMAL:-VERS-ALL:+VERS-TLS1.2:+VERS-TLS1.3";

static struct MHD_Daemon *start_library(struct hfd_http *http) {
    const struct hfd_http_config *config = &http->config;
    const unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ERROR_LOG;
    /* The library asks for pointers to non-const and only reads them. */
    union {
        const char *given;
        void *asked;
    } certificate = {.given = config->certificate}, key = {.given = config->key};
    struct MHD_OptionItem tls[] = {{MHD_OPTION_HTTPS_MEM_CERT, 0, certificate.asked},
        {MHD_OPTION_HTTPS_MEM_KEY, 0, key.asked}, {MHD_OPTION_HTTPS_PRIORITIES, 0, tls_versions},
        {MHD_OPTION_END, 0, NULL}};
    const bool plain = !config->certificate;
    /* The library takes "no pool" for one thread. */
    unsigned pool = config->threads > 1 ? (unsigned)config->threads : 0;
    return MHD_start_daemon(plain ? flags : flags | MHD_USE_TLS, 0, NULL, NULL, hfd_access, http,
        MHD_OPTION_EXTERNAL_LOGGER, on_library_message, http, MHD_OPTION_LISTEN_SOCKET, http->listen_fd,
        MHD_OPTION_THREAD_POOL_SIZE, pool, MHD_OPTION_THREAD_STACK_SIZE, config->stack_bytes,
        MHD_OPTION_CONNECTION_LIMIT, (unsigned)config->max_connections, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
        (unsigned)config->max_connections_per_address, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
        connection_memory_bytes, MHD_OPTION_CONNECTION_TIMEOUT, 0U, MHD_OPTION_STRICT_FOR_CLIENT, 0,
        MHD_OPTION_UNESCAPE_CALLBACK, unescape_nothing, NULL, MHD_OPTION_URI_LOG_CALLBACK, hfd_access_begin,
        http, MHD_OPTION_NOTIFY_COMPLETED, hfd_access_end, http, MHD_OPTION_NOTIFY_CONNECTION, on_connection,
        http, MHD_OPTION_ARRAY, plain ? tls + 3 : tls, MHD_OPTION_END);
}

struct hfd_http *hfd_http_new(const struct hfd_http_config *config) {
    struct hfd_http *http = calloc(1, sizeof *http);
    if (!http) return NULL;
    http->config = *config;
    hfd_counters_init(&http->counters);
    http->listen_fd = hfd_socket_listen(config, &http->port);
    if (http->listen_fd < 0) {
        hfd_counters_fini(&http->counters);
        free(http);
        return NULL;
    }
    if (hfd_deadlines_start(&http->deadlines, config->stack_bytes)) http->daemon = start_library(http);
    atomic_store(&http->started, true);
    http->config.certificate = http->config.key = NULL;
    if (!http->daemon) {
        fprintf(stderr, "holdfastd: %s\n",
            config->certificate
                ? "HTTPS cannot be started: is tls_key the key of tls_certificate, both in PEM?"
                : "the HTTP threads cannot be started");
        hfd_http_free(http);
        return NULL;
    }
    return http;
}

unsigned hfd_http_port(const struct hfd_http *http) {
    return http->port;
}

void hfd_http_drain(struct hfd_http *http) {
    atomic_store(&http->draining, true);
    MHD_quiesce_daemon(http->daemon);
    /* Later callers are refused by the kernel and can turn to another server. Closed only when the library's
     * threads are gone: one of them may be about to accept, and the number could already be another file's.
     */
    shutdown(http->listen_fd, SHUT_RD);
}

void hfd_http_refuse_new(struct hfd_http *http) {
    atomic_store(&http->refusing, true);
}

size_t hfd_http_active(const struct hfd_http *http) {
    return atomic_load(&http->active);
}

void hfd_http_free(struct hfd_http *http) {
    if (http->daemon) {
        if (!atomic_load(&http->draining)) hfd_http_drain(http);
        MHD_stop_daemon(http->daemon);
    }
    hfd_deadlines_stop(&http->deadlines);
    close(http->listen_fd);
    hfd_counters_fini(&http->counters);
    free(http);
}
