#include "cursor.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "../base/fnv.h"
#include "../base/utf8.h"
#include "../base/uuid.h"

static const char ALPHABET[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

enum { DIGEST_LENGTH = 16, ID_LENGTH = 36 };

/* Base64url without padding (RFC 4648 §5). */
static char *encode(const char *bytes, size_t count, hf_arena *arena) {
    char *out = hf_arena_alloc(arena, count / 3 * 4 + 4), *o = out;
    uint32_t bits = 0;
    int held = 0;
    for (size_t i = 0; i < count; i++) {
        bits = (bits << 8 | (unsigned char)bytes[i]) & 0xffffff;
        held += 8;
        while (held >= 6)
            *o++ = ALPHABET[bits >> (held -= 6) & 63];
    }
    if (held > 0) *o++ = ALPHABET[bits << (6 - held) & 63];
    *o = '\0';
    return out;
}

static char *decode(const char *text, size_t *count, hf_arena *arena) {
    char *out = hf_arena_alloc(arena, strlen(text) + 1), *o = out;
    uint32_t bits = 0;
    int held = 0;
    for (; *text != '\0'; text++) {
        const char *at = strchr(ALPHABET, *text);
        if (at == NULL) return NULL;
        bits = (bits << 6 | (uint32_t)(at - ALPHABET)) & 0xffffff;
        held += 6;
        if (held >= 8) *o++ = (char)(bits >> (held -= 8) & 0xff);
    }
    *count = (size_t)(o - out);
    *o = '\0';
    return out;
}

static const char *digest_of(const char *question, const char *sort_value, const char *id, hf_arena *arena) {
    const char *whole = hf_arena_printf(arena, "%s\n%s\n%s", question, id, sort_value);
    return hf_arena_printf(arena, "%016" PRIx64, hfd_fnv1a(whole));
}

const char *hfd_cursor_write(const char *question, const char *sort_value, const char *id, hf_arena *arena) {
    const char *plain =
        hf_arena_printf(arena, "%s%s%s", digest_of(question, sort_value, id, arena), id, sort_value);
    return encode(plain, strlen(plain), arena);
}

bool hfd_cursor_read(const char *text, hf_arena *arena, struct hfd_cursor *out) {
    size_t count;
    const char *plain = decode(text, &count, arena);
    if (plain == NULL || count < DIGEST_LENGTH + ID_LENGTH || strlen(plain) != count) return false;
    if (!hfd_utf8_valid(plain, count)) return false;
    out->digest = hf_arena_printf(arena, "%.*s", DIGEST_LENGTH, plain);
    out->id = hf_arena_printf(arena, "%.*s", ID_LENGTH, plain + DIGEST_LENGTH);
    out->sort_value = plain + DIGEST_LENGTH + ID_LENGTH;
    return hfd_uuid_valid(out->id);
}

bool hfd_cursor_answers(const struct hfd_cursor *cursor, const char *question, hf_arena *arena) {
    return strcmp(cursor->digest, digest_of(question, cursor->sort_value, cursor->id, arena)) == 0;
}
