#include "parse.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <threads.h>

#include "../base/num.h"
#include "../base/utf8.h"

/* The values are jansson's, the reading is not: its reader fetches every byte through a callback and takes
 * as long for a document as the mechanics do. */

/* Where jansson's memory comes from on this thread. It dies with the arena: nothing is freed singly, also
 * when the arena runs out in the middle. */
static _Thread_local hf_arena *memory;

static void *take(size_t size) {
    return hf_arena_room(memory, size);
}

static void keep(void *block) {
    (void)block;
}

static void use_arenas(void) {
    json_set_alloc_funcs(take, keep);
}

/* A text on its way; nothing is read at `end` or behind it. `fault` is what is wrong at `at`. */
struct reader {
    const char *begin, *at, *end, *fault;
    hf_arena *arena;
    int depth;
};

static void *fail(struct reader *reader, const char *at, const char *fault) {
    reader->at = at;
    reader->fault = fault;
    return NULL;
}

/* What stands at `at`; NUL at the end, which may stand nowhere else. */
static char seen(const struct reader *reader, const char *at) {
    return (char)(at < reader->end ? *at : '\0');
}

static bool took(struct reader *reader, char c) {
    if (seen(reader, reader->at) != c) return false;
    reader->at++;
    return true;
}

static void skip_space(struct reader *reader) {
    const char *at = reader->at;
    while (at < reader->end && (*at == ' ' || *at == '\n' || *at == '\r' || *at == '\t'))
        at++;
    reader->at = at;
}

/* ---------------------------------------------------------------- texts */

static bool is_plain_ascii(char c) {
    const unsigned char byte = (unsigned char)c;
    return byte >= 0x20 && byte < 0x80 && byte != '"' && byte != '\\';
}

/* Past all that stands for itself between quotation marks. */
static void skip_plain(struct reader *reader) {
    const char *at = reader->at;
    for (;;) {
        while (at < reader->end && is_plain_ascii(*at))
            at++;
        if (at == reader->end || (unsigned char)*at < 0x80) break;
        const size_t size = hfd_utf8_character(at, (size_t)(reader->end - at));
        if (size == 0) break;
        at += size;
    }
    reader->at = at;
}

static void *fail_text(struct reader *reader) {
    const char *at = reader->at;
    if (at == reader->end) return fail(reader, at, "the text has no end");
    return fail(reader, at,
        (unsigned char)*at < 0x80 ? "a text may hold a control character as an escape only" : "not UTF-8");
}

/* Four hexadecimal digits, -1 when there are none. */
static int hexadecimal(const struct reader *reader, const char *at) {
    static const char digits[] = "0123456789abcdef0123456789ABCDEF";
    int value = 0;
    if (reader->end - at < 4) return -1;
    for (int i = 0; i < 4; i++) {
        const char *digit = at[i] ? strchr(digits, at[i]) : NULL;
        if (!digit) return -1;
        value = value * 16 + (int)((digit - digits) % 16);
    }
    return value;
}

static char *put_utf8(char *to, int code) {
    if (code < 0x80) {
        *to++ = (char)code;
        return to;
    }
    static const int first[] = {0, 0xC0, 0xE0, 0xF0};
    int more = code < 0x800 ? 1 : code < 0x10000 ? 2 : 3;
    *to++ = (char)(first[more] | code >> (6 * more));
    while (more-- > 0)
        *to++ = (char)(0x80 | (code >> (6 * more) & 0x3F));
    return to;
}

/* `at` stands behind \u. */
static char *unescape_code(struct reader *reader, const char *at, char *to) {
    const char *escape = at - 2;
    int code = hexadecimal(reader, at);
    if (code < 0) return fail(reader, escape, "\\u needs four hexadecimal digits");
    if (code == 0) return fail(reader, escape, "\\u0000 is not taken");
    at += 4;
    if (code >= 0xD800 && code < 0xDC00 && seen(reader, at) == '\\' && seen(reader, at + 1) == 'u') {
        int low = hexadecimal(reader, at + 2);
        if (low >= 0xDC00 && low < 0xE000) {
            code = 0x10000 + (code - 0xD800) * 0x400 + (low - 0xDC00);
            at += 6;
        }
    }
    if (code >= 0xD800 && code < 0xE000) return fail(reader, escape, "one half of a surrogate pair");
    reader->at = at;
    return put_utf8(to, code);
}

