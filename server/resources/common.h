/* Rows that every table of columns has. */
#ifndef HFD_COMMON_H
#define HFD_COMMON_H

#include "../rest/op.h"

#define HFD_COLUMNS_BEFORE                                                                                   \
    {.name = "id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY, .what = "Given by the service."}, {      \
        .name = "version", .kind = HFD_COLUMN_INT, .flags = HFD_READ_ONLY | HFD_ETAG,                        \
        .what = "Counts the changes from 1; the ETag shows it."                                              \
    }

#define HFD_COLUMNS_AFTER                                                                                    \
    {.name = "created_at",                                                                                   \
        .kind = HFD_COLUMN_TIME,                                                                             \
        .flags = HFD_READ_ONLY | HFD_SORT,                                                                   \
        .what = "Time of creation."},                                                                        \
    {                                                                                                        \
        .name = "updated_at", .kind = HFD_COLUMN_TIME, .flags = HFD_READ_ONLY | HFD_SORT | HFD_RANGE,        \
        .what = "Time of the last change."                                                                   \
    }

/* Rows brought in as a table; the resource says how in `import`. */
#define HFD_IMPORT_ROUTE(route_path, table)                                                                  \
    {                                                                                                        \
        .method = HFD_POST, .path = route_path,                                                              \
        .what = "Bring in up to 20000 rows as a table with a header, a word on each; all of them or none",   \
        .takes_type = "text/csv", .takes = "{type: string, minLength: 1, maxLength: 1048576}",               \
        .answers = HFD_IMPORT_REPORT, .example = table, .roles = HFD_CHART_WRITERS, .writes = true,          \
        .operation = hfd_op_import, .query = (const char *const[]) {                                         \
            "dry_run", "on_existing", "on_bad", NULL                                                         \
        }                                                                                                    \
    }
#define HFD_IMPORT_REPORT                                                                                                \
    "{type: object, additionalProperties: false, required: [dry_run, rows, created, updated, skipped, refused, items], " \
    "properties: {dry_run: {type: boolean}, rows: {type: integer}, created: {type: integer}, updated: {type: integer}, " \
    "skipped: {type: integer}, refused: {type: integer}, items: {type: array, items: {type: object, "                    \
    "additionalProperties: false, required: [line, result], properties: {line: {type: integer, minimum: 2}, "            \
    "result: {enum: [created, updated, skipped, refused]}, id: {type: string, format: uuid}, errors: {type: array, "     \
    "items: {type: object, additionalProperties: false, required: [detail], properties: {column: {type: string}, "       \
    "detail: {type: string}}}}}}}}}"

#endif
