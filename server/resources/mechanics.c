/* The what-if door: a mechanics document in, its answer out, nothing stored. */
#include "../draw/force_view.h"
#include "../json/document.h"
#include "../rest/op.h"

static const char *const TYPES[] = {"application/json", NULL};

/* One picture shows one document. */
static enum hfd_problem_kind draw(struct hfd_op *op, const struct hfd_evaluation *e, size_t view) {
    if (e->answer == NULL) {
        op->detail = "Variants are offered as application/json; a drawing shows one document.";
        return HFD_NOT_ACCEPTABLE;
    }
    struct hfd_buf buf;
    hfd_buf_init(&buf, op->arena, 65536);
    hfd_draw_force_view(&buf, false, e->input, e->answer, view, op->arena);
    return hfd_op_drawing(op, &buf);
}

static enum hfd_problem_kind evaluate(struct hfd_op *op) {
    size_t view;
    if (!hfd_op_choice(op, "view", hfd_force_views, &view)) return hfd_op_refuse(op, HFD_BAD_REQUEST);
    enum hfd_problem_kind kind = hfd_op_run(op, NULL, 0);
    if (kind == HFD_OK) kind = hfd_op_body(op, TYPES, "Accept-Post");
    if (kind != HFD_OK) return kind;
    struct hfd_evaluation e;
    hfd_document_evaluate(op->request->body, op->request->body_len, true, HFD_ANSWER_WHOLE, op->arena, &e);
    if (e.kind == HFD_OK && hfd_op_produces(op, "image/svg+xml")) return draw(op, &e, view);
    if (e.kind == HFD_OK) return hfd_op_json(op, e.body, e.body_len);
    op->detail = e.detail;
    op->errors = e.errors;
    return e.kind;
}

static const char example[] =
    "{\"frame\": \"occlusal-lps\", \"on\": \"2026-03-02\", "
    "\"segments\": [{\"name\": \"upper right molars\", \"teeth\": [\"16\", \"17\"], \"joined\": \"rigid\"}], "
    "\"screws\": [{\"name\": \"A\", \"site\": \"palate-paramedian\", \"entry_mm\": {\"palate\": {\"right_mm\": 4, "
    "\"behind_incisors_mm\": 26}}, \"axis\": \"perpendicular\", \"diameter_mm\": 2, \"core_mm\": 1.5, \"length_mm\": 8}], "
    "\"plate\": {\"name\": \"palatal plate\", \"material\": \"titanium-grade-4\", \"nodes\": ["
    "{\"name\": \"seat\", \"at_mm\": {\"palate\": {\"right_mm\": 4, \"behind_incisors_mm\": 26}}}, "
    "{\"name\": \"hook\", \"at_mm\": {\"palate\": {\"right_mm\": 13, \"behind_incisors_mm\": 38}}}], "
    "\"bars\": [{\"from\": \"seat\", \"to\": \"hook\", \"section\": {\"round_mm\": 1.2}}], "
    "\"seats\": [{\"node\": \"seat\", \"screw\": \"A\"}], \"fittings\": [{\"node\": \"hook\", \"kind\": \"hook\"}]}, "
    "\"elements\": [{\"name\": \"chain right\", \"kind\": \"chain\", \"from\": {\"fitting\": \"hook\"}, "
    "\"to\": {\"tooth\": \"16\", \"at\": \"palatal-attachment\"}, \"force_n\": {\"value\": 150, \"unit\": \"gf\"}}]}";

static const char *const view_query[] = {"view", NULL};
static const struct hfd_route routes[] = {
    {.method = HFD_POST,
        .path = "/v1/mechanics/evaluate",
        .what = "Evaluate a mechanics document, or up to 64 variants, and store nothing",
        .takes =
            "{oneOf: [{$ref: \"#/components/schemas/MechanicsDocument\"}, {type: object, required: [variants], "
            "additionalProperties: false, properties: {variants: {type: array, minItems: 1, maxItems: 64, items: "
            "{$ref: \"#/components/schemas/MechanicsDocument\"}}}}]}",
        .answers = "{oneOf: [{$ref: \"#/components/schemas/Answer\"}, {type: object, required: [variants], "
                   "additionalProperties: false, properties: {variants: {type: array, items: "
                   "{$ref: \"#/components/schemas/Answer\"}}}}]}",
        .produces = "application/json, image/svg+xml",
        .query = view_query,
        .example = example,
        .roles = HFD_EVERYONE,
        .operation = evaluate},
};

const struct hfd_resource hfd_resource_mechanics = {
    .routes = routes, .route_count = HFD_COUNT(routes), .untraced = true};
