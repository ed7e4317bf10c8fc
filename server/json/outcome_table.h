/* What became of a clinic's screws, as tables over the structs below. */
#ifndef HFD_OUTCOME_TABLE_H
#define HFD_OUTCOME_TABLE_H

#include <stdbool.h>

#include "../../core/survival.h"
#include "field.h"

/* A published loss and what the clinic's own screws make of it. */
struct hfd_base_loss {
    hf_range published;
    const char *source;
    hf_own_losses own;
    hf_pooled pooled;
};

struct hfd_outcome_group {
    const char *key, *name; /* NULL: what the screws are told apart by is not recorded of these */
    int suppressed;         /* 1: too few screws to be told of, HF_ABSENT: told */
    bool is_told;
    hf_survival survival;      /* nothing in it when suppressed */
    struct hfd_base_loss base; /* NAN when there is none */
};

struct hfd_outcomes {
    const char *core, *parameters; /* versions */
    const char *on, *by;
    struct hfd_outcome_group *groups;
    size_t group_count;
    hf_source *sources;
    size_t source_count;
    const char *notice;
};

extern const struct hfd_table hfd_outcomes_table; /* over struct hfd_outcomes */

#endif
