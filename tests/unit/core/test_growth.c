#include "../../../core/growth.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdbool.h>

/* Conjugate normal by hand: start 0 exactly, rate 1 (variance 1/4); one measurement at time 2 of 3 with
 * variance 1. Precision of the rate 4 + 2 * 2 / 1 = 8, mean (4 * 1 + 2 * 3) / 8 = 1.25. */
Test(growth, one_measurement_by_hand) {
    hf_growth g = hf_growth_learn(hf_growth_prior(0.0, 0.0, 1.0, 0.5), 2.0, 3.0, 1.0);
    cr_expect_float_eq(g.rate, 1.25, 1e-12);
    cr_expect_float_eq(g.rate_var, 0.125, 1e-12);
    cr_expect_eq(g.start, 0.0);
    cr_expect_eq(g.start_var, 0.0);
    hf_range level = hf_growth_level(&g, 4.0);
    cr_expect_float_eq(level.mid, 5.0, 1e-12);
    cr_expect_float_eq(level.high - level.mid, 1.959964 * 4.0 * sqrt(0.125), 1e-6);
    hf_range rate = hf_growth_rate(&g);
    cr_expect_float_eq(rate.mid - rate.low, 1.959964 * sqrt(0.125), 1e-6);
}

/* Two precision matrices added up: prior diag(1, 4) about (1, 1); at time 1 value 4, variance 1/2, so the
 * data add 2 [1 1; 1 1] and 2 [4; 4]. Sum [3 2; 2 6] (determinant 14), right side [1 + 8; 4 + 8]: start
 * 30/14, rate 18/14; variances 6/14, 3/14, covariance -2/14. */
Test(growth, start_and_rate_together_by_hand) {
    hf_growth g = hf_growth_learn(hf_growth_prior(1.0, 1.0, 1.0, 0.5), 1.0, 4.0, sqrt(0.5));
    cr_expect_float_eq(g.start, 30.0 / 14.0, 1e-12);
    cr_expect_float_eq(g.rate, 18.0 / 14.0, 1e-12);
    cr_expect_float_eq(g.start_var, 6.0 / 14.0, 1e-12);
    cr_expect_float_eq(g.rate_var, 3.0 / 14.0, 1e-12);
    cr_expect_float_eq(g.start_rate, -2.0 / 14.0, 1e-12);
}

/* An unknown start and a rate of which hardly anything is known: the line of least squares. x 0 1 2 4, y 1 3
 * 4 9: slope 69/35, intercept 4.25 - 1.75 * 69/35; with errors of 0.3 the slope's variance 0.09 / 8.75. */
Test(growth, without_prior_it_is_least_squares) {
    static const double x[] = {0.0, 1.0, 2.0, 4.0}, y[] = {1.0, 3.0, 4.0, 9.0};
    hf_growth g = hf_growth_prior(0.0, INFINITY, 0.0, 1e4);
    for (int i = 0; i < 4; i++)
        g = hf_growth_learn(g, x[i], y[i], 0.3);
    cr_expect_float_eq(g.rate, 69.0 / 35.0, 1e-5);
    cr_expect_float_eq(g.start, 4.25 - 1.75 * 69.0 / 35.0, 1e-5);
    cr_expect_float_eq(g.rate_var, 0.09 / 8.75, 1e-5);
}

/* The order of the measurements does not matter, nor does it whether a vague start is told as infinite. */
Test(growth, any_order_gives_the_same) {
    static const double x[] = {3.0, 0.5, 2.0}, y[] = {2.0, 0.1, 1.7}, sd[] = {0.5, 0.3, 0.4};
    static const int orders[][3] = {{0, 1, 2}, {2, 1, 0}, {1, 0, 2}};
    hf_growth first = {0};
    for (int o = 0; o < 3; o++) {
        hf_growth g = hf_growth_prior(0.0, INFINITY, 0.6, 0.3);
        for (int k = 0; k < 3; k++)
            g = hf_growth_learn(g, x[orders[o][k]], y[orders[o][k]], sd[orders[o][k]]);
        if (o == 0) first = g;
        cr_expect_float_eq(g.start, first.start, 1e-12);
        cr_expect_float_eq(g.rate, first.rate, 1e-12);
        cr_expect_float_eq(g.start_var, first.start_var, 1e-12);
        cr_expect_float_eq(g.start_rate, first.start_rate, 1e-12);
    }
    hf_growth vague = hf_growth_prior(0.0, 1e5, 0.6, 0.3);
    for (int k = 0; k < 3; k++)
        vague = hf_growth_learn(vague, x[k], y[k], sd[k]);
    cr_expect_float_eq(vague.rate, first.rate, 1e-6);
    cr_expect_float_eq(vague.start_var, first.start_var, 1e-5);
}

