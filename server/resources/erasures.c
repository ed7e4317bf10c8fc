/* What is left of erased patients. */
#include "common.h"

static const struct hfd_column columns[] = {
    {.name = "id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY, .what = "Id that the patient had."},
    {.name = "erased_at",
        .kind = HFD_COLUMN_TIME,
        .flags = HFD_READ_ONLY | HFD_SORT | HFD_RANGE,
        .what = "Time of the erasure."},
    {.name = "reason", .kind = HFD_COLUMN_TEXT, .flags = HFD_READ_ONLY, .what = "Why."},
    {.name = "token_id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY, .what = "Who: the token."},
};

const struct hfd_resource hfd_resource_erasures = {
    .path = "/v1/erasures",
    .noun = "erasure",
    .table = "erasures",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST,
    .read_roles = HFD_AUDIT_READERS,
    .sort = "-erased_at",
};
