#include "form.h"

#include <stdbool.h>
#include <string.h>

#include "utf8.h"

static int hex_value(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
}

static bool is_control(char c, enum hfd_encoded where) {
    if (where == HFD_IN_FORM && c != '\0' && strchr("\t\r\n", c)) return false;
    return (unsigned char)c < 0x20 || c == 0x7f;
}

const char *hfd_percent_decode(const char *from, size_t length, enum hfd_encoded where, char **to) {
    char *start = *to, *out = *to;
    for (size_t i = 0; i < length; i++) {
        char c = from[i];
        if (c == '%') {
            int high = length - i > 2 ? hex_value(from[i + 1]) : -1;
            int low = high >= 0 ? hex_value(from[i + 2]) : -1;
            if (low < 0) return "a % is not followed by two hexadecimal digits";
            c = (char)(high * 16 + low);
            i += 2;
            if (c == '/' && where == HFD_IN_PATH) return "a path segment holds an escaped slash";
        } else if (c == '+' && where != HFD_IN_PATH) {
            c = ' ';
        }
        if (is_control(c, where)) return "it holds an escaped control character";
        *out++ = c;
    }
    if (!hfd_utf8_valid(start, (size_t)(out - start))) return "its escapes are not UTF-8 text";
    *out++ = '\0';
    *to = out;
    return NULL;
}

const char *hfd_pairs_decode(
    const char *text, enum hfd_encoded where, hf_arena *arena, const struct hfd_pair **pairs, size_t *count) {
    size_t room = 1;
    for (const char *c = text; *c != '\0' && room < HFD_PAIRS_MAX; c++)
        room += *c == '&';
    struct hfd_pair *list = HF_NEW_ARRAY(arena, struct hfd_pair, room);
    /* Decoded text is never longer, and no byte brings more than one NUL: "a&b" is "a", "", "b", "". */
    char *to = hf_arena_alloc(arena, 2 * strlen(text) + 2);
    *pairs = list;
    *count = 0;
    for (const char *next; text; text = next ? next + 1 : NULL) {
        size_t length = strcspn(text, "&");
        next = text[length] ? text + length : NULL;
        if (length == 0) continue;
        if (*count == HFD_PAIRS_MAX) return "it has too many parameters";
        const char *equals = memchr(text, '=', length);
        size_t name_length = equals ? (size_t)(equals - text) : length;
        size_t skip = equals ? name_length + 1 : length;
        struct hfd_pair pair = {.name = to};
        const char *wrong = hfd_percent_decode(text, name_length, where, &to);
        pair.value = to;
        if (!wrong) wrong = hfd_percent_decode(text + skip, length - skip, where, &to);
        if (wrong) return wrong;
        list[(*count)++] = pair;
    }
    return NULL;
}

const char *hfd_pairs_find(const struct hfd_pair *pairs, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(pairs[i].name, name) == 0) return pairs[i].value;
    return NULL;
}

void hfd_buf_percent(struct hfd_buf *buf, const char *text) {
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~";
    for (; *text != '\0'; text++) {
        if (strchr(plain, *text))
            hfd_buf_char(buf, *text);
        else
            hfd_buf_printf(buf, "%%%02X", (unsigned char)*text);
    }
}
