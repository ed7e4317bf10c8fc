/* Several rows in one transaction. */
#include "../rest/op.h"
#include "common.h"

static const struct hfd_route routes[] = {
    {.method = HFD_POST,
        .path = "/v1/batch",
        .what = "Create and change up to 100 rows in order, all of them or none",
        .takes =
            "{type: object, required: [items], additionalProperties: false, properties: {items: {type: array, "
            "minItems: 1, maxItems: 100, items: {type: object, required: [method, path, body], "
            "additionalProperties: false, properties: {"
            "method: {type: string, enum: [POST, PATCH]}, "
            "path: {type: string, minLength: 1, maxLength: 200, description: \"Of a resource to create a row, of a row to change it.\"}, "
            "if_match: {type: string, minLength: 1, maxLength: 200, description: \"Needed by PATCH: the row's ETag.\"}, "
            "ref: {type: string, minLength: 1, maxLength: 200, description: \"A name for the row that is created: "
            "{\\\"$ref\\\": name} in the body of a later item stands for its id.\"}, "
            "body: {type: object, description: \"What the same request alone would take.\"}}}}}}",
        .answers =
            "{type: object, required: [items], additionalProperties: false, properties: {items: {type: array, "
            "items: {type: object, required: [status, etag], additionalProperties: false, properties: {"
            "status: {type: integer, enum: [200, 201, 204]}, ref: {type: string}, location: {type: string}, etag: {type: string}, "
            "body: {type: object, description: \"The row as it stands.\"}}}}}}",
        /* Without a reference: many readers of such descriptions would follow it. */
        .example =
            "{\"items\": [{\"method\": \"POST\", \"path\": \"/v1/patients\", \"ref\": \"p\", "
            "\"body\": {\"chart_number\": \"2026-0042\"}}, "
            "{\"method\": \"POST\", \"path\": \"/v1/screw-models\", "
            "\"body\": {\"name\": \"2.0 x 8\", \"diameter_mm\": 2, \"core_mm\": 1.5, \"length_mm\": 8}}]}",
        .roles = HFD_CHART_WRITERS,
        .writes = true,
        .operation = hfd_op_batch},
};

const struct hfd_resource hfd_resource_batch = {.routes = routes, .route_count = HFD_COUNT(routes)};
