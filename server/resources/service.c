/* About the service itself: is it alive, can it work, what does it offer. */
#include <string.h>

#include "../rest/resource.h"

extern const char hfd_openapi_text[];
extern const size_t hfd_openapi_length;

/* Never touches the database. */
static enum hfd_problem_kind alive(struct hfd_op *op) {
    static const char body[] = "{\"status\":\"alive\"}";
    return hfd_op_json(op, body, sizeof body - 1);
}

static enum hfd_problem_kind ready(struct hfd_op *op) {
    static const char body[] = "{\"status\":\"ready\"}";
    if (hfd_store_ready(op->store)) return hfd_op_json(op, body, sizeof body - 1);
    op->detail =
        "The database does not answer, or its schema is not the one that this program was built with.";
    return HFD_DATABASE_UNAVAILABLE;
}

static enum hfd_problem_kind contract(struct hfd_op *op) {
    hfd_op_json(op, hfd_openapi_text, hfd_openapi_length);
    op->reply->content_type = "application/yaml";
    return HFD_OK;
}

static const struct hfd_route routes[] = {
    {.method = HFD_GET, .path = "/livez", .roles = HFD_PUBLIC, .operation = alive},
    {.method = HFD_GET, .path = "/readyz", .roles = HFD_PUBLIC, .operation = ready},
    {.method = HFD_GET,
        .path = "/v1/openapi.yaml",
        .roles = HFD_PUBLIC,
        .operation = contract,
        .produces = "application/yaml"},
};

const struct hfd_resource hfd_resource_service = {.routes = routes, .route_count = HFD_COUNT(routes)};
