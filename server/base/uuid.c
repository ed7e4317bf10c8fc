#include "uuid.h"

#include <sodium.h>
#include <string.h>

#include "clock.h"

static const char hyphen_before[16] = {[4] = 1, [6] = 1, [8] = 1, [10] = 1};

void hfd_uuid_make(int64_t unix_ms, const unsigned char random[10], char out[HFD_UUID_TEXT_SIZE]) {
    static const char digits[] = "0123456789abcdef";
    unsigned char bytes[16];
    for (int i = 0; i < 6; i++) {
        bytes[i] = (unsigned char)((uint64_t)unix_ms >> (40 - 8 * i));
    }
    memcpy(bytes + 6, random, 10);
    bytes[6] = (unsigned char)(0x70 | (bytes[6] & 0x0f));
    bytes[8] = (unsigned char)(0x80 | (bytes[8] & 0x3f));
    char *to = out;
    for (int i = 0; i < 16; i++) {
        if (hyphen_before[i]) *to++ = '-';
        *to++ = digits[bytes[i] >> 4];
        *to++ = digits[bytes[i] & 15];
    }
    *to = '\0';
}

bool hfd_uuid_init(void) {
    return sodium_init() >= 0;
}

void hfd_uuid_new(char out[HFD_UUID_TEXT_SIZE]) {
    unsigned char random[10];
    randombytes_buf(random, sizeof random);
    hfd_uuid_make(hfd_clock_unix_ms(), random, out);
}

static bool is_hex(char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}

bool hfd_uuid_valid(const char *text) {
    for (int i = 0; i < 16; i++) {
        if (hyphen_before[i] && *text++ != '-') return false;
        if (!is_hex(text[0]) || !is_hex(text[1])) return false;
        text += 2;
    }
    return *text == '\0';
}
