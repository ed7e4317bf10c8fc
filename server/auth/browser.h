/* What a browser sends by itself: the cookie of a session, and where a request comes from. A session stands
 * for the token that it was opened with; its secret is known to the browser alone. */
#ifndef HFD_BROWSER_H
#define HFD_BROWSER_H

#include <stdbool.h>

#include "../base/exchange.h"
#include "token.h"

/* `secure`: the browser reaches us by HTTPS. False: no cookie of the form that we give out. */
bool hfd_session_digest(
    const struct hfd_request *request, bool secure, char digest_hex[HFD_TOKEN_DIGEST_SIZE]);
/* A Set-Cookie field; `secret` NULL: that takes it away. */
const char *hfd_session_cookie(const char *secret, bool secure, hf_arena *arena);

/* Was the request made by a page of this server? A browser adds the cookie whoever made it. */
bool hfd_same_origin(const struct hfd_request *request);

#endif
