#include "../../../core/supply.h"

#include <criterion/criterion.h>
#include <math.h>

/* A plateau of 200 gf on the way out and 100 gf on the way back: typical of published coils (difference about
 * 100 gf). */
static const hf_superelastic coil = {
    .rate_n_per_mm = 1.2, .loading_n = 1.96, .unloading_n = 0.98, .tail_n_per_mm = 0.03};

/* Chains of 2.9 and 4.7 N at 100 % stretch had 2.3 and 4.1 N at 50 % (Buchmann 2012, Angle Orthod 82:529):
 * doubling the stretch adds 26 and 15 %. */
Test(supply, chain_at_half_and_full_stretch) {
    cr_expect_float_eq(hf_chain_force(2.9, log2(2.9 / 2.3), 0.5), 2.3, 1e-12);
    cr_expect_float_eq(hf_chain_force(4.7, log2(4.7 / 4.1), 0.5), 4.1, 1e-12);
    cr_expect_float_eq(hf_chain_force(2.9, 0.3, 1.0), 2.9, 1e-12);
    cr_expect_eq(hf_chain_force(2.9, 0.3, 0.0), 0.0);
    cr_expect_eq(hf_chain_force(2.9, 0.3, -0.2), 0.0);
}

/* Label at three lumens, by convention of the trade: 3/16 inch of 4.5 ounces at 14.2875 mm is 1.2511 N. */
Test(supply, elastic_by_its_label) {
    const double label_n = 4.5 * 0.45359237 * 9.80665 / 16.0, lumen_mm = 4.7625;
    cr_expect_float_eq(hf_elastic_force(label_n, lumen_mm, 14.2875 - lumen_mm), 1.2511, 1e-4);
    cr_expect_eq(hf_elastic_force(label_n, lumen_mm, -1.0), 0.0);
}

/* The state model worked out by hand: slope to the plateau, then its tail. */
Test(supply, superelastic_lines) {
    cr_expect_float_eq(hf_superelastic_loading(&coil, 1.0), 1.2, 1e-12);
    cr_expect_float_eq(hf_superelastic_loading(&coil, 9.0), 1.96 + 0.03 * (9.0 - 1.96 / 1.2), 1e-12);
    cr_expect_float_eq(hf_superelastic_unloading(&coil, 0.5), 0.6, 1e-12);
    cr_expect_float_eq(hf_superelastic_unloading(&coil, 9.0), 0.98 + 0.03 * (9.0 - 0.98 / 1.2), 1e-12);
    cr_expect_eq(hf_superelastic_loading(&coil, -1.0), 0.0);
}

/* Let go from 9 mm the coil falls by its first slope until the lower line, and stays there: 0.5 mm after, and
 * far after. Stretched again it climbs by the same slope. */
Test(supply, the_force_depends_on_the_path) {
    double out = hf_superelastic_loading(&coil, 9.0);
    double soon = hf_superelastic_move(&coil, out, 9.0, 8.5);
    cr_expect_float_eq(soon, out - 0.6, 1e-12);
    double late = hf_superelastic_move(&coil, soon, 8.5, 6.0);
    cr_expect_float_eq(late, 0.98 + 0.03 * (6.0 - 0.98 / 1.2), 1e-12);
    cr_expect_gt(hf_superelastic_loading(&coil, 6.0) - late, 0.9, "a plateau of about 1 N apart");
    cr_expect_float_eq(hf_superelastic_move(&coil, late, 6.0, 6.3), late + 0.36, 1e-12);
    cr_expect_float_eq(
        hf_superelastic_move(&coil, late, 6.0, 9.0), hf_superelastic_loading(&coil, 9.0), 1e-12);
}

/* Work put in around any closed path is not less than nothing. Around a full loop it is a parallelogram: by
 * hand, the plateaus are 0.98 - 0.03 x 0.98/1.2 = 0.9555 N apart, and the travel is what both sides of the
 * loop share, 8 - 1.96/1.2 mm between 0 and 8, 6 - 0.98/1.2 mm between 3 and 9. */
static double work(const double *stops, size_t count) {
    double force = 0.0, at = 0.0, sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        const int steps = 4000;
        double from = at;
        for (int s = 1; s <= steps; s++) {
            double next = from + (stops[i] - from) * s / steps;
            double then = hf_superelastic_move(&coil, force, at, next);
            sum += 0.5 * (force + then) * (next - at);
            force = then;
            at = next;
        }
    }
    return sum;
}

Test(supply, no_loop_gives_energy) {
    static const double full[] = {8.0, 0.0}, twice[] = {9.0, 3.0, 9.0, 0.0}, small[] = {7.0, 6.9, 7.0, 0.0};
    cr_expect_float_eq(work(full, 2), 0.9555 * 6.3667, 0.01);
    cr_expect_float_eq(work(twice, 4) - work((double[]){9.0, 0.0}, 2), 0.9555 * 5.1833, 0.01);
    cr_expect_float_eq(work(small, 4), work((double[]){7.0, 0.0}, 2), 1e-3, "elastic inside the loop");
    unsigned seed = 1;
    for (int round = 0; round < 50; round++) {
        double stops[9];
        for (int i = 0; i < 8; i++) {
            seed = seed * 1103515245u + 12345u;
            stops[i] = (double)(seed >> 16 & 1023u) / 1023.0 * 10.0;
        }
        stops[8] = 0.0;
        cr_expect_geq(work(stops, 9), -1e-9);
    }
}
