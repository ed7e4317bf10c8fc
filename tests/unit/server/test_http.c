#include <arpa/inet.h>
#include <criterion/criterion.h>
#include <errno.h>
#include <semaphore.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "../../../server/base/clock.h"
#include "../../../server/base/log.h"
#include "../../../server/base/uuid.h"
#include "../../../server/http/http.h"
#include "../../../server/work/pool.h"

/* A whole door on a free port of the loopback, with a handler of the test behind it. */
struct door {
    struct hfd_pool *pool;
    struct hfd_http *http;
    unsigned port;
};

static sem_t gate; /* handlers of /wait stand here */

static bool reserve(void *pool, bool goes_on) {
    return hfd_pool_reserve(pool, goes_on);
}
static void push(void *pool, void *job) {
    hfd_pool_push(pool, job);
}
/* Says what it was asked. */
static void handle(void *worker, struct hfd_request *request, struct hfd_reply *reply) {
    (void)worker;
    const char *first = request->segment_count > 0 ? request->segments[0] : "";
    if (strcmp(first, "silent") == 0) return;
    if (strcmp(first, "wait") == 0) sem_wait(&gate);
    for (size_t i = 0; strcmp(first, "hog") == 0; i++) {
        hf_arena_alloc(request->arena, 1 << 16);
    }
    reply->status = strcmp(first, "unchanged") == 0 ? 304 : 200;
    reply->content_type = "text/plain";
    reply->body = hf_arena_printf(request->arena, "<%s %zu:%s>",
        request->segments[request->segment_count - 1], request->body_len, request->body ? request->body : "");
    reply->body_len = strlen(reply->body);
    if (strcmp(first, "cached") == 0) hfd_reply_header(reply, "Cache-Control", "max-age=60");
}

static struct door open_door(size_t workers, size_t queue_length) {
    struct door door;
    signal(SIGPIPE, SIG_IGN);
    hfd_log_set_least(HFD_LOG_ERROR);
    cr_assert(hfd_uuid_init());
    sem_init(&gate, 0, 0);
    door.pool = hfd_pool_new(&(struct hfd_pool_config){.workers = workers,
        .queue_length = queue_length,
        .stack_bytes = 512 * 1024,
        .run = hfd_http_work,
        .drop = hfd_http_refuse});
    door.http = hfd_http_new(&(struct hfd_http_config){.address = "127.0.0.1",
        .threads = 2,
        .stack_bytes = 512 * 1024,
        .max_connections = 1000,
        .max_body_bytes = 50000,
        .max_memory_bytes = 8 << 20,
        .request_deadline_s = 1,
        .keep_alive_s = 2,
        .handler = handle,
        .reserve = reserve,
        .push = push,
        .queue = door.pool});
    cr_assert(door.pool && door.http);
    door.port = hfd_http_port(door.http);
    return door;
}

static void close_door(struct door *door) {
    hfd_http_drain(door->http);
    for (int i = 0; i < 500 && hfd_http_active(door->http) > 0; i++) {
        nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
    }
    cr_assert_eq(hfd_http_active(door->http), 0);
    hfd_pool_close(door->pool);
    hfd_http_free(door->http);
    hfd_pool_free(door->pool);
}

static int dial(const struct door *door) {
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons((uint16_t)door->port)};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &(struct timeval){.tv_sec = 10}, sizeof(struct timeval));
    if (connect(fd, (const struct sockaddr *)&address, sizeof address) == 0) return fd;
    close(fd);
    return -1;
}

static void say(int fd, const char *text) {
    for (size_t left = strlen(text); left > 0;) {
        ssize_t sent = send(fd, text, left, MSG_NOSIGNAL);
        cr_assert(sent > 0, "send: %s", strerror(errno));
        text += sent;
        left -= (size_t)sent;
    }
}

/* Reads until `count` replies are complete (by Content-Length) or the connection ends; returns how many there
 * are. */
