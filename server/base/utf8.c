#include "utf8.h"

/* RFC 3629 §4: the first byte decides the length and the range of the second; all further ones are 80..BF. */
static const struct {
    unsigned char first_low, first_high, length, second_low, second_high;
} forms[] = {
    {0x00, 0x7f, 1, 0x00, 0x00},
    {0xc2, 0xdf, 2, 0x80, 0xbf},
    {0xe0, 0xe0, 3, 0xa0, 0xbf},
    {0xe1, 0xec, 3, 0x80, 0xbf},
    {0xed, 0xed, 3, 0x80, 0x9f},
    {0xee, 0xef, 3, 0x80, 0xbf},
    {0xf0, 0xf0, 4, 0x90, 0xbf},
    {0xf1, 0xf3, 4, 0x80, 0xbf},
    {0xf4, 0xf4, 4, 0x80, 0x8f},
};

size_t hfd_utf8_character(const char *text, size_t size) {
    const unsigned char *bytes = (const unsigned char *)text;
    for (size_t i = 0; size > 0 && i < sizeof forms / sizeof forms[0]; i++) {
        if (bytes[0] < forms[i].first_low || bytes[0] > forms[i].first_high) continue;
        size_t length = forms[i].length;
        if (length > size) return 0;
        if (length > 1 && (bytes[1] < forms[i].second_low || bytes[1] > forms[i].second_high)) return 0;
        for (size_t k = 2; k < length; k++) {
            if (bytes[k] < 0x80 || bytes[k] > 0xbf) return 0;
        }
        return length;
    }
    return 0;
}

bool hfd_utf8_valid(const char *text, size_t size) {
    while (size > 0) {
        size_t length = hfd_utf8_character(text, size);
        if (length == 0) return false;
        text += length;
        size -= length;
    }
    return true;
}