/* Normal table: 0.8413 at 1, 0.9772 at 2. Level at time 3: mean 6, sd 3 * 0.5. */
Test(growth, chance_of_having_arrived) {
    hf_growth g = hf_growth_prior(0.0, 0.0, 2.0, 0.5);
    cr_expect_float_eq(hf_growth_reached(&g, 4.5, 3.0), 0.8413, 1e-4);
    cr_expect_float_eq(hf_growth_reached(&g, 6.0, 3.0), 0.5, 1e-12);
    cr_expect_float_eq(hf_growth_reached(&g, 9.0, 3.0), 1.0 - 0.9772, 1e-4);
    hf_growth certain = hf_growth_prior(1.0, 0.0, 2.0, 0.0);
    cr_expect_eq(hf_growth_reached(&certain, 7.0, 3.0), 1.0);
    cr_expect_eq(hf_growth_reached(&certain, 7.1, 3.0), 0.0);
    hf_growth unknown = hf_growth_prior(0.0, INFINITY, 2.0, 0.5);
    cr_expect(isnan(hf_growth_reached(&unknown, 7.0, 3.0)));
    cr_expect(isnan(hf_growth_level(&unknown, 3.0).mid));
    cr_expect(isnan(hf_growth_time(&unknown, 7.0, 0.0, 0.5)));
}

/* A start known exactly: the time to a target is target / rate, so its quantiles are those of the rate turned
 * over. */
Test(growth, time_to_the_target_by_hand) {
    hf_growth g = hf_growth_prior(0.0, 0.0, 2.0, 0.5);
    cr_expect_float_eq(hf_growth_time(&g, 6.0, 0.0, 0.5), 3.0, 1e-9);
    cr_expect_float_eq(hf_growth_time(&g, 6.0, 0.0, 0.025), 6.0 / (2.0 + 1.959964 * 0.5), 1e-6);
    cr_expect_float_eq(hf_growth_time(&g, 6.0, 0.0, 0.975), 6.0 / (2.0 - 1.959964 * 0.5), 1e-6);
    cr_expect_eq(hf_growth_time(&g, 6.0, 20.0, 0.975), 20.0, "reached before");
    hf_growth certain = hf_growth_prior(1.0, 0.0, 2.0, 0.0);
    cr_expect_float_eq(hf_growth_time(&certain, 6.0, 0.0, 0.025), 2.5, 1e-9);
    cr_expect_float_eq(hf_growth_time(&certain, 6.0, 0.0, 0.975), 2.5, 1e-9);
    /* A rate that may be 0 (2.5 % or more): no end is certain; one that points away: none at all. */
    hf_growth slow = hf_growth_prior(0.0, 0.0, 1.0, 0.6);
    cr_expect(isnan(hf_growth_time(&slow, 6.0, 0.0, 0.975)));
    cr_expect_float_eq(hf_growth_time(&slow, 6.0, 0.0, 0.5), 6.0, 1e-9);
    hf_growth away = hf_growth_prior(0.0, 0.0, -1.0, 0.1);
    cr_expect(isnan(hf_growth_time(&away, 6.0, 0.0, 0.5)));
    cr_expect(isnan(hf_growth_time(&away, 6.0, 0.0, 0.025)));
}

/* Random beliefs: at the time told the chance is the one asked for, and a little before it is not yet. */
static double next(unsigned *seed) {
    *seed = *seed * 1664525u + 1013904223u;
    return (*seed >> 8) / 16777216.0;
}

Test(growth, the_time_told_is_the_first_with_that_chance) {
    unsigned seed = 7;
    int told = 0;
    for (int round = 0; round < 3000; round++) {
        hf_growth g =
            hf_growth_prior(next(&seed) - 0.5, 0.4 * next(&seed), 2.0 * next(&seed) - 0.3, 0.5 * next(&seed));
        for (int k = 0; k < round % 4; k++)
            g = hf_growth_learn(g, 6.0 * next(&seed), 6.0 * next(&seed), 0.2 + next(&seed));
        double target = 1.0 + 3.0 * next(&seed), from = 3.0 * next(&seed), chance = 0.01 + 0.98 * next(&seed);
        double time = hf_growth_time(&g, target, from, chance);
        bool found = !isnan(time);
        double horizon = found ? time : 1e4;
        for (double t = from; t < horizon; t = from + (t - from + 1e-3) * 1.2)
            cr_assert(hf_growth_reached(&g, target, t) < chance, "round %d at %g of %g", round, t, time);
        if (!found) continue;
        told++;
        if (time > from) cr_assert_float_eq(hf_growth_reached(&g, target, time), chance, 1e-6);
    }
    cr_assert(told > 1500, "%d", told);
}
