/* Pages of other origins, by the list in the settings (Fetch standard, CORS protocol). Tokens stand in a
 * field of their own and never in a cookie, so no reply allows credentials. */
#include <string.h>

#include "../base/origin.h"
#include "inside.h"

static const char exposed[] =
    "ETag, Link, Location, Retry-After, RateLimit, RateLimit-Policy, Idempotency-Replayed, "
    "Preference-Applied, X-Request-Id";
static const char taken[] = "Authorization, Content-Type, If-Match, If-None-Match, Idempotency-Key, Prefer, "
                            "Last-Event-ID, X-Request-Id, traceparent";
static const char preflight_s[] = "600";

static const char *reply_header(const struct hfd_reply *reply, const char *name) {
    for (size_t i = 0; i < reply->header_count; i++)
        if (strcmp(reply->headers[i].name, name) == 0) return reply->headers[i].value;
    return NULL;
}

void hfd_cors_add(const struct hfd_exchange *exchange, struct MHD_Response *response) {
    const struct hfd_request *request = &exchange->request;
    const char *origins = exchange->http->config.cors_origins;
    if (origins == NULL || *origins == '\0') return;
    MHD_add_response_header(response, "Vary", "Origin");
    const char *origin = hfd_request_header(request, "origin");
    if (origin == NULL || !hfd_origins_have(origins, origin)) return;
    MHD_add_response_header(response, "Access-Control-Allow-Origin", origin);
    const char *allow = reply_header(&exchange->reply, "Allow");
    bool preflight = request->method == HFD_OPTIONS &&
                     hfd_request_header(request, "access-control-request-method") != NULL;
    if (!preflight || allow == NULL) {
        MHD_add_response_header(response, "Access-Control-Expose-Headers", exposed);
        return;
    }
    MHD_add_response_header(response, "Access-Control-Allow-Methods", allow);
    MHD_add_response_header(response, "Access-Control-Allow-Headers", taken);
    MHD_add_response_header(response, "Access-Control-Max-Age", preflight_s);
}
