#include "secret.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>

void hfd_secret_new(char out[HFD_SECRET_LENGTH + 1]) {
    unsigned char random[32];
    if (sodium_init() < 0) abort(); /* no source of randomness: better none than a weak secret */
    randombytes_buf(random, sizeof random);
    const size_t prefix = sizeof HFD_SECRET_PREFIX - 1;
    memcpy(out, HFD_SECRET_PREFIX, prefix);
    sodium_bin2base64(out + prefix, HFD_SECRET_LENGTH + 1 - prefix, random, sizeof random,
        sodium_base64_VARIANT_URLSAFE_NO_PADDING);
    sodium_memzero(random, sizeof random);
}
