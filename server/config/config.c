#include "config.h"

#include <errno.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "../base/file.h"
#include "../base/log.h"
#include "../base/network.h"
#include "../base/origin.h"

enum kind { IS_BOOL, IS_NUMBER, IS_TEXT, IS_ORIGINS, IS_NETWORKS, IS_SECRET, IS_LOG_LEVEL };

struct key {
    const char *name;
    enum kind kind;
    size_t offset;
    const char *initial;
    long low, high;
    const char *help;
};

#define AT(member) offsetof(struct hfd_config, member)

/* In the order of the alphabet: it is also printed. */
static const struct key keys[] = {
    {"allow_plain_http_on_public_address", IS_BOOL, AT(allow_plain_http_on_public_address), "no", 0, 0,
        "listen on an address that other machines reach, without TLS"},
    {"cors_origins", IS_ORIGINS, AT(cors_origins), "", 0, 0,
        "web pages that may ask from a browser, such as https://chart.example, parted by spaces"},
    {"database", IS_SECRET, AT(database), "", 0, 0,
        "libpq connection text of the serving role, or @FILE that holds it"},
    {"database_owner", IS_SECRET, AT(database_owner), "", 0, 0,
        "the same of the schema's owner: migrate, clinic, token, seed-demo"},
    {"drain_s", IS_NUMBER, AT(drain_s), "20", 0, 600,
        "seconds that requests in work get when the daemon stops"},
    {"event_days", IS_NUMBER, AT(event_days), "90", 1, 36500, "days that events are kept"},
    {"http_threads", IS_NUMBER, AT(http_threads), "2", 1, 16, "threads that read requests and send replies"},
    {"https_in_front", IS_BOOL, AT(https_in_front), "no", 0, 0,
        "a proxy in front of this daemon speaks HTTPS to browsers: their session cookie is Secure"},
    {"keep_alive_s", IS_NUMBER, AT(keep_alive_s), "75", 1, 3600,
        "seconds until an idle connection is closed"},
    {"listen_address", IS_TEXT, AT(listen_address), "127.0.0.1", 0, 0, "IPv4 or IPv6 address, in digits"},
    {"log_level", IS_LOG_LEVEL, AT(log_level), "info", 0, 0, "debug, info, warning or error"},
    {"max_body_bytes", IS_NUMBER, AT(max_body_bytes), "1048576", 1024, 67108864, "longest body of a request"},
    {"max_connections", IS_NUMBER, AT(max_connections), "4096", 16, 65536, "open connections at a time"},
    {"max_connections_per_address", IS_NUMBER, AT(max_connections_per_address), "0", 0, 65536,
        "the same of one client address; 0: no limit (behind a proxy all come from one)"},
    {"port", IS_NUMBER, AT(port), "8080", 0, 65535, "TCP port; 0: any free one"},
    {"queue_length", IS_NUMBER, AT(queue_length), "64", 1, 65536,
        "requests that may wait; one more is answered 503"},
    {"rate_limit_per_minute", IS_NUMBER, AT(rate_limit_per_minute), "0", 0, 1000000,
        "requests of one token in a minute, counted by each daemon; 0: no limit"},
    {"request_deadline_s", IS_NUMBER, AT(request_deadline_s), "10", 1, 600,
        "seconds for a request to arrive, and again to wait in the queue, and for its reply to be taken"},
    {"sign_in_failures_per_minute", IS_NUMBER, AT(sign_in_failures_per_minute), "20", 1, 1000000,
        "failed sign-ins of one client address in a minute; then they are answered 429"},
    {"tls_certificate", IS_TEXT, AT(tls_certificate), "", 0, 0,
        "file with the PEM certificate, those of its issuers behind it; with tls_key: HTTPS only"},
    {"tls_key", IS_TEXT, AT(tls_key), "", 0, 0, "file with the PEM private key of tls_certificate"},
    {"webhook_networks", IS_NETWORKS, AT(webhook_networks), "", 0, 0,
        "networks beside the public ones that webhooks may call, and by plain HTTP, such as 10.1.2.0/24; parted by spaces"},
    {"workers", IS_NUMBER, AT(workers), "4", 1, 64,
        "threads that answer, each with its own database connection"},
};

static const size_t key_count = sizeof keys / sizeof keys[0];
static const size_t file_max_bytes = 65536;
static const char environment_prefix[] = "HOLDFAST_";

