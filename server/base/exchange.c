#include "exchange.h"

#include <assert.h>

#include "form.h"

const char *hfd_request_header(const struct hfd_request *request, const char *name) {
    return hfd_pairs_find(request->headers, request->header_count, name);
}

const char *hfd_request_query(const struct hfd_request *request, const char *name) {
    return hfd_pairs_find(request->query, request->query_count, name);
}

void hfd_reply_header(struct hfd_reply *reply, const char *name, const char *value) {
    assert(reply->header_count < HFD_REPLY_HEADERS_MAX);
    reply->headers[reply->header_count++] = (struct hfd_pair){name, value};
}