static char *unescape(struct reader *reader, char *to) {
    static const char named[] = "\"\"\\\\//b\bf\fn\nr\rt\t";
    const char c = seen(reader, reader->at + 1);
    if (c == 'u') return unescape_code(reader, reader->at + 2, to);
    for (const char *pair = named; c && *pair; pair += 2) {
        if (*pair != c) continue;
        reader->at += 2;
        *to++ = pair[1];
        return to;
    }
    return fail(reader, reader->at, "no escape of JSON");
}

/* Never longer than with its escapes. `first` begins the text, the reader stands at the first escape. */
static const char *read_escaped(struct reader *reader, const char *first, size_t *length) {
    const char *last = reader->at;
    while (last < reader->end && *last != '"')
        last += *last == '\\' ? 2 : 1;
    if (last >= reader->end) return fail(reader, reader->end, "the text has no end");
    char *text = hf_arena_room(reader->arena, (size_t)(last - first)), *to = text;
    const char *plain = first;
    for (;;) {
        memcpy(to, plain, (size_t)(reader->at - plain));
        to += reader->at - plain;
        if (took(reader, '"')) break;
        if (seen(reader, reader->at) != '\\') return fail_text(reader);
        to = unescape(reader, to);
        if (!to) return NULL;
        plain = reader->at;
        skip_plain(reader);
    }
    *length = (size_t)(to - text);
    return text;
}

/* Behind the opening quotation mark; not terminated. */
static const char *read_text(struct reader *reader, size_t *length) {
    const char *first = reader->at;
    skip_plain(reader);
    *length = (size_t)(reader->at - first);
    if (seen(reader, reader->at) == '\\') return read_escaped(reader, first, length);
    return took(reader, '"') ? first : fail_text(reader);
}

/* ---------------------------------------------------------------- numbers */

#define EXACT_DIGITS 18 /* what 64 bits hold without fail */

/* The parts of a number: +-digits * 10^exponent. `count` digits were read into `digits`. */
struct number {
    bool negative, whole;
    uint64_t digits;
    int64_t exponent;
    size_t count;
};

static const char *read_digits(const struct reader *reader, const char *at, struct number *number) {
    for (; seen(reader, at) >= '0' && *at <= '9'; at++, number->count++)
        number->digits = number->digits * 10 + (uint64_t)(*at - '0');
    return at;
}

/* Behind the e. */
static const char *read_exponent(const struct reader *reader, const char *at, struct number *number) {
    struct number power = {.negative = seen(reader, at) == '-'};
    if (power.negative || seen(reader, at) == '+') at++;
    at = read_digits(reader, at, &power);
    /* Beyond this the sign alone decides between zero and too large. */
    const int64_t size = power.count > 9 ? 999999999 : (int64_t)power.digits;
    number->exponent += power.negative ? -size : size;
    return power.count > 0 ? at : NULL;
}

/* The end of the number, NULL when it is none. */
static const char *read_parts(const struct reader *reader, struct number *number) {
    const char *at = reader->at;
    *number = (struct number){.whole = true, .negative = *at == '-'};
    at += number->negative;
    const bool zero = seen(reader, at) == '0';
    at = read_digits(reader, at, number);
    if (number->count == 0 || (zero && number->count > 1)) return NULL;
    if (seen(reader, at) == '.') {
        const size_t before = number->count;
        number->whole = false;
        at = read_digits(reader, at + 1, number);
        number->exponent = -(int64_t)(number->count - before);
        if (number->count == before) return NULL;
    }
    if (seen(reader, at) != 'e' && seen(reader, at) != 'E') return at;
    number->whole = false;
    return read_exponent(reader, at + 1, number);
}

/* A whole number of more than 18 digits is told as a real: 1e20 is written in digits by RFC 8785 and by the
 * database. */