/* Where a value came from, and where to complain. */
struct reading {
    struct hfd_config *out;
    hf_arena *arena;
    FILE *complaints;
    const char *source; /* a file's name or a variable's */
    unsigned line;      /* 0: of the environment */
    bool sound;
};

__attribute__((format(printf, 2, 3))) static void complain(struct reading *reading, const char *format, ...) {
    va_list values;
    fprintf(reading->complaints, "holdfastd: %s", reading->source);
    if (reading->line > 0) fprintf(reading->complaints, ":%u", reading->line);
    fputs(": ", reading->complaints);
    va_start(values, format);
    vfprintf(reading->complaints, format, values);
    va_end(values);
    fputc('\n', reading->complaints);
    reading->sound = false;
}

static bool set_bool(const char *value, bool *out) {
    *out = strcmp(value, "yes") == 0;
    return *out || strcmp(value, "no") == 0;
}

static bool set_number(const char *value, const struct key *key, long *out) {
    char *end;
    errno = 0;
    *out = strtol(value, &end, 10);
    bool digits = value[0] != '\0' && strspn(value, "0123456789") == strlen(value);
    return digits && errno == 0 && *out >= key->low && *out <= key->high;
}

static bool set_log_level(const char *value, long *out) {
    for (long i = 0; i < HFD_LOG_LEVEL_COUNT; i++) {
        if (strcmp(value, hfd_log_level_names[i]) != 0) continue;
        *out = i;
        return true;
    }
    return false;
}

/* "@FILE": the file's text without white space at its end. A secret in the environment or on a command line
 * is seen by others. */
static const char *secret(struct reading *reading, const struct key *key, const char *value) {
    if (value[0] != '@') return value;
    size_t length;
    char *text = hfd_file_read(value + 1, file_max_bytes, reading->arena, &length);
    if (!text) {
        complain(reading, "%s cannot be read from %s: %s", key->name, value + 1, strerror(errno));
        return "";
    }
    while (length > 0 && strchr(" \t\r\n", text[length - 1])) {
        text[--length] = '\0';
    }
    return text;
}

static void set(struct reading *reading, const struct key *key, const char *value) {
    void *member = (char *)reading->out + key->offset;
    switch (key->kind) {
    case IS_BOOL:
        if (!set_bool(value, member)) complain(reading, "%s must be yes or no, not \"%s\"", key->name, value);
        break;
    case IS_NUMBER:
        if (!set_number(value, key, member)) {
            complain(reading, "%s must be a whole number from %ld to %ld, not \"%s\"", key->name, key->low,
                key->high, value);
        }
        break;
    case IS_LOG_LEVEL:
        if (!set_log_level(value, member)) {
            complain(reading, "%s must be debug, info, warning or error, not \"%s\"", key->name, value);
        }
        break;
    case IS_ORIGINS:
        if (!hfd_origins_valid(value))
            complain(reading, "%s must be origins such as https://chart.example:8443, not \"%s\"", key->name,
                value);
        *(const char **)member = value;
        break;
    case IS_NETWORKS:
        if (!hfd_networks_valid(value))
            complain(
                reading, "%s must be networks such as 10.1.2.0/24 or fd00::/8, not \"%s\"", key->name, value);
        *(const char **)member = value;
        break;
    case IS_TEXT:
        *(const char **)member = value;
        break;
    case IS_SECRET:
        *(const char **)member = secret(reading, key, value);
        break;
    }
}

static const struct key *find(const char *name) {
    for (size_t i = 0; i < key_count; i++) {
        if (strcmp(keys[i].name, name) == 0) return &keys[i];
    }
    return NULL;
}

static char *trim(char *text) {
    text += strspn(text, " \t\r");
    size_t length = strlen(text);
    while (length > 0 && strchr(" \t\r", text[length - 1])) {
        text[--length] = '\0';
    }
    return text;
}

static void read_line(struct reading *reading, char *line, unsigned *seen_at) {
    char *name = trim(line);
    if (*name == '\0' || *name == '#') return;
    char *equals = strchr(name, '=');
    if (!equals) {
        complain(reading, "a line must be `key = value`, not \"%s\"", name);
        return;
    }
    *equals = '\0';
    name = trim(name);
    const struct key *key = find(name);
    if (!key) {
        complain(reading, "there is no setting \"%s\"", name);
        return;
    }
    unsigned *seen = &seen_at[key - keys];
    if (*seen > 0) complain(reading, "%s stands already in line %u", name, *seen);
    *seen = reading->line;
    set(reading, key, trim(equals + 1));
}

