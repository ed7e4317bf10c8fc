#include "growth.h"

#include <math.h>
#include <stdbool.h>

static const double two_sided_95 = 1.959963984540054; /* standard normal quantile of 0.975 */

static double below_normal(double z) {
    return 0.5 * erfc(-z / sqrt(2.0));
}

/* Inverse of below_normal, by halving: called a handful of times for an answer. */
static double normal_quantile(double probability) {
    enum { halvings = 60 };
    double low = -40.0, high = 40.0;
    for (int i = 0; i < halvings; i++) {
        double middle = 0.5 * (low + high);
        if (below_normal(middle) < probability)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

hf_growth hf_growth_prior(double start, double start_sd, double rate, double rate_sd) {
    return (hf_growth){start, rate, start_sd * start_sd, rate_sd * rate_sd, 0.0};
}

/* The first measurement of a level whose start was not known: start = value - rate * time. */
static hf_growth first_seen(hf_growth before, double time, double value, double sd) {
    hf_growth after = before;
    after.start = value - before.rate * time;
    after.start_var = sd * sd + time * time * before.rate_var;
    after.start_rate = -time * before.rate_var;
    return after;
}

static double mean_at(const hf_growth *g, double time) {
    return g->start + g->rate * time;
}

static double variance_at(const hf_growth *g, double time) {
    return fmax(g->start_var + 2.0 * time * g->start_rate + time * time * g->rate_var, 0.0);
}

hf_growth hf_growth_learn(hf_growth before, double time, double value, double sd) {
    if (isinf(before.start_var)) return first_seen(before, time, value, sd);
    double with_start = before.start_var + time * before.start_rate;
    double with_rate = before.start_rate + time * before.rate_var;
    double of_value = with_start + time * with_rate + sd * sd;
    double surprise = (value - mean_at(&before, time)) / of_value;
    return (hf_growth){
        .start = before.start + with_start * surprise,
        .rate = before.rate + with_rate * surprise,
        .start_var = fmax(before.start_var - with_start * with_start / of_value, 0.0),
        .rate_var = fmax(before.rate_var - with_rate * with_rate / of_value, 0.0),
        .start_rate = before.start_rate - with_start * with_rate / of_value,
    };
}

static hf_range about(double mean, double variance) {
    double reach = two_sided_95 * sqrt(variance);
    return (hf_range){mean - reach, mean, mean + reach};
}

hf_range hf_growth_level(const hf_growth *growth, double time) {
    if (isinf(growth->start_var)) return (hf_range){NAN, NAN, NAN};
    return about(mean_at(growth, time), variance_at(growth, time));
}

hf_range hf_growth_rate(const hf_growth *growth) {
    return about(growth->rate, growth->rate_var);
}

double hf_growth_reached(const hf_growth *growth, double target, double time) {
    if (isinf(growth->start_var)) return NAN;
    double ahead = mean_at(growth, time) - target, variance = variance_at(growth, time);
    if (variance > 0.0) return below_normal(ahead / sqrt(variance));
    return ahead >= 0.0 ? 1.0 : 0.0;
}

/* Where mean - target = z sd, squared (Fieller): a quadratic in time. Of its roots one may belong to -z
 * instead. */
static double crossing(const hf_growth *g, double target, double from, double probability) {
    double z = normal_quantile(probability), behind = g->start - target, first = INFINITY;
    double a = g->rate * g->rate - z * z * g->rate_var;
    double b = behind * g->rate - z * z * g->start_rate;
    double c = behind * behind - z * z * g->start_var;
    /* (b b - a c) / (z z), without the difference of what is nearly equal */
    double inside = g->rate * g->rate * g->start_var - 2.0 * g->rate * behind * g->start_rate +
                    behind * behind * g->rate_var -
                    z * z * (g->start_var * g->rate_var - g->start_rate * g->start_rate);
    double q = -(b + copysign(fabs(z) * sqrt(inside), b)); /* NAN: no crossing */
    double times[] = {q / a, c / q};
    for (int i = 0; i < 2; i++) {
        if (!(times[i] > from && times[i] < first)) continue;
        bool certain = variance_at(g, times[i]) <= 0.0;
        if (certain || fabs(hf_growth_reached(g, target, times[i]) - probability) < 1e-6) first = times[i];
    }
    return isinf(first) ? NAN : first;
}

double hf_growth_time(const hf_growth *growth, double target, double from, double probability) {
    double now = hf_growth_reached(growth, target, from);
    if (isnan(now)) return NAN;
    if (now >= probability) return from;
    return crossing(growth, target, from, probability);
}