static json_t *read_number(struct reader *reader) {
    struct number number;
    const char *first = reader->at, *end = read_parts(reader, &number);
    if (!end) return fail(reader, first, "no number of JSON");
    reader->at = end;
    if (number.whole && number.count <= EXACT_DIGITS) {
        const json_int_t value = (json_int_t)number.digits;
        return json_integer(number.negative ? -value : value);
    }
    double value;
    if (number.count <= EXACT_DIGITS && hfd_num_nearest(number.digits, number.exponent, &value)) {
        if (number.negative) value = -value;
    } else {
        const size_t length = (size_t)(end - first);
        char *text = hf_arena_room(reader->arena, length + 1);
        memcpy(text, first, length);
        text[length] = '\0';
        value = strtod(text, NULL);
    }
    return isfinite(value) ? json_real(value) : fail(reader, first, "too large a number");
}

/* ---------------------------------------------------------------- values */

static json_t *read_value(struct reader *reader);

static bool read_member(struct reader *reader, json_t *object) {
    skip_space(reader);
    const char *at = reader->at;
    if (!took(reader, '"')) return fail(reader, at, "expected the name of a member in quotation marks");
    size_t length;
    const char *name = read_text(reader, &length);
    if (!name) return false;
    skip_space(reader);
    if (!took(reader, ':')) return fail(reader, reader->at, "expected : behind the name of a member");
    json_t *value = read_value(reader);
    if (!value) return false;
    const size_t before = json_object_size(object);
    json_object_setn_new_nocheck(object, name, length, value);
    return json_object_size(object) > before || fail(reader, at, "duplicate object key");
}

static bool read_item(struct reader *reader, json_t *array) {
    json_t *value = read_value(reader);
    return value && json_array_append_new(array, value) == 0;
}

/* An object or an array. */
static json_t *read_list(struct reader *reader, json_t *list, bool (*read_one)(struct reader *, json_t *),
    char close, const char *expected) {
    if (++reader->depth > HFD_JSON_DEPTH)
        return fail(reader, reader->at,
            hf_arena_printf(reader->arena, "nested deeper than %d levels", HFD_JSON_DEPTH));
    reader->at++;
    skip_space(reader);
    bool more = seen(reader, reader->at) != close;
    while (more) {
        if (!read_one(reader, list)) return NULL;
        skip_space(reader);
        more = took(reader, ',');
    }
    reader->depth--;
    return took(reader, close) ? list : fail(reader, reader->at, expected);
}

static json_t *read_word(struct reader *reader, const char *word, json_t *value) {
    const size_t length = strlen(word);
    if ((size_t)(reader->end - reader->at) < length || memcmp(reader->at, word, length) != 0)
        return fail(reader, reader->at, "expected a value");
    reader->at += length;
    return value;
}

static json_t *read_string(struct reader *reader) {
    size_t length;
    reader->at++;
    const char *text = read_text(reader, &length);
    return text ? json_stringn_nocheck(text, length) : NULL;
}

static json_t *read_value(struct reader *reader) {
    skip_space(reader);
    switch (seen(reader, reader->at)) {
    case '{':
        return read_list(reader, json_object(), read_member, '}', "expected , or } behind a member");
    case '[':
        return read_list(reader, json_array(), read_item, ']', "expected , or ] behind an item");
    case '"':
        return read_string(reader);
    case 't':
        return read_word(reader, "true", json_true());
    case 'f':
        return read_word(reader, "false", json_false());
    case 'n':
        return read_word(reader, "null", json_null());
    default:
        break;
    }
    const char c = seen(reader, reader->at);
    return c == '-' || (c >= '0' && c <= '9') ? read_number(reader)
                                              : fail(reader, reader->at, "expected a value");
}

/* Where the reader stands: columns count characters. */
static const char *told(const struct reader *reader) {
    int line = 1, column = 1;
    for (const char *c = reader->begin; c < reader->at; c++) {
        column += ((unsigned char)*c & 0xC0) != 0x80;
        if (*c == '\n') line++, column = 1;
    }
    return hf_arena_printf(reader->arena, "line %d, column %d: %s", line, column, reader->fault);
}

json_t *hfd_json_parse(const char *text, size_t length, hf_arena *arena, const char **detail) {
    static once_flag once = ONCE_FLAG_INIT;
    call_once(&once, use_arenas);
    memory = arena;
    struct reader reader = {.begin = text, .at = text, .end = text + length, .arena = arena};
    json_t *json = read_value(&reader);
    if (json) {
        skip_space(&reader);
        if (reader.at < reader.end) json = fail(&reader, reader.at, "expected nothing behind the value");
    }
    *detail = json ? NULL : told(&reader);
    return json;
}