static void read_text(struct reading *reading, const char *text) {
    unsigned seen_at[sizeof keys / sizeof keys[0]] = {0};
    char *next = hf_arena_strdup(reading->arena, text);
    while (next) {
        char *line = next;
        next = strchr(line, '\n');
        if (next) *next++ = '\0';
        reading->line++;
        read_line(reading, line, seen_at);
    }
}

/* "database_owner" → "HOLDFAST_DATABASE_OWNER" */
static const char *variable_of(const struct key *key, hf_arena *arena) {
    char *name = hf_arena_printf(arena, "%s%s", environment_prefix, key->name);
    for (char *c = name; *c; c++) {
        if (*c >= 'a' && *c <= 'z') *c = (char)(*c - 'a' + 'A');
    }
    return name;
}

static const char *look_up(char *const *environment, const char *name) {
    size_t length = strlen(name);
    for (; environment && *environment; environment++) {
        if (strncmp(*environment, name, length) == 0 && (*environment)[length] == '=')
            return *environment + length + 1;
    }
    return NULL;
}

void hfd_config_default(struct hfd_config *out) {
    struct reading reading = {.out = out, .complaints = stderr, .source = "default"};
    memset(out, 0, sizeof *out);
    for (size_t i = 0; i < key_count; i++) {
        set(&reading, &keys[i], keys[i].initial);
    }
}

bool hfd_config_read(struct hfd_config *out, const char *name, const char *text, char *const *environment,
    hf_arena *arena, FILE *complaints) {
    struct reading reading = {
        .out = out, .arena = arena, .complaints = complaints, .source = name, .sound = true};
    hfd_config_default(out);
    if (text) read_text(&reading, text);
    reading.line = 0;
    for (size_t i = 0; i < key_count; i++) {
        reading.source = variable_of(&keys[i], arena);
        const char *value = look_up(environment, reading.source);
        if (value) set(&reading, &keys[i], value);
    }
    return reading.sound;
}

bool hfd_config_load(
    struct hfd_config *out, const char *path, char *const *environment, hf_arena *arena, FILE *complaints) {
    size_t length;
    char *text = path ? hfd_file_read(path, file_max_bytes, arena, &length) : NULL;
    if (path && !text) {
        fprintf(complaints, "holdfastd: the configuration %s cannot be read: %s\n", path, strerror(errno));
        return false;
    }
    return hfd_config_read(out, path, text, environment, arena, complaints);
}

void hfd_config_print(const struct hfd_config *config, FILE *out) {
    for (size_t i = 0; i < key_count; i++) {
        const void *member = (const char *)config + keys[i].offset;
        fprintf(out, "%s = ", keys[i].name);
        switch (keys[i].kind) {
        case IS_BOOL:
            fputs(*(const bool *)member ? "yes" : "no", out);
            break;
        case IS_NUMBER:
            fprintf(out, "%ld", *(const long *)member);
            break;
        case IS_LOG_LEVEL:
            fputs(hfd_log_level_names[*(const long *)member], out);
            break;
        case IS_ORIGINS:
        case IS_NETWORKS:
        case IS_TEXT:
            fputs(*(const char *const *)member, out);
            break;
        case IS_SECRET:
            fputs(**(const char *const *)member ? "(set, not shown)" : "", out);
            break;
        }
        fputc('\n', out);
    }
}

void hfd_config_describe(FILE *out) {
    for (size_t i = 0; i < key_count; i++) {
        fprintf(out, "  %-34s %s", keys[i].name, keys[i].help);
        if (keys[i].initial[0]) fprintf(out, " [%s]", keys[i].initial);
        fputc('\n', out);
    }
}

void hfd_config_log_strangers(char *const *environment) {
    static const char of_tests[] = "HOLDFAST_TEST_";
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    for (; environment && *environment; environment++) {
        if (strncmp(*environment, environment_prefix, sizeof environment_prefix - 1) != 0) continue;
        if (strncmp(*environment, of_tests, sizeof of_tests - 1) == 0) continue;
        char *name = hf_arena_printf(&arena, "%.*s", (int)strcspn(*environment, "="), *environment);
        bool known = false;
        for (size_t i = 0; i < key_count && !known; i++) {
            known = strcmp(name, variable_of(&keys[i], &arena)) == 0;
        }
        if (!known) hfd_log(HFD_LOG_WARNING, "no such setting", HFD_LOG_TEXT("variable", name));
    }
    hf_arena_fini(&arena);
}