static int hear(int fd, char *text, size_t size, int count) {
    size_t length = 0;
    char *at = text;
    int complete = 0;
    for (;;) {
        text[length] = '\0';
        for (char *end; complete < count && (end = strstr(at, "\r\n\r\n"));) {
            char *field = strstr(at, "Content-Length: ");
            size_t body = field && field < end ? strtoul(field + 16, NULL, 10) : 0;
            if (strncmp(at, "HTTP/1.1 304", 12) == 0 || strncmp(at, "HTTP/1.1 100", 12) == 0) body = 0;
            if ((size_t)(text + length - (end + 4)) < body) break;
            at = end + 4 + body;
            complete++;
        }
        if (complete == count || length + 1 == size) return complete;
        ssize_t got = recv(fd, text + length, size - 1 - length, 0);
        if (got <= 0) return complete;
        length += (size_t)got;
    }
}

static bool ended(int fd) {
    char byte;
    return recv(fd, &byte, 1, 0) <= 0;
}

static void exchange(const struct door *door, const char *request, char *reply, size_t size) {
    int fd = dial(door);
    say(fd, request);
    hear(fd, reply, size, 1);
    close(fd);
}

#define HOST "Host: x\r\n"
#define GET(path) "GET " path " HTTP/1.1\r\n" HOST "\r\n"

Test(http, keep_alive_and_pipelining_keep_the_order, .timeout = 60) {
    struct door door = open_door(4, 64);
    char text[65536];
    int fd = dial(&door);
    for (int i = 0; i < 20; i++) {
        say(fd, GET("/one/by-one"));
        cr_assert_eq(hear(fd, text, sizeof text, 1), 1);
        cr_assert(strstr(text, "<by-one 0:>"), "%s", text);
    }
    char request[4096] = "", expected[32];
    for (int i = 0; i < 40; i++) {
        snprintf(request + strlen(request), 80, "GET /p/n%d HTTP/1.1\r\n" HOST "\r\n", i);
    }
    say(fd, request);
    cr_assert_eq(hear(fd, text, sizeof text, 40), 40);
    const char *at = text;
    for (int i = 0; i < 40; i++) {
        snprintf(expected, sizeof expected, "<n%d 0:>", i);
        at = strstr(at, expected);
        cr_assert(at, "%s in its place", expected);
    }
    close(fd);
    close_door(&door);
}

/* What a reply must carry: RFC 9110 §8.6 (length), RFC 9111 §5.2.2.5 (no-store, unless the handler says
 * otherwise). */
Test(http, headers_of_replies, .timeout = 60) {
    struct door door = open_door(1, 8);
    char text[4096];
    exchange(&door, "GET /x HTTP/1.1\r\n" HOST "X-Request-Id: Abc-1.2_z\r\n\r\n", text, sizeof text);
    cr_assert(strstr(text, "\r\nX-Request-Id: Abc-1.2_z\r\n") && strstr(text, "\r\nContent-Length: 6\r\n"),
        "%s", text);
    cr_assert(strstr(text, "\r\nCache-Control: no-store\r\n") &&
              strstr(text, "\r\nX-Content-Type-Options: nosniff\r\n"));
    exchange(&door, "GET /x HTTP/1.1\r\n" HOST "X-Request-Id: a<b>\r\n\r\n", text, sizeof text);
    const char *id = strstr(text, "\r\nX-Request-Id: ");
    cr_assert(id && !strstr(text, "a<b>"));
    char uuid[HFD_UUID_TEXT_SIZE] = "";
    memcpy(uuid, id + 16, sizeof uuid - 1);
    cr_assert(hfd_uuid_valid(uuid), "%s", uuid);
    exchange(&door, GET("/cached/x"), text, sizeof text);
    cr_assert(strstr(text, "\r\nCache-Control: max-age=60\r\n") && !strstr(text, "no-store"), "%s", text);
    int fd = dial(&door);
    say(fd, "HEAD /x HTTP/1.1\r\n" HOST "Connection: close\r\n\r\n");
    hear(fd, text, sizeof text, 2);
    cr_assert(
        strstr(text, " 200 ") && strstr(text, "\r\nContent-Length: 6\r\n") && !strchr(text, '<'), "%s", text);
    close(fd);
    exchange(&door, GET("/unchanged"), text, sizeof text);
    cr_assert(strstr(text, "HTTP/1.1 304 ") == text && !strchr(text, '<'), "%s", text);
    close_door(&door);
}

