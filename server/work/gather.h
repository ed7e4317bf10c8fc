/* A thread that takes at once all that has come while it was busy: what costs the same for one as for many is
 * paid once. */
#ifndef HFD_GATHER_H
#define HFD_GATHER_H

#include <stddef.h>

struct hfd_gather;

/* `work` runs on the gatherer's thread with at least one item. `most`: items that can ever wait. NULL: no
 * memory or no thread (errno). */
struct hfd_gather *hfd_gather_new(
    size_t most, void (*work)(void *ctx, void *const *items, size_t count), void *ctx);
/* Never waits for the work. */
void hfd_gather_push(struct hfd_gather *gather, void *item);
/* Items waiting or being worked on. */
size_t hfd_gather_busy(struct hfd_gather *gather);
/* Works off what waits, and joins the thread. */
void hfd_gather_free(struct hfd_gather *gather);

#endif
