#include "secret.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>

static const size_t prefix_length = 3;

void hfd_secret_new(const char prefix[static 4], char out[HFD_SECRET_LENGTH + 1]) {
    unsigned char random[32];
    if (sodium_init() < 0) abort(); /* no source of randomness: better none than a weak secret */
    randombytes_buf(random, sizeof random);
    memcpy(out, prefix, prefix_length);
    sodium_bin2base64(out + prefix_length, HFD_SECRET_LENGTH + 1 - prefix_length, random, sizeof random,
        sodium_base64_VARIANT_URLSAFE_NO_PADDING);
    sodium_memzero(random, sizeof random);
}

bool hfd_secret_well_formed(const char prefix[static 4], const char *text) {
    static const char alphabet[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    bool good = memcmp(text, prefix, prefix_length) == 0;
    for (size_t i = prefix_length; i < HFD_SECRET_LENGTH; i++)
        good &= memchr(alphabet, text[i], sizeof alphabet - 1) != NULL;
    return good;
}
