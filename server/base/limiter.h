/* How much one client may ask in a minute: a budget per name that fills up evenly, so that no burst at the
 * edge of a minute gets twice its share. One table for all threads. */
#ifndef HFD_LIMITER_H
#define HFD_LIMITER_H

#include <stdbool.h>
#include <stdint.h>

struct hfd_limiter;

#define HFD_LIMITER_WINDOW_S 60

struct hfd_budget {
    bool allowed;
    long quota;   /* requests in HFD_LIMITER_WINDOW_S, at once or spread */
    long left;    /* of them, now */
    long full_s;  /* until all are there again, when nothing is asked */
    long retry_s; /* not allowed: until one is */
};

/* NULL: no memory. `per_minute` at least 1. */
struct hfd_limiter *hfd_limiter_new(long per_minute);
void hfd_limiter_free(struct hfd_limiter *limiter);
/* Takes one from the budget of `who`, evenly spread bits such as those of a digest. Of more than a few
 * thousand names at a time those with the fullest budgets are forgotten: they start anew. */
struct hfd_budget hfd_limiter_take(struct hfd_limiter *limiter, uint64_t who, int64_t now_ns);
/* Gives one back that was taken. */
void hfd_limiter_give(struct hfd_limiter *limiter, uint64_t who, int64_t now_ns);

#endif
