#include "courier.h"

#include <curl/curl.h>
#include <inttypes.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../base/clock.h"
#include "../base/log.h"
#include "../base/network.h"
#include "../base/signature.h"
#include "../store/store.h"

enum { AT_ONCE = 16, ANSWER_MAX = 4096, LOOK_MS = 250 };
static const long connect_ms = 5000, whole_ms = 10000;
static const int64_t last_moment_ns = 2 * HFD_NS_PER_S;

struct errand {
    CURL *easy; /* NULL: free */
    struct curl_slist *fields;
    char *body;
    char clinic_id[37], id[37];
    const char *networks;
    bool plain, barred;
    size_t answered;
    int64_t began_ns;
};

struct hfd_courier {
    struct hfd_store *store;
    const char *networks;
    CURLM *multi;
    struct errand errands[AT_ONCE];
    pthread_t thread;
    bool started;
    _Atomic bool ending;
    _Atomic uint64_t delivered, failed;
};

/* ---------------------------------------------------------------- one request */

/* Asked for the very address that is about to be connected to: what a name leads to is looked at no earlier.
 */
static curl_socket_t open_socket(void *argument, curlsocktype purpose, struct curl_sockaddr *to) {
    struct errand *errand = argument;
    (void)purpose;
    bool ours = hfd_networks_have(errand->networks, &to->addr);
    if (!ours && (errand->plain || !hfd_address_is_public(&to->addr))) {
        errand->barred = true;
        return CURL_SOCKET_BAD;
    }
    return socket(to->family, to->socktype | SOCK_CLOEXEC, to->protocol);
}

/* Nobody reads an answer. One that does not end is cut off; its status has been seen by then. */
static size_t take_answer(char *bytes, size_t size, size_t count, void *argument) {
    struct errand *errand = argument;
    (void)bytes;
    errand->answered += size * count;
    return errand->answered > ANSWER_MAX ? 0 : size * count;
}

static void add_field(struct errand *errand, const char *text) {
    struct curl_slist *longer = curl_slist_append(errand->fields, text);
    if (longer != NULL) errand->fields = longer;
}

/* Both secrets sign while one follows the other. */
static void sign(struct errand *errand, const char *secret, const char *old_secret) {
    char id[48], text[2 * HFD_SIGNATURE_SIZE + 32], signature[HFD_SIGNATURE_SIZE],
        old[HFD_SIGNATURE_SIZE] = "";
    int64_t now_s = hfd_clock_unix_ms() / 1000;
    snprintf(id, sizeof id, "msg_%s", errand->id);
    if (!hfd_signature(secret, id, now_s, errand->body, signature)) signature[0] = '\0';
    if (old_secret != NULL && !hfd_signature(old_secret, id, now_s, errand->body, old)) old[0] = '\0';
    snprintf(text, sizeof text, "webhook-id: %s", id);
    add_field(errand, text);
    snprintf(text, sizeof text, "webhook-timestamp: %" PRId64, now_s);
    add_field(errand, text);
    snprintf(text, sizeof text, "webhook-signature: %s%s%s", signature, old[0] ? " " : "", old);
    add_field(errand, text);
    add_field(errand, "Content-Type: application/json");
    add_field(errand, "Expect:");
}

static void set_out(struct hfd_courier *courier, struct errand *errand, const char *const *cells) {
    CURL *easy = curl_easy_init();
    char *body = strdup(cells[5]);
    if (easy == NULL || body == NULL) { /* its claim ends by itself */
        curl_easy_cleanup(easy);
        free(body);
        return;
    }
    *errand = (struct errand){.easy = easy, .networks = courier->networks, .body = body};
    snprintf(errand->clinic_id, sizeof errand->clinic_id, "%s", cells[0]);
    snprintf(errand->id, sizeof errand->id, "%s", cells[1]);
    errand->plain = strncmp(cells[2], "https:", 6) != 0;
    errand->began_ns = hfd_clock_monotonic_ns();
    sign(errand, cells[3], cells[4]);
    curl_easy_setopt(easy, CURLOPT_URL, cells[2]);
    curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR, "http,https");
    curl_easy_setopt(easy, CURLOPT_PROXY, "");
    curl_easy_setopt(easy, CURLOPT_FOLLOWLOCATION, 0L);
    curl_easy_setopt(easy, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(easy, CURLOPT_CONNECTTIMEOUT_MS, connect_ms);
    curl_easy_setopt(easy, CURLOPT_TIMEOUT_MS, whole_ms);
    /* A connection kept open was allowed for another address. */
    curl_easy_setopt(easy, CURLOPT_FRESH_CONNECT, 1L);
    curl_easy_setopt(easy, CURLOPT_FORBID_REUSE, 1L);
    curl_easy_setopt(easy, CURLOPT_OPENSOCKETFUNCTION, open_socket);
    curl_easy_setopt(easy, CURLOPT_OPENSOCKETDATA, errand);
    curl_easy_setopt(easy, CURLOPT_WRITEFUNCTION, take_answer);
    curl_easy_setopt(easy, CURLOPT_WRITEDATA, errand);
    curl_easy_setopt(easy, CURLOPT_USERAGENT, "holdfastd");
    curl_easy_setopt(easy, CURLOPT_HTTPHEADER, errand->fields);
    curl_easy_setopt(easy, CURLOPT_POSTFIELDS, errand->body);
    curl_easy_setopt(easy, CURLOPT_PRIVATE, errand);
    curl_multi_add_handle(courier->multi, easy);
}

static void come_home(struct hfd_courier *courier, struct errand *errand) {
    curl_multi_remove_handle(courier->multi, errand->easy);
    curl_easy_cleanup(errand->easy);
    curl_slist_free_all(errand->fields);
    free(errand->body);
    *errand = (struct errand){0};
}

