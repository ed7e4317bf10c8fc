#include "buf.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>

#include "num.h"
#include "utf8.h"

void hfd_buf_init(struct hfd_buf *buf, hf_arena *arena, size_t room) {
    *buf = (struct hfd_buf){.arena = arena, .room = room + 1};
    buf->text = hf_arena_room(arena, buf->room);
    buf->text[0] = '\0';
}

void hfd_buf_reserve(struct hfd_buf *buf, size_t count) {
    if (count < buf->room - buf->length) return;
    size_t room = buf->room * 2;
    while (room - buf->length <= count)
        room *= 2;
    char *text = hf_arena_room(buf->arena, room);
    memcpy(text, buf->text, buf->length + 1);
    buf->text = text;
    buf->room = room;
}

void hfd_buf_bytes(struct hfd_buf *buf, const char *bytes, size_t count) {
    if (count == 0) return;
    if (buf->room - buf->length <= count) hfd_buf_reserve(buf, count);
    memcpy(buf->text + buf->length, bytes, count);
    buf->length += count;
    buf->text[buf->length] = '\0';
}

void hfd_buf_printf(struct hfd_buf *buf, const char *format, ...) {
    for (;;) {
        const size_t room = buf->room - buf->length;
        va_list args;
        va_start(args, format);
        const int needed = vsnprintf(buf->text + buf->length, room, format, args);
        va_end(args);
        if (needed >= 0 && (size_t)needed < room) {
            buf->length += (size_t)needed;
            return;
        }
        buf->text[buf->length] = '\0';
        if (needed < 0) return;
        hfd_buf_reserve(buf, (size_t)needed);
    }
}

void hfd_buf_cut(struct hfd_buf *buf, size_t length) {
    buf->length = length;
    buf->text[length] = '\0';
}

/* Of a text with its NUL, which continues no character: so nothing behind it is read. */
static size_t character(const char *at) {
    return hfd_utf8_character(at, 4);
}

/* ASCII that stands for itself between quotes: the usual case. */
static bool is_plain(char c) {
    unsigned char byte = (unsigned char)c;
    return byte >= 0x20 && byte < 0x80 && byte != '"' && byte != '\\';
}

static void put_escaped(struct hfd_buf *buf, unsigned char c) {
    static const char named[] = "\bb\tt\nn\ff\rr\"\"\\\\";
    for (const char *at = named; *at; at += 2)
        if ((unsigned char)*at == c) {
            hfd_buf_bytes(buf, (const char[]){'\\', at[1]}, 2);
            return;
        }
    hfd_buf_printf(buf, "\\u%04x", c);
}

void hfd_buf_json_string(struct hfd_buf *buf, const char *text) {
    if (!text) {
        hfd_buf_text(buf, "null");
        return;
    }
    hfd_buf_char(buf, '"');
    const char *plain = text; /* start of the run not yet written */
    const char *at = text;
    for (;;) {
        while (is_plain(*at))
            at++;
        if (*at == '\0') break;
        size_t length = (unsigned char)*at < 0x80 ? 0 : character(at);
        if (length > 0) {
            at += length;
            continue;
        }
        hfd_buf_bytes(buf, plain, (size_t)(at - plain));
        if ((unsigned char)*at < 0x80)
            put_escaped(buf, (unsigned char)*at);
        else
            hfd_buf_text(buf, "\xEF\xBF\xBD");
        plain = ++at;
    }
    hfd_buf_bytes(buf, plain, (size_t)(at - plain));
    hfd_buf_char(buf, '"');
}

void hfd_buf_json_real(struct hfd_buf *buf, double value) {
    hfd_buf_reserve(buf, HFD_NUM_MAX);
    buf->length += hfd_num_print(buf->text + buf->length, value);
}

void hfd_buf_json_real12(struct hfd_buf *buf, double value) {
    hfd_buf_reserve(buf, HFD_NUM_MAX);
    buf->length += hfd_num_print12(buf->text + buf->length, value);
}

void hfd_buf_json_int(struct hfd_buf *buf, long long value) {
    char digits[24];
    size_t at = sizeof digits;
    unsigned long long rest = value < 0 ? 0ULL - (unsigned long long)value : (unsigned long long)value;
    do
        digits[--at] = (char)('0' + rest % 10);
    while ((rest /= 10) > 0);
    if (value < 0) digits[--at] = '-';
    hfd_buf_bytes(buf, digits + at, sizeof digits - at);
}

void hfd_buf_markup(struct hfd_buf *buf, const char *text) {
    static const struct {
        char c;
        const char *entity;
    } named[] = {{'&', "&amp;"}, {'<', "&lt;"}, {'>', "&gt;"}, {'"', "&quot;"}, {'\'', "&#39;"}};
    for (const char *at = text ? text : ""; *at;) {
        size_t length = character(at);
        const char *instead = NULL;
        for (size_t i = 0; i < sizeof named / sizeof *named; i++)
            if (*at == named[i].c) instead = named[i].entity;
        bool control = length == 1 && (unsigned char)*at < 0x20 && !strchr("\t\n\r", *at);
        if (length == 0 || control || *at == 0x7F) instead = "\xEF\xBF\xBD";
        if (instead)
            hfd_buf_text(buf, instead);
        else
            hfd_buf_bytes(buf, at, length);
        at += length ? length : 1;
    }
}
