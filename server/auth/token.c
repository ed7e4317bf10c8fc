#include "token.h"

#include <assert.h>
#include <string.h>
#include <strings.h>

#include "../base/digest.h"
#include "../base/secret.h"

static_assert(HFD_TOKEN_DIGEST_SIZE == HFD_DIGEST_HEX, "one digest, one size");

/* Looks at every character whatever the ones before: the time taken tells nothing about a token. */
static bool well_formed(const char *token) {
    static const char alphabet[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    const size_t prefix = sizeof HFD_SECRET_PREFIX - 1;
    bool good = memcmp(token, HFD_SECRET_PREFIX, prefix) == 0;
    for (size_t i = prefix; i < HFD_SECRET_LENGTH; i++)
        good &= memchr(alphabet, token[i], sizeof alphabet - 1) != NULL;
    return good;
}

bool hfd_token_digest(const char *authorization, char digest_hex[HFD_TOKEN_DIGEST_SIZE]) {
    /* The scheme's name ignores case (RFC 9110 §11.1). */
    static const char scheme[] = "Bearer ";
    if (authorization == NULL || strncasecmp(authorization, scheme, sizeof scheme - 1) != 0) return false;
    const char *token = authorization + sizeof scheme - 1;
    if (strlen(token) != HFD_SECRET_LENGTH || !well_formed(token)) return false;
    hfd_digest_hex(token, HFD_SECRET_LENGTH, digest_hex);
    return true;
}
