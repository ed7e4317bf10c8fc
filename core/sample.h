/* Random draws that are the same on every machine: a draw is a function of seed, sample and input, so that
 * the order in which they are made means nothing. */
#ifndef HF_SAMPLE_H
#define HF_SAMPLE_H

#include <stddef.h>
#include <stdint.h>

#include "answer.h"

/* Uniform within 0 and 1, neither included. */
double hf_draw_uniform(uint64_t seed, uint64_t sample, uint64_t input);
/* Standard normal. */
double hf_draw_normal(uint64_t seed, uint64_t sample, uint64_t input);

/* Standard normal value that lies above the share p of all, 0 < p < 1 (Wichura, algorithm AS 241, Appl Stat
 * 1988;37:477; to 16 digits). */
double hf_normal_quantile(double p);

/* 5, 50 and 95 % of the values, which are sorted in place; between two of them by the straight line. NAN
 * without values. */
hf_range hf_sample_range(double *values, size_t count);

#endif
