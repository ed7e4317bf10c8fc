#include "token.h"

#include <assert.h>
#include <string.h>
#include <strings.h>

#include "../base/digest.h"
#include "../base/secret.h"

static_assert(HFD_TOKEN_DIGEST_SIZE == HFD_DIGEST_HEX, "one digest, one size");

bool hfd_token_digest(const char *authorization, char digest_hex[HFD_TOKEN_DIGEST_SIZE]) {
    /* The scheme's name ignores case (RFC 9110 §11.1). */
    static const char scheme[] = "Bearer ";
    if (authorization == NULL || strncasecmp(authorization, scheme, sizeof scheme - 1) != 0) return false;
    const char *token = authorization + sizeof scheme - 1;
    if (strlen(token) != HFD_SECRET_LENGTH || !hfd_secret_well_formed(HFD_TOKEN_PREFIX, token)) return false;
    hfd_digest_hex(token, HFD_SECRET_LENGTH, digest_hex);
    return true;
}
