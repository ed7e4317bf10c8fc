/* The body of a batch: writes in order, of which later ones may name rows that earlier ones create. */
#ifndef HFD_BATCH_H
#define HFD_BATCH_H

#include <stdbool.h>
#include <stddef.h>

#include "../../core/arena.h"
#include "../base/exchange.h"
#include "../base/problem.h"
#include "../base/uuid.h"

#define HFD_BATCH_ITEMS_MAX 100

struct hfd_batch_item {
    enum hfd_method method;         /* POST or PATCH */
    const char *path;               /* of a resource or a row */
    const char *if_match, *ref;     /* or NULL */
    const char *body;               /* an object; every {"$ref": …} in it has become the id it stands for */
    char id[HFD_UUID_TEXT_SIZE];    /* of the row that a POST will create */
    bool uses[HFD_BATCH_ITEMS_MAX]; /* the items that the body refers to */
};

struct hfd_batch {
    struct hfd_batch_item *items;
    size_t count;
};

/* HFD_OK, HFD_MALFORMED_JSON (*detail says where) or HFD_VALIDATION. */
enum hfd_problem_kind hfd_batch_read(const char *text, size_t length, hf_arena *arena, struct hfd_batch *out,
    struct hfd_errors *errors, const char **detail);

#endif
