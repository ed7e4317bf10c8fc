/* The what-if door: a mechanics document in, its answer out, nothing stored. */
#include "../json/document.h"
#include "../rest/op.h"

static const char *const TYPES[] = {"application/json", NULL};

static enum hfd_problem_kind evaluate(struct hfd_op *op) {
    enum hfd_problem_kind kind = hfd_op_run(op, NULL, 0);
    if (kind == HFD_OK) kind = hfd_op_body(op, TYPES, "Accept-Post");
    if (kind != HFD_OK) return kind;
    struct hfd_evaluation e;
    hfd_document_evaluate(op->request->body, op->request->body_len, true, HFD_ANSWER_WHOLE, op->arena, &e);
    if (e.kind == HFD_OK) return hfd_op_json(op, e.body, e.body_len);
    op->detail = e.detail;
    op->errors = e.errors;
    return e.kind;
}

static const struct hfd_route routes[] = {
    {.method = HFD_POST,
        .path = "/v1/mechanics/evaluate",
        .roles = "{clinician,assistant,dashboard,integrator,auditor,admin}",
        .operation = evaluate},
};

const struct hfd_resource hfd_resource_mechanics = {.routes = routes, .route_count = HFD_COUNT(routes)};
