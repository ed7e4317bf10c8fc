/* About the service itself: is it alive, can it work, what does it offer. */
#include <string.h>

#include "../pages/contract.h"
#include "../rest/openapi.h"

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
    struct hfd_buf out;
    hfd_buf_init(&out, op->arena, 131072);
    hfd_openapi_write(&out, hfd_resources);
    return hfd_op_text(op, "application/yaml", &out);
}

/* A rendering of the text that is served, so that it can tell nothing else. */
static enum hfd_problem_kind contract_page(struct hfd_op *op) {
    struct hfd_buf text, page;
    hfd_buf_init(&text, op->arena, 131072);
    hfd_openapi_write(&text, hfd_resources);
    hfd_buf_init(&page, op->arena, 524288);
    hfd_contract_page(&page, text.text);
    return hfd_op_page(op, &page, false);
}

static const struct hfd_route routes[] = {
    {.method = HFD_GET,
        .path = "/livez",
        .roles = HFD_PUBLIC,
        .operation = alive,
        .what = "Is the program there? Never touches the database",
        .answers = "{type: object, required: [status], properties: {status: {const: alive}}}"},
    {.method = HFD_GET,
        .path = "/readyz",
        .roles = HFD_PUBLIC,
        .operation = ready,
        .what = "Can it work? The database answers and has the right schema",
        .answers = "{type: object, required: [status], properties: {status: {const: ready}}}"},
    {.method = HFD_GET,
        .path = "/v1/openapi.yaml",
        .roles = HFD_PUBLIC,
        .operation = contract,
        .produces = "application/yaml",
        .what = "This description",
        .answers = "{type: string}"},
    {.method = HFD_GET,
        .path = "/api",
        .roles = HFD_PUBLIC,
        .operation = contract_page,
        .produces = "text/html",
        .what = "This description as a page"},
};

const struct hfd_resource hfd_resource_service = {.routes = routes, .route_count = HFD_COUNT(routes)};
