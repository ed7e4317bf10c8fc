/* Plates the clinic makes again and again. A setup copies its pattern and keeps the copy. */
#include "plate.h"

static const struct hfd_column columns[] = {
    HFD_COLUMNS_BEFORE,
    {.name = "name",
        .kind = HFD_COLUMN_TEXT,
        .flags = HFD_REQUIRED | HFD_FILTER | HFD_SORT,
        .what = "Name in the clinic's words."},
    {.name = "purpose", .kind = HFD_COLUMN_TEXT, .flags = HFD_FILTER, .what = "What it is for."},
    HFD_PLATE_COLUMNS,
    {.name = "effective_from", .kind = HFD_COLUMN_DATE, .what = "First day of use; left out: always."},
    {.name = "effective_to",
        .kind = HFD_COLUMN_DATE,
        .what = "First day it is no longer chosen; left out: open."},
    HFD_COLUMNS_AFTER,
};

static void check(const struct hfd_row *row, struct hfd_errors *errors) {
    hfd_row_ordered(row, "effective_from", "effective_to", errors);
}

static const struct hfd_rule rules[] = {HFD_PLATE_RULE};

const struct hfd_resource hfd_resource_plate_patterns = {
    .path = "/v1/plate-patterns",
    .noun = "plate pattern",
    .example =
        "{\"name\": \"palatal, two seats\", \"material\": \"titanium-grade-4\", \"nodes\": ["
        "{\"name\": \"seat\", \"at_mm\": {\"palate\": {\"right_mm\": 4, \"behind_incisors_mm\": 26}}}, "
        "{\"name\": \"hook\", \"at_mm\": {\"palate\": {\"right_mm\": 13, \"behind_incisors_mm\": 38}}}], "
        "\"bars\": [{\"from\": \"seat\", \"to\": \"hook\", \"section\": {\"round_mm\": 1.2}}], "
        "\"fittings\": [{\"node\": \"hook\", \"kind\": \"hook\"}]}",
    .change = "{\"purpose\": \"intrusion\"}",
    .table = "plate_patterns",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
    .read_roles = HFD_CATALOGUE_READERS,
    .write_roles = HFD_CATALOGUE_WRITERS,
    .sort = "name",
    .check = check,
    .rules = rules,
    .rule_count = HFD_COUNT(rules),
    .untraced = true,
};
