#include "text.h"

#include <string.h>

/* Shares of the font's size. */
static double advance(unsigned char lead) {
    static const char narrow[] = " .,:;'|!()[]ijlftrI/-", wide[] = "mwMW%@";
    if (lead < 0x80 && strchr(narrow, lead)) return 0.38;
    if (lead < 0x80 && strchr(wide, lead)) return 0.95;
    if (lead >= 'A' && lead <= 'Z') return 0.72;
    if (lead < 0x80) return 0.64;
    return lead < 0xE0 ? 0.68 : 1.0; /* Latin, Greek, Cyrillic, Hebrew, Arabic; all else: a full square */
}

/* Bytes of the character that begins here; those of a broken one count singly. */
static size_t bytes_of(const char *text) {
    size_t length = 1;
    while (((unsigned char)text[0] & 0xC0) == 0xC0 && ((unsigned char)text[length] & 0xC0) == 0x80)
        length++;
    return length;
}

double hfd_text_width(const char *text, double size) {
    double width = 0.0;
    for (; *text != '\0'; text += bytes_of(text))
        width += advance((unsigned char)*text) * size;
    return width;
}

const char *hfd_text_fitted(hf_arena *arena, const char *text, double size, double width) {
    if (hfd_text_width(text, size) <= width) return text;
    size_t length = 0;
    for (double left = width - size; text[length] != '\0'; length += bytes_of(text + length)) {
        left -= advance((unsigned char)text[length]) * size;
        if (left < 0.0) break;
    }
    return hf_arena_printf(arena, "%.*s\xE2\x80\xA6", (int)length, text);
}

const char *const *hfd_text_wrapped(
    hf_arena *arena, const char *text, double size, double width, size_t *count) {
    size_t room = 1 + strlen(text);
    const char **lines = HF_NEW_ARRAY(arena, const char *, room);
    for (*count = 0; *text != '\0'; (*count)++) {
        const char *end = text + strlen(text), *line = text;
        while (hfd_text_width(line, size) > width) {
            do
                end--;
            while (end > text && *end != ' ');
            if (end == text) end = text + strlen(text);
            line = hf_arena_printf(arena, "%.*s", (int)(end - text), text);
            if (*end == '\0') break;
        }
        lines[*count] = hfd_text_fitted(arena, line, size, width);
        text = *end == ' ' ? end + 1 : end;
    }
    return lines;
}