#define FIELDS_8 "a: 1\r\na: 1\r\na: 1\r\na: 1\r\na: 1\r\na: 1\r\na: 1\r\na: 1\r\n"
#define FIELDS_64 FIELDS_8 FIELDS_8 FIELDS_8 FIELDS_8 FIELDS_8 FIELDS_8 FIELDS_8 FIELDS_8

/* Status by RFC 9110 §15.5 and RFC 6585 §5; framing that must end the connection by RFC 9112 §6.1 and §6.3.
 */
Test(http, refusals, .timeout = 60) {
    static const struct {
        const char *request;
        int status;
        bool ends;
    } cases[] = {
        {GET("/v1/a%2Fb"), 400, false},
        {GET("/v1/a%00b"), 400, false},
        {GET("/v1/../b"), 400, false},
        {GET("/1/2/3/4/5/6/7/8/9"), 404, false},
        {"GET / HTTP/1.1\r\n\r\n", 400, true},
        {"POST /x HTTP/1.1\r\n" HOST "Content-Length: 3\r\nContent-Length: 3\r\n\r\nabc", 400, true},
        {"POST /x HTTP/1.1\r\n" HOST "Content-Length: 3\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", 400,
            true},
        {"POST /x HTTP/1.1\r\n" HOST "Transfer-Encoding: gzip, chunked\r\n\r\n0\r\n\r\n", 400, true},
        {"POST /x HTTP/1.1\r\n" HOST "Content-Length: -1\r\n\r\n", 400, true},
        {"POST /x HTTP/1.1\r\n" HOST "Content-Length: 50001\r\nExpect: 100-continue\r\n\r\n", 413, true},
        {"POST /x HTTP/1.1\r\n" HOST "Content-Length: 99999999999\r\n\r\n", 413, true},
        {"GET /x HTTP/1.1\r\n" HOST "Authorization: Bearer a\r\nAuthorization: Bearer b\r\n\r\n", 400, true},
        {"GET /x HTTP/1.1\r\n" HOST "If-Match: \"1\"\r\nIf-Match: \"2\"\r\n\r\n", 400, true},
        {"GET /x HTTP/1.1\r\n" HOST "Field : x\r\n\r\n", 400, true},
        {"GET /x HTTP/1.1\r\n" HOST "Field: a\x01z\r\n\r\n", 400, true},
        {"GET /x HTTP/1.1\r\n" HOST FIELDS_64 "\r\n", 431, true},
        {GET("/silent"), 500, false},
        {GET("/hog"), 413, false},
        {GET("/after"), 200, false},
    };
    struct door door = open_door(2, 8);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[8192], expected[32];
        int fd = dial(&door);
        say(fd, cases[i].request);
        cr_expect_eq(hear(fd, text, sizeof text, 1), 1, "case %zu", i);
        snprintf(expected, sizeof expected, "HTTP/1.1 %d ", cases[i].status);
        cr_expect(strncmp(text, expected, strlen(expected)) == 0, "case %zu: %s", i, text);
        bool problem = strstr(text, "\r\nContent-Type: application/problem+json\r\n") != NULL;
        /* The library answers a length that is no number by itself, before it asks us. */
        bool of_library = i == 8;
        cr_expect(problem == (cases[i].status != 200 && !of_library), "case %zu: %s", i, text);
        if (cases[i].ends) {
            cr_expect(ended(fd), "case %zu must end the connection", i);
        } else {
            say(fd, GET("/next"));
            cr_expect_eq(hear(fd, text, sizeof text, 1), 1, "case %zu must go on", i);
            cr_expect(strstr(text, "<next 0:>"), "case %zu: %s", i, text);
        }
        close(fd);
    }
    close_door(&door);
}

