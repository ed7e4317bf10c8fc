/* How long screws stay: the product-limit estimate of what was followed, and what a clinic's own outcomes
 * make of a published loss. Grouping is the caller's. */
#ifndef HF_SURVIVAL_H
#define HF_SURVIVAL_H

#include <stddef.h>

#include "answer.h"
#include "arena.h"

/* Screws followed for the same number of days: lost on that day, or still in place then (removed on purpose,
 * or not followed any longer). Rows may stand in any order; days may repeat. */
typedef struct hf_followed {
    int days;
    int lost, kept;
} hf_followed;

/* One day with losses. Screws that stop being followed on the very day are still at risk on it. */
typedef struct hf_survival_step {
    int days;
    int at_risk, lost;
    double survival;       /* share that stays beyond this day */
    double standard_error; /* Greenwood; NAN once nothing stays */
    double low, high;      /* 95 %, log-log; NAN once nothing stays */
} hf_survival_step;

typedef struct hf_survival {
    int screws, lost;
    hf_survival_step *steps; /* rising days; none while nothing was lost: then the share that stays is 1 */
    size_t step_count;
    hf_followed *followed; /* rising days, each once */
    size_t followed_count;
    int last_days; /* longest time followed, HF_ABSENT without screws */
    /* Days after which half are lost, with what the interval's two curves say; NAN where a curve stays above.
     */
    hf_range median_days;
} hf_survival;

/* Screws in place and followed for at least so many days. */
int hf_survival_at_risk(const hf_survival *told, int days);

hf_survival hf_survival_estimate(const hf_followed *rows, size_t count, hf_arena *arena);

/* How many whole treatments were watched, and how many screws were lost in them: a lost screw is one; one
 * that is still in place counts the share of a treatment's danger that it has stood. */
typedef struct hf_own_losses {
    double treatments, lost;
} hf_own_losses;

hf_own_losses hf_survival_own(const hf_followed *rows, size_t count);

/* Partial pooling. Prior: the clinic's log-odds of loss are normal about the published middle; their variance
 * is that of the published 95 % interval plus `spread` squared, the variance between clinics. Data: binomial.
 * Result: the posterior by quadrature. Ranges are median and 95 % interval. */
typedef struct hf_pooled {
    hf_range prior, result;
} hf_pooled;

hf_pooled hf_survival_pool(hf_range published, double spread, hf_own_losses own);

#endif
