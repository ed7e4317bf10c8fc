/* How long screws stay, group by group. */
#ifndef HFD_DRAW_SURVIVAL_H
#define HFD_DRAW_SURVIVAL_H

#include <stdbool.h>

#include "../../core/survival.h"
#include "../base/buf.h"

struct hfd_survival_group {
    const char *name;            /* NULL: what groups are told apart by is not recorded of these */
    const hf_survival *survival; /* NULL: too few to be told of */
};

/* One <svg>. `on`: the day it is told for; `by`: "site"; `notice`: how to read it. */
void hfd_draw_survival(struct hfd_buf *out, bool inside, const char *on, const char *by,
    const struct hfd_survival_group *groups, size_t count, const char *notice);

#endif
