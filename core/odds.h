/* Shares on the scale where odds ratios add. */
#ifndef HF_ODDS_H
#define HF_ODDS_H

#include <math.h>

static inline double hf_odds(double share) {
    return share / (1.0 - share);
}
static inline double hf_logit(double share) {
    return log(hf_odds(share));
}
static inline double hf_expit(double logit) {
    return 1.0 / (1.0 + exp(-logit));
}

#endif
