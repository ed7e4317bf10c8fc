/* The SQL of the resources, made once per worker from their tables of columns. */
#ifndef HFD_TEXTS_H
#define HFD_TEXTS_H

#include "resource.h"

struct hfd_texts {
    const char *columns; /* select list of row t; ends with the patient when rows are about one */
    const char *from;
    struct hfd_statement read;           /* (id) */
    struct hfd_statement lock;           /* (id) */
    struct hfd_statement insert, update; /* (id, writable cells …) */
    struct hfd_statement
        references; /* (cells that refer to another row …): (pointer, detail) per dangling one */
    struct hfd_statement *rules;
    struct hfd_statement trace; /* (id, action, path, request): notes in the audit what was done to a row */
    struct hfd_statement
        subject;         /* (id): whom the row is about, NULL for nobody; no row when it is not there */
    const char *patient; /* whom row t is about; NULL: nobody */
    size_t patient_at;   /* its place in the select list */
};

/* One per resource of the NULL-ended list. */
struct hfd_texts *hfd_texts_new(const struct hfd_resource *const *resources, hf_arena *arena);

/* Those of another resource than op's own. */
const struct hfd_texts *hfd_texts_of(const struct hfd_op *op, const struct hfd_resource *resource);

/* Index of a column by name, or -1. */
int hfd_column_find(const struct hfd_resource *resource, const char *name);

#endif
