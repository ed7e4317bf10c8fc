#include "log.h"

#include <inttypes.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "clock.h"
#include "utf8.h"

const char *const hfd_log_level_names[HFD_LOG_LEVEL_COUNT] = {"debug", "info", "warning", "error"};

/* Standard error is one per process, and so is the level of what goes there. */
static _Atomic int least_level = HFD_LOG_INFO;

void hfd_log_set_least(enum hfd_log_level least) {
    atomic_store(&least_level, (int)least);
}

struct line {
    char *text;
    size_t size, used; /* `size` keeps room for the closing "}\n" */
};

static bool room(const struct line *line, size_t more) {
    return line->size - line->used >= more;
}

static void put(struct line *line, const char *text, size_t length) {
    memcpy(line->text + line->used, text, length);
    line->used += length;
}

/* Between quotes; stops where the room ends. */
static void put_escaped(struct line *line, const char *text) {
    size_t left = strlen(text);
    while (left > 0) {
        char escape[7];
        size_t length = hfd_utf8_character(text, left);
        unsigned char first = (unsigned char)*text;
        const char *piece = text;
        size_t piece_length = length;
        if (length == 0) {
            piece = "?", piece_length = 1, length = 1;
        } else if (first < 0x20 || first == '"' || first == '\\' || first == 0x7f) {
            piece_length = (size_t)snprintf(escape, sizeof escape, "\\u%04x", first);
            piece = escape;
        }
        if (!room(line, piece_length + 1)) return;
        put(line, piece, piece_length);
        text += length;
        left -= length;
    }
}

static void put_text(struct line *line, const char *key, const char *text) {
    size_t key_length = strlen(key);
    if (!room(line, key_length + 6)) return;
    put(line, line->used > 1 ? ",\"" : "\"", line->used > 1 ? 2 : 1);
    put(line, key, key_length);
    put(line, "\":\"", 3);
    put_escaped(line, text);
    put(line, "\"", 1);
}

static void put_number(struct line *line, const char *key, const char *digits) {
    size_t key_length = strlen(key), length = strlen(digits);
    if (!room(line, key_length + length + 4)) return;
    put(line, ",\"", 2);
    put(line, key, key_length);
    put(line, "\":", 2);
    put(line, digits, length);
}

size_t hfd_log_line(char *text, size_t size, int64_t unix_ms, enum hfd_log_level level, const char *event,
    const struct hfd_log_field *fields, size_t count) {
    struct line line = {text, size - 3, 0};
    char digits[32];
    hfd_clock_text(unix_ms, digits);
    put(&line, "{", 1);
    put_text(&line, "time", digits);
    put_text(&line, "level", hfd_log_level_names[level]);
    put_text(&line, "event", event);
    for (size_t i = 0; i < count; i++) {
        const struct hfd_log_field *field = &fields[i];
        if (field->kind == HFD_LOG_IS_TEXT) {
            if (field->text) put_text(&line, field->key, field->text);
        } else {
            if (field->kind == HFD_LOG_IS_MS)
                snprintf(digits, sizeof digits, "%.3f", (double)field->number / 1e6);
            else
                snprintf(digits, sizeof digits, "%" PRId64, field->number);
            put_number(&line, field->key, digits);
        }
    }
    memcpy(text + line.used, "}\n", 3);
    return line.used + 2;
}

void hfd_log_fields(
    enum hfd_log_level level, const char *event, const struct hfd_log_field *fields, size_t count) {
    if ((int)level < atomic_load_explicit(&least_level, memory_order_relaxed)) return;
    char line[HFD_LOG_LINE_SIZE];
    size_t length = hfd_log_line(line, sizeof line, hfd_clock_unix_ms(), level, event, fields, count);
    /* One write per line keeps lines of several threads apart. Nobody can be told when it fails. */
    if (write(STDERR_FILENO, line, length) < 0) return;
}
