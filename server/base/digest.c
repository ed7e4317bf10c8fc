#include "digest.h"

#include <sodium.h>

void hfd_digest_hex(const void *bytes, size_t count, char out[HFD_DIGEST_HEX]) {
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, bytes, count);
    sodium_bin2hex(out, HFD_DIGEST_HEX, digest, sizeof digest);
}
