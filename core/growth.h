/* A level that grows evenly with time, learnt from measurements: level = start + rate * time, with a normal
 * belief about both. Closed form throughout; no memory. The unit of time is the caller's. */
#ifndef HF_GROWTH_H
#define HF_GROWTH_H

#include "answer.h"

typedef struct hf_growth {
    double start, rate;                     /* means */
    double start_var, rate_var, start_rate; /* variances and the covariance; start_var INFINITY: not known */
} hf_growth;

/* Before any measurement: start and rate independent of each other. start_sd INFINITY: nothing is known of
 * the start; 0: it is known exactly. */
hf_growth hf_growth_prior(double start, double start_sd, double rate, double rate_sd);

/* After one more measurement with a normal error of standard deviation `sd` > 0 (Bayes). */
hf_growth hf_growth_learn(hf_growth before, double time, double value, double sd);

/* Mean and 95 % interval of the level at `time`; NAN while nothing is known of the start. */
hf_range hf_growth_level(const hf_growth *growth, double time);
/* The same of the rate. */
hf_range hf_growth_rate(const hf_growth *growth);

/* Probability that the level at `time` has reached `target`, which lies above. */
double hf_growth_reached(const hf_growth *growth, double target, double time);

/* First time from `from` on at which that probability is at least `probability`; NAN when it never is. */
double hf_growth_time(const hf_growth *growth, double target, double from, double probability);

#endif
