#include "exchange.h"

#include <assert.h>
#include <string.h>

static const char *find(const struct hfd_pair *pairs, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++) {
        if (strcmp(pairs[i].name, name) == 0) return pairs[i].value;
    }
    return NULL;
}

const char *hfd_request_header(const struct hfd_request *request, const char *name) {
    return find(request->headers, request->header_count, name);
}

const char *hfd_request_query(const struct hfd_request *request, const char *name) {
    return find(request->query, request->query_count, name);
}

void hfd_reply_header(struct hfd_reply *reply, const char *name, const char *value) {
    assert(reply->header_count < HFD_REPLY_HEADERS_MAX);
    reply->headers[reply->header_count++] = (struct hfd_pair){name, value};
}
