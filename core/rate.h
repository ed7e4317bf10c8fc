/* How fast a movement goes, by what has been published. Force matters less and less as it grows; persons
 * differ widely, so a rate is always told with its range. */
#ifndef HF_RATE_H
#define HF_RATE_H

#include <stdbool.h>

#include "answer.h"

typedef enum hf_movement {
#define HF_EVIDENCE(...)
#define HF_CITATION(...)
#define HF_RATE(NAME, ...) HF_MOVE_##NAME,
#define HF_RATE_ANY_FORCE(NAME, ...) HF_MOVE_##NAME,
#include "evidence/progress.def"
#undef HF_CITATION
#undef HF_EVIDENCE
    HF_MOVEMENT_COUNT
} hf_movement;

/* "molar-distalisation", …; NULL-ended, in the order of the enumeration. */
extern const char *const hf_movement_names[HF_MOVEMENT_COUNT + 1];

/* A turn, told in degrees, rather than a shift in mm. */
bool hf_movement_turns(hf_movement movement);

typedef struct hf_rate {
    hf_range per_month; /* mm or deg; 95 % of persons */
    double log_sd;      /* standard deviation of the rate's logarithm */
    double lag_days;    /* until movement sets in */
    double lag_sd_days; /* how well that is known; 0 when there is no lag */
    const char *source; /* evidence key */
} hf_rate;

#define HF_DAYS_PER_MONTH 30.4375

/* `canine_force_n`: force that would load the root area of one upper canine like that of the teeth moved;
 * NAN: that under which the rate was published. */
hf_rate hf_rate_expected(hf_movement movement, double canine_force_n);

#endif