static void post(const struct door *door, size_t size, bool chunked, int status) {
    char *request = calloc(1, size + 256), text[65536], expected[64];
    size_t length = (size_t)snprintf(request, 256,
        chunked ? "POST /x HTTP/1.1\r\n" HOST "Transfer-Encoding: chunked\r\n\r\n%zx\r\n"
                : "POST /x HTTP/1.1\r\n" HOST "Content-Length: %zu\r\n\r\n",
        size);
    memset(request + length, 'b', size);
    if (chunked) snprintf(request + length + size, 16, "\r\n0\r\n\r\n");
    int fd = dial(door);
    say(fd, request);
    cr_assert_eq(hear(fd, text, sizeof text, 1), 1);
    snprintf(expected, sizeof expected, "HTTP/1.1 %d ", status);
    cr_assert(strncmp(text, expected, strlen(expected)) == 0, "%zu bytes: %s", size, text);
    if (status == 200 && size < 1000) {
        snprintf(expected, sizeof expected, "<x %zu:bbb", size);
        cr_assert(strstr(text, expected), "%s", text);
    }
    close(fd);
    free(request);
}

/* The limit of the door above is 50000 bytes, told or not told beforehand. */
Test(http, bodies_up_to_the_limit, .timeout = 60) {
    static const size_t taken[] = {3, 16384, 16385, 32769, 50000}, refused[] = {50001, 400000};
    struct door door = open_door(2, 8);
    for (size_t i = 0; i < sizeof taken / sizeof taken[0]; i++) {
        post(&door, taken[i], false, 200);
        post(&door, taken[i], true, 200);
    }
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        post(&door, refused[i], false, 413);
        post(&door, refused[i], true, 413);
    }
    close_door(&door);
}

/* Each sends a byte every 0.2 s, so no pause is long; the request's deadline here is 1 s. */
Test(http, a_dripping_client_is_cut_at_the_deadline, .timeout = 60) {
    static const char *const begins[] = {"GE",
        "GET /x HTTP/1.1\r\nHost: ", "POST /x HTTP/1.1\r\n" HOST "Content-Length: 40000\r\n\r\n",
        GET("/before") "POST /x HTTP/1.1\r\nHost: "};
    enum { COUNT = sizeof begins / sizeof begins[0] };
    struct door door = open_door(1, 8);
    int64_t begin_ns = hfd_clock_monotonic_ns();
    int fd[COUNT], open = COUNT;
    for (int i = 0; i < COUNT; i++) {
        fd[i] = dial(&door);
        say(fd[i], begins[i]);
    }
    while (open > 0) {
        nanosleep(&(struct timespec){.tv_nsec = 200000000}, NULL);
        for (int i = 0; i < COUNT; i++) {
            char text[1024];
            if (fd[i] < 0) continue;
            send(fd[i], "a", 1, MSG_NOSIGNAL);
            ssize_t got = recv(fd[i], text, sizeof text, MSG_DONTWAIT);
            if (got > 0 || (got < 0 && errno == EAGAIN)) continue;
            close(fd[i]);
            fd[i] = -1;
            open--;
        }
        cr_assert(hfd_clock_monotonic_ns() - begin_ns < 8 * HFD_NS_PER_S, "%d still open", open);
    }
    cr_assert(hfd_clock_monotonic_ns() - begin_ns >= HFD_NS_PER_S, "not before the deadline");
    close_door(&door);
}

Test(http, a_client_that_closes_its_half_gets_its_reply, .timeout = 60) {
    struct door door = open_door(1, 8);
    char text[4096];
    int fd = dial(&door);
    say(fd, GET("/wait/half"));
    shutdown(fd, SHUT_WR);
    nanosleep(&(struct timespec){.tv_nsec = 100000000}, NULL);
    sem_post(&gate);
    cr_assert_eq(hear(fd, text, sizeof text, 1), 1);
    cr_assert(strstr(text, "<half 0:>"), "%s", text);
    cr_assert(ended(fd));
    close(fd);
    close_door(&door);
}

