/* JSON Schema (2020-12, as OpenAPI 3.1 has it) of tables of fields and of columns, written as YAML. */
#ifndef HFD_SCHEMA_H
#define HFD_SCHEMA_H

#include "../base/buf.h"
#include "../json/field.h"
#include "resource.h"

/* What the schema is of. */
enum hfd_schema_use {
    HFD_SCHEMA_NEW,    /* a body that creates */
    HFD_SCHEMA_CHANGE, /* a merge patch */
    HFD_SCHEMA_READ    /* an answer */
};

/* "screw model" as ScrewModel. */
void hfd_schema_name(struct hfd_buf *out, const char *noun);

/* Each begins behind "name:" and ends with a new line; nested lines are indented by more than `indent`. */
void hfd_schema_field(
    struct hfd_buf *out, int indent, const struct hfd_field *field, enum hfd_schema_use use);
void hfd_schema_table(
    struct hfd_buf *out, int indent, const struct hfd_table *table, enum hfd_schema_use use);
/* A column that is no part; in one line. */
void hfd_schema_column(struct hfd_buf *out, const struct hfd_column *column, enum hfd_schema_use use);
void hfd_schema_resource(
    struct hfd_buf *out, int indent, const struct hfd_resource *resource, enum hfd_schema_use use);

/* The components that the above refer to, each as "    Name:" and its schema. */
void hfd_schema_shared(struct hfd_buf *out);

#endif
