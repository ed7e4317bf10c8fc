#include "browser.h"

#include <string.h>
#include <strings.h>

#include "../base/digest.h"
#include "../base/secret.h"

/* By this prefix browsers take the cookie only with Secure, Path=/ and no Domain: no neighbour can plant it.
 */
static const char *name_of(bool secure) {
    return secure ? "__Host-holdfast_session" : "holdfast_session";
}

/* The secret in one Cookie field (RFC 6265 §4.2.1), or NULL. */
static const char *find_secret(const char *field, const char *name) {
    const size_t length = strlen(name);
    while (*field != '\0') {
        field += strspn(field, " ;");
        const size_t pair = strcspn(field, ";");
        if (pair == length + 1 + HFD_SECRET_LENGTH && strncmp(field, name, length) == 0 &&
            field[length] == '=' && hfd_secret_well_formed(HFD_SESSION_PREFIX, field + length + 1))
            return field + length + 1;
        field += pair;
    }
    return NULL;
}

bool hfd_session_digest(
    const struct hfd_request *request, bool secure, char digest_hex[HFD_TOKEN_DIGEST_SIZE]) {
    for (size_t i = 0; i < request->header_count; i++) {
        if (strcmp(request->headers[i].name, "cookie") != 0) continue;
        const char *secret = find_secret(request->headers[i].value, name_of(secure));
        if (secret == NULL) continue;
        hfd_digest_hex(secret, HFD_SECRET_LENGTH, digest_hex);
        return true;
    }
    return false;
}

/* No lifetime: it ends with the browser, and in the database before that. */
const char *hfd_session_cookie(const char *secret, bool secure, hf_arena *arena) {
    return hf_arena_printf(arena, "%s=%s; Path=/; HttpOnly; SameSite=Strict%s%s", name_of(secure),
        secret ? secret : "", secure ? "; Secure" : "", secret ? "" : "; Max-Age=0");
}

/* Browsers tell Sec-Fetch-Site to where scripts cannot forge it (Fetch Metadata, W3C), but only over HTTPS
 * and to this machine; Origin with every POST. */
bool hfd_same_origin(const struct hfd_request *request) {
    const char *site = hfd_request_header(request, "sec-fetch-site");
    if (site != NULL) return strcmp(site, "same-origin") == 0;
    const char *origin = hfd_request_header(request, "origin"), *host = hfd_request_header(request, "host");
    const char *scheme = origin != NULL ? strstr(origin, "://") : NULL;
    return scheme != NULL && host != NULL && strcasecmp(scheme + 3, host) == 0;
}
