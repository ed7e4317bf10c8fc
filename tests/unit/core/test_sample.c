#include "../../../core/sample.h"

#include <criterion/criterion.h>
#include <math.h>

/* Tables of the normal distribution. */
Test(sample, quantiles_are_those_of_the_tables) {
    static const double rows[][2] = {{0.5, 0.0}, {0.6, 0.2533471031357997}, {0.75, 0.6744897501960817},
        {0.9, 1.2815515655446004}, {0.95, 1.6448536269514722}, {0.975, 1.959963984540054},
        {0.99, 2.3263478740408408}, {0.999, 3.090232306167813}, {1e-10, -6.361340902404056},
        {1e-15, -7.941345326170997}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_expect_float_eq(hf_normal_quantile(rows[i][0]), rows[i][1], 1e-12, "%g", rows[i][0]);
        if (rows[i][0] > 0.01)
            cr_expect_float_eq(hf_normal_quantile(1.0 - rows[i][0]), -rows[i][1], 1e-12, "%g", rows[i][0]);
    }
}

/* Everywhere the distribution function gives the share back. */
Test(sample, the_quantile_inverts_the_distribution) {
    for (double z = -8.0; z < 5.0; z += 0.0625) {
        double p = 0.5 * erfc(-z / sqrt(2.0));
        cr_expect_float_eq(hf_normal_quantile(p), z, 1e-9, "%g", z);
    }
}

/* 100000 draws: mean, variance, fourth moment (3), and no likeness between neighbours; five standard errors.
 */
Test(sample, draws_are_normal_and_independent) {
    enum { COUNT = 100000 };
    for (uint64_t seed = 0; seed < 3; seed++) {
        double sum = 0.0, square = 0.0, fourth = 0.0, next_input = 0.0, next_sample = 0.0, next_seed = 0.0;
        for (uint64_t i = 0; i < COUNT; i++) {
            double z = hf_draw_normal(seed, i, 7);
            sum += z;
            square += z * z;
            fourth += z * z * z * z;
            next_input += z * hf_draw_normal(seed, i, 8);
            next_sample += z * hf_draw_normal(seed, i + 1, 7);
            next_seed += z * hf_draw_normal(seed + 1, i, 7);
        }
        double error = 1.0 / sqrt(COUNT);
        cr_expect_float_eq(sum / COUNT, 0.0, 5.0 * error);
        cr_expect_float_eq(square / COUNT, 1.0, 5.0 * error * sqrt(2.0));
        cr_expect_float_eq(fourth / COUNT, 3.0, 5.0 * error * sqrt(96.0));
        cr_expect_float_eq(next_input / COUNT, 0.0, 5.0 * error);
        cr_expect_float_eq(next_sample / COUNT, 0.0, 5.0 * error);
        cr_expect_float_eq(next_seed / COUNT, 0.0, 5.0 * error);
    }
}

/* Sixteen equal bins: chi-square with 15 degrees of freedom, 99.99 % at 44.3. */
Test(sample, draws_are_uniform) {
    enum { COUNT = 64000, BINS = 16 };
    int bins[BINS] = {0};
    for (uint64_t i = 0; i < COUNT; i++) {
        double u = hf_draw_uniform(1, i, 0);
        cr_assert(u > 0.0 && u < 1.0);
        bins[(int)(u * BINS)]++;
    }
    double chi_square = 0.0, want = (double)COUNT / BINS;
    for (int b = 0; b < BINS; b++)
        chi_square += (bins[b] - want) * (bins[b] - want) / want;
    cr_expect(chi_square > 2.0 && chi_square < 44.3, "%g", chi_square);
}

/* 0, 1 … 100 in any order: 5, 50 and 95. Two values: on the line between them. */
Test(sample, range_of_values) {
    double values[101], pair[] = {3.0, 1.0};
    for (int i = 0; i <= 100; i++)
        values[i] = (i * 37) % 101;
    hf_range range = hf_sample_range(values, 101);
    cr_expect(range.low == 5.0 && range.mid == 50.0 && range.high == 95.0);
    range = hf_sample_range(pair, 2);
    cr_expect_float_eq(range.low, 1.1, 1e-12);
    cr_expect_float_eq(range.mid, 2.0, 1e-12);
    cr_expect_float_eq(range.high, 2.9, 1e-12);
    range = hf_sample_range(pair, 1);
    cr_expect(range.low == 1.0 && range.mid == 1.0 && range.high == 1.0);
    cr_expect(isnan(hf_sample_range(pair, 0).mid));
}
