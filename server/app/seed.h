/* The demo clinic as a list of requests: what an integrator would send, sent through the same door. */
#ifndef HFD_SEED_H
#define HFD_SEED_H

#include <stddef.h>

#define HFD_SEED_CLINIC "Demo clinic"

/* In paths and bodies, $word stands for the id remembered under that word, and ' for " (a C text full of \"
 * cannot be read). */
struct hfd_seed_step {
    const char *collection; /* "/v1/patients": made unless it is there */
    const char *found_by;   /* query that finds it; NULL: a unique constraint tells */
    const char *word;       /* remembers its id; NULL: nobody asks for it */
    const char *change;     /* instead of `collection`: PATCH of this path */
    const char *body;
};

extern const struct hfd_seed_step hfd_seed_steps[];
extern const size_t hfd_seed_step_count;

#endif
