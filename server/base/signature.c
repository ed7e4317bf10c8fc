#include "signature.h"

#include <inttypes.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char secret_prefix[] = "whsec_", scheme[] = "v1,";
enum { SECRET_PREFIX = sizeof secret_prefix - 1, SCHEME = sizeof scheme - 1, KEY_MAX = 64 };

void hfd_signing_secret_new(char out[HFD_SIGNING_SECRET_LENGTH + 1]) {
    unsigned char random[32];
    if (sodium_init() < 0) abort(); /* no source of randomness: better none than a weak secret */
    randombytes_buf(random, sizeof random);
    memcpy(out, secret_prefix, SECRET_PREFIX);
    sodium_bin2base64(out + SECRET_PREFIX, HFD_SIGNING_SECRET_LENGTH + 1 - SECRET_PREFIX, random,
        sizeof random, sodium_base64_VARIANT_ORIGINAL);
    sodium_memzero(random, sizeof random);
}

bool hfd_signature(
    const char *secret, const char *id, int64_t timestamp_s, const char *body, char out[HFD_SIGNATURE_SIZE]) {
    unsigned char key[KEY_MAX], mac[crypto_auth_hmacsha256_BYTES];
    size_t key_length;
    if (sodium_init() < 0 || strncmp(secret, secret_prefix, SECRET_PREFIX) != 0 ||
        sodium_base642bin(key, sizeof key, secret + SECRET_PREFIX, strlen(secret) - SECRET_PREFIX, NULL,
            &key_length, NULL, sodium_base64_VARIANT_ORIGINAL) != 0)
        return false;
    char before[128];
    int length = snprintf(before, sizeof before, "%s.%" PRId64 ".", id, timestamp_s);
    if (length < 0 || length >= (int)sizeof before) return false;
    crypto_auth_hmacsha256_state state;
    crypto_auth_hmacsha256_init(&state, key, key_length);
    crypto_auth_hmacsha256_update(&state, (const unsigned char *)before, (unsigned)length);
    crypto_auth_hmacsha256_update(&state, (const unsigned char *)body, strlen(body));
    crypto_auth_hmacsha256_final(&state, mac);
    memcpy(out, scheme, SCHEME);
    sodium_bin2base64(
        out + SCHEME, HFD_SIGNATURE_SIZE - SCHEME, mac, sizeof mac, sodium_base64_VARIANT_ORIGINAL);
    sodium_memzero(key, sizeof key);
    return true;
}
