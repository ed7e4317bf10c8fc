/* A resource's row between JSON and the text cells of the store. One table of columns drives both ways. */
#ifndef HFD_RECORD_H
#define HFD_RECORD_H

#include <stdbool.h>
#include <stddef.h>

#include "../../core/arena.h"
#include "../../core/limits.h"
#include "../base/buf.h"
#include "../base/problem.h"
#include "shapes.h"

enum hfd_column_kind {
    HFD_COLUMN_UUID,
    HFD_COLUMN_TEXT,
    HFD_COLUMN_INT,
    HFD_COLUMN_REAL, /* also {"value", "unit"}; the unit is the end of the name */
    HFD_COLUMN_BOOL,
    HFD_COLUMN_DATE,
    HFD_COLUMN_TIME, /* written by the database only */
    HFD_COLUMN_ENUM,
    HFD_COLUMN_IDS,  /* a list of UUIDs as JSON, written by the database only */
    HFD_COLUMN_PART, /* a JSON value checked against a shape, kept as it came */
    HFD_COLUMN_KIND_COUNT
};

enum hfd_column_flag {
    HFD_REQUIRED = 1,
    HFD_READ_ONLY = 2, /* set by the server */
    HFD_FIXED = 4,     /* given at creation, never changed */
    HFD_FILTER = 8,    /* lists take ?name= */
    HFD_RANGE = 16,    /* lists take ?name_from= and ?name_to=, both inclusive */
    HFD_SORT = 32,     /* lists take ?sort=name; never NULL in the table */
    HFD_ETAG = 64,     /* the counter that a strong ETag shows */
    HFD_ANY_TEXT = 128 /* TEXT with line ends and control characters */
};

struct hfd_column {
    const char *name; /* JSON member and SQL column */
    enum hfd_column_kind kind;
    unsigned flags;
    size_t max;                    /* TEXT: characters; 0 = HFD_TEXT_MAX */
    enum hf_limit limit;           /* INT, REAL */
    const char *const *names;      /* ENUM, NULL-ended */
    const struct hfd_shape *shape; /* PART */
    const char *table, *key;       /* the row it refers to; key NULL: id */
    const char *asked;             /* the filter's own condition, with %d for the number of its parameter */
    const char *const *conditions; /* of an ENUM or BOOL instead: one per name, or for false and true */
    const char *initial;           /* cell when left out at creation */
    const char *what;              /* one line */
};

#define HFD_TEXT_MAX 200

#define HFD_COUNT(array) (sizeof(array) / sizeof(array)[0])

/* Applies the merge patch (RFC 7396) `patch` to `current` (the row as JSON text; NULL: a new row) and checks
 * the result as a whole, all errors at once. Creation is a patch of the empty object, so a null there says
 * "not given". cells[count] receives a text per column, NULL = SQL NULL. *changed: the result differs from
 * `current`. HFD_OK, HFD_MALFORMED_JSON (*detail says where) or HFD_VALIDATION. */
enum hfd_problem_kind hfd_record_merge(const struct hfd_column *columns, size_t count, const char *current,
    const char *patch, size_t patch_len, hf_arena *arena, const char **cells, bool *changed,
    struct hfd_errors *errors, const char **detail);

/* The row as a JSON object; NULL cells are left out. */
void hfd_record_write(
    struct hfd_buf *out, const struct hfd_column *columns, size_t count, const char *const *cells);

/* A value told as bare text (query parameter, cursor): the words that say what is wrong with it, or NULL. */
const char *hfd_record_text_error(const struct hfd_column *column, const char *text, hf_arena *arena);

/* A value told as bare text as a member of an object, its name in front: numbers and JSON values as they are,
 * where they are some; else a string, which the column then refuses in its own words. */
void hfd_record_put_text(
    struct hfd_buf *out, const struct hfd_column *column, const char *text, hf_arena *arena);

#endif