/* One worker and two places: the fourth is told at once, and /livez is answered all the while. */
Test(http, a_full_queue_is_said_early, .timeout = 60) {
    struct door door = open_door(1, 2);
    int fd[3];
    char text[4096];
    for (int i = 0; i < 3; i++) {
        fd[i] = dial(&door);
        say(fd[i], GET("/wait/long"));
        nanosleep(&(struct timespec){.tv_nsec = 100000000}, NULL);
    }
    exchange(&door, GET("/x"), text, sizeof text);
    cr_assert(strncmp(text, "HTTP/1.1 503 ", 13) == 0 && strstr(text, "\r\nRetry-After: "), "%s", text);
    exchange(&door, GET("/livez"), text, sizeof text);
    cr_assert(strncmp(text, "HTTP/1.1 200 ", 13) == 0, "%s", text);
    exchange(&door, GET("/metrics"), text, sizeof text);
    cr_assert(strstr(text, "\nholdfast_refused_full_total 1\n"), "%s", text);
    for (int i = 0; i < 3; i++) {
        sem_post(&gate);
    }
    for (int i = 0; i < 3; i++) {
        cr_assert_eq(hear(fd[i], text, sizeof text, 1), 1);
        cr_assert(strstr(text, "<long 0:>"), "%s", text);
        close(fd[i]);
    }
    close_door(&door);
}

Test(http, draining_answers_what_was_accepted_and_lets_nobody_in, .timeout = 60) {
    struct door door = open_door(1, 8);
    char text[4096];
    int idle = dial(&door), busy = dial(&door);
    say(idle, GET("/first"));
    cr_assert_eq(hear(idle, text, sizeof text, 1), 1);
    cr_assert(!strstr(text, "Connection: close"));
    say(busy, GET("/wait/accepted"));
    nanosleep(&(struct timespec){.tv_nsec = 100000000}, NULL);
    hfd_http_drain(door.http);
    cr_assert_eq(dial(&door), -1);
    sem_post(&gate);
    cr_assert_eq(hear(busy, text, sizeof text, 1), 1);
    cr_assert(strstr(text, "<accepted 0:>") && strstr(text, "\r\nConnection: close\r\n"), "%s", text);
    cr_assert(ended(busy));
    hfd_http_refuse_new(door.http);
    say(idle, GET("/late"));
    cr_assert_eq(hear(idle, text, sizeof text, 1), 1);
    cr_assert(strncmp(text, "HTTP/1.1 503 ", 13) == 0, "%s", text);
    close(idle);
    close(busy);
    hfd_pool_close(door.pool);
    hfd_http_free(door.http);
    hfd_pool_free(door.pool);
}

Test(http, many_idle_connections_hinder_nobody, .timeout = 60) {
    enum { COUNT = 300 };
    struct door door = open_door(2, 8);
    static int fd[COUNT];
    char text[4096];
    for (int i = 0; i < COUNT; i++) {
        fd[i] = dial(&door);
        cr_assert(fd[i] >= 0);
    }
    int64_t begin_ns = hfd_clock_monotonic_ns();
    exchange(&door, GET("/x"), text, sizeof text);
    cr_assert(strstr(text, "<x 0:>"));
    cr_assert(hfd_clock_monotonic_ns() - begin_ns < HFD_NS_PER_S / 2);
    /* They have said nothing and are closed after the deadline of their first request. */
    for (int i = 0; i < COUNT; i++) {
        cr_assert(ended(fd[i]));
        close(fd[i]);
    }
    close_door(&door);
}

static struct hfd_http *listen_on(const char *address, unsigned port, bool public_allowed) {
    return hfd_http_new(&(struct hfd_http_config){.address = address,
        .port = port,
        .public_allowed = public_allowed,
        .threads = 1,
        .stack_bytes = 512 * 1024,
        .max_connections = 16,
        .max_body_bytes = 1024,
        .max_memory_bytes = 1 << 20,
        .request_deadline_s = 1,
        .keep_alive_s = 1,
        .handler = handle});
}

Test(http, addresses, .timeout = 60) {
    struct door door = open_door(1, 1);
    cr_assert_null(listen_on("127.0.0.1", door.port, false), "taken");
    close_door(&door);
    static const char *const refused[] = {
        "0.0.0.0", "::", "192.0.2.1", "localhost", "127.0.0.1.1", "", "::ffff:192.0.2.1"};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        cr_assert_null(listen_on(refused[i], 0, false), "%s", refused[i]);
    }
    struct hfd_http *http = listen_on("127.9.9.9", 0, false);
    cr_assert_not_null(http, "all of 127.0.0.0/8 is loopback (RFC 1122)");
    hfd_http_free(http);
    http = listen_on("0.0.0.0", 0, true);
    cr_assert_not_null(http);
    hfd_http_free(http);
}
