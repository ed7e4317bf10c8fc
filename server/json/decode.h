/* JSON value to C struct by a table of fields. Decoding never stops at a fault: all are added to the errors.
 * Memory of what is kept (texts, lists) comes from the arena, so the JSON value may go afterwards. */
#ifndef HFD_DECODE_H
#define HFD_DECODE_H

#include <jansson.h>
#include <stdbool.h>

#include "../../core/arena.h"
#include "../base/problem.h"
#include "field.h"

struct hfd_decoder {
    hf_arena *arena;
    struct hfd_errors *errors;
};

/* Where we are in the document; a chain on the C stack, made into a pointer only for a message. */
struct hfd_path {
    const struct hfd_path *up; /* NULL: the root, whose `name` is a finished pointer ("" or "/variants/3") */
    const char *name;          /* NULL: item `index` of a list */
    size_t index;
};

void hfd_decode_error(const struct hfd_decoder *decoder, const struct hfd_path *path, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* True: the list of errors is full, so no text need be made for one more; it has been counted. */
bool hfd_decode_full(const struct hfd_decoder *decoder);

/* `item` is initialised first; NULL or a table of size 0: only checked. */
void hfd_decode_object(const struct hfd_decoder *decoder, const struct hfd_table *table,
    const struct hfd_path *path, json_t *json, void *item);

/* `base` is the struct that field->at is an offset into, or NULL. */
void hfd_decode_field(const struct hfd_decoder *decoder, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, void *base);

struct hfd_shape; /* shapes.h */
/* False: errors were added, their pointers beginning with `pointer`. */
bool hfd_shape_check_json(const struct hfd_shape *shape, json_t *json, const char *pointer, hf_arena *arena,
    struct hfd_errors *errors);

/* NULL when there is none. */
const struct hfd_field *hfd_table_field(const struct hfd_table *table, const char *name);

#endif