/* ---------------------------------------------------------------- the thread */

static bool call(struct hfd_courier *courier, hf_arena *arena, const struct hfd_statement *statement,
    const char *const *params, struct hfd_rows *rows) {
    struct hfd_call one = {.statement = statement, .params = params};
    struct hfd_store_error error;
    enum hfd_store_status status = hfd_store_alone(courier->store, &one, arena, &error);
    *rows = one.rows;
    if (status != HFD_STORE_OK && status != HFD_STORE_DOWN)
        hfd_log(HFD_LOG_ERROR, "webhooks not told", HFD_LOG_TEXT("statement", statement->name),
            HFD_LOG_TEXT("sqlstate", error.sqlstate));
    return status == HFD_STORE_OK;
}

static void record(struct hfd_courier *courier, const struct errand *errand, CURLcode code) {
    static const struct hfd_statement statement = {
        "record-delivery", "select holdfast.record_delivery($1::uuid, $2::uuid, $3, $4, $5)", 5};
    long status = 0;
    curl_easy_getinfo(errand->easy, CURLINFO_RESPONSE_CODE, &status);
    hf_arena arena;
    hf_arena_init(&arena, 2048, 0);
    const char *failure = errand->barred ? "address not allowed" : curl_easy_strerror(code);
    int64_t took_ms = (hfd_clock_monotonic_ns() - errand->began_ns) / HFD_NS_PER_MS;
    const char *params[] = {errand->clinic_id, errand->id,
        status > 0 ? hf_arena_printf(&arena, "%ld", status) : NULL, status > 0 ? NULL : failure,
        hf_arena_printf(&arena, "%" PRId64, took_ms)};
    struct hfd_rows rows;
    call(courier, &arena, &statement, params, &rows);
    hf_arena_fini(&arena);
    atomic_fetch_add(status >= 200 && status < 300 ? &courier->delivered : &courier->failed, 1);
}

static void take_up(struct hfd_courier *courier) {
    static const struct hfd_statement statement = {
        "claim-deliveries", "select * from holdfast.claim_deliveries($1)", 1};
    struct errand *idle[AT_ONCE];
    size_t count = 0;
    for (size_t i = 0; i < AT_ONCE; i++)
        if (courier->errands[i].easy == NULL) idle[count++] = &courier->errands[i];
    if (count == 0) return;
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    const char *most = hf_arena_printf(&arena, "%zu", count);
    struct hfd_rows rows;
    if (call(courier, &arena, &statement, &most, &rows))
        for (size_t i = 0; i < rows.row_count && i < count; i++)
            set_out(courier, idle[i], rows.cells + i * rows.column_count);
    hf_arena_fini(&arena);
}

/* How many came home. */
static int look_around(struct hfd_courier *courier) {
    int running, left, home = 0;
    curl_multi_perform(courier->multi, &running);
    for (CURLMsg *message; (message = curl_multi_info_read(courier->multi, &left)) != NULL; home++) {
        CURLcode code = message->data.result;
        struct errand *errand;
        curl_easy_getinfo(message->easy_handle, CURLINFO_PRIVATE, &errand);
        record(courier, errand, code);
        come_home(courier, errand);
    }
    return home;
}

static size_t under_way(const struct hfd_courier *courier) {
    size_t count = 0;
    for (size_t i = 0; i < AT_ONCE; i++)
        count += courier->errands[i].easy != NULL;
    return count;
}

static void *run(void *argument) {
    struct hfd_courier *courier = argument;
    int64_t look_at_ns = 0;
    while (!atomic_load(&courier->ending)) {
        if (look_around(courier) > 0 || hfd_clock_monotonic_ns() >= look_at_ns) {
            take_up(courier);
            look_at_ns = hfd_clock_monotonic_ns() + LOOK_MS * HFD_NS_PER_MS;
        }
        curl_multi_poll(courier->multi, NULL, 0, LOOK_MS, NULL);
    }
    int64_t end_ns = hfd_clock_monotonic_ns() + last_moment_ns;
    while (under_way(courier) > 0 && hfd_clock_monotonic_ns() < end_ns) {
        look_around(courier);
        curl_multi_poll(courier->multi, NULL, 0, 50, NULL);
    }
    for (size_t i = 0; i < AT_ONCE; i++)
        if (courier->errands[i].easy != NULL) come_home(courier, &courier->errands[i]);
    return NULL;
}

struct hfd_courier *hfd_courier_new(const char *database, const char *networks) {
    struct hfd_courier *courier = calloc(1, sizeof *courier);
    if (courier == NULL) return NULL;
    courier->networks = networks;
    courier->store = hfd_store_new(database);
    if (courier->store != NULL && curl_global_init(CURL_GLOBAL_DEFAULT) == CURLE_OK)
        courier->multi = curl_multi_init();
    courier->started = courier->multi != NULL && pthread_create(&courier->thread, NULL, run, courier) == 0;
    if (courier->started) return courier;
    hfd_courier_free(courier);
    return NULL;
}

void hfd_courier_free(struct hfd_courier *courier) {
    if (courier == NULL) return;
    atomic_store(&courier->ending, true);
    if (courier->started) {
        curl_multi_wakeup(courier->multi);
        pthread_join(courier->thread, NULL);
    }
    if (courier->multi != NULL) curl_multi_cleanup(courier->multi);
    curl_global_cleanup();
    hfd_store_free(courier->store);
    free(courier);
}

uint64_t hfd_courier_delivered(const struct hfd_courier *courier) {
    return atomic_load(&courier->delivered);
}

uint64_t hfd_courier_failed(const struct hfd_courier *courier) {
    return atomic_load(&courier->failed);
}
