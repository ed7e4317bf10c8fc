#include "../../../core/rate.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "../../../core/evidence.h"

static const double newton_per_gf = 0.00980665;

/* Force in gf on teeth of this root area in mm2, as the force on a canine's 273 mm2 (Jepsen 1963). */
static double force_of(double gf, double area_mm2) {
    return gf * newton_per_gf * 273.0 / area_mm2;
}

static double rate_at(hf_movement movement, double gf, double area_mm2) {
    return hf_rate_expected(movement, force_of(gf, area_mm2)).per_month.mid;
}

static double usual(hf_movement movement) {
    return hf_rate_expected(movement, NAN).per_month.mid;
}

/* Iwasaki et al. 2000: canines (273 mm2) translated 0.87 mm a month by 18 gf and 1.27 by 60 gf. */
Test(rate, a_canine_goes_as_published_at_two_forces) {
    cr_expect_float_eq(rate_at(HF_MOVE_CANINE_TRANSLATION, 18.0, 273.0), 0.87, 0.005);
    cr_expect_float_eq(rate_at(HF_MOVE_CANINE_TRANSLATION, 60.0, 273.0), 1.27, 0.005);
    /* Where the curve through the two points ends: 1.58 mm a month, half of it at 14.7 gf. */
    cr_expect_float_eq(rate_at(HF_MOVE_CANINE_TRANSLATION, 1e6, 273.0), 1.58, 0.01);
    cr_expect_float_eq(rate_at(HF_MOVE_CANINE_TRANSLATION, 14.7, 273.0), 0.79, 0.01);
    cr_expect_eq(rate_at(HF_MOVE_CANINE_TRANSLATION, 0.0, 273.0), 0.0);
}

/* Published rows, each from what the paper prints. */
Test(rate, published_rates) {
    /* Angle Orthod 2019: 0.71 and 0.57 mm a month; Prog Orthod 2021: 2.09 and 1.57 mm in 3 months. */
    cr_expect_float_eq(usual(HF_MOVE_CANINE_RETRACTION), (0.71 + 0.57 + 2.09 / 3.0 + 1.57 / 3.0) / 4.0, 0.01);
    /* J Oral Implantol 2015: 1.65 and 1.51 mm in 8 weeks. */
    cr_expect_float_eq(usual(HF_MOVE_EN_MASSE_RETRACTION), (1.65 + 1.51) / 2.0 / 56.0 * 30.4375, 0.01);
    /* Kircelli et al. 2006: 6.4 mm and 10.9 deg in 7.0 months. */
    cr_expect_float_eq(usual(HF_MOVE_MOLAR_DISTALISATION), 6.4 / 7.0, 0.01);
    cr_expect_float_eq(usual(HF_MOVE_TIPPING), 10.9 / 7.0, 0.01);
    /* Eur J Orthod 2009: incisors 1.92 mm, overbite 2.25 mm in 4.55 months. */
    cr_expect_float_eq(usual(HF_MOVE_INCISOR_INTRUSION), 1.92 / 4.55, 0.01);
    cr_expect_float_eq(usual(HF_MOVE_OVERBITE), 2.25 / 4.55, 0.01);
    /* Sar et al. 2014: 3.11 mm in 7.4, 3.82 mm in 7.6 months. */
    cr_expect_float_eq(usual(HF_MOVE_MAXILLARY_PROTRACTION), (3.11 / 7.4 + 3.82 / 7.6) / 2.0, 0.01);
    /* Values from memory: molar intrusion 0.27 to 1.0, molar protraction 0.3 to 0.5 mm a month. */
    cr_expect_float_eq(usual(HF_MOVE_POSTERIOR_INTRUSION), 0.4, 0.03);
    cr_expect_float_eq(usual(HF_MOVE_MOLAR_PROTRACTION), 0.4, 0.03);
}

/* The force that a rate was published under gives that rate: root areas by Jepsen (values from memory), of
 * one canine, of three front teeth a side, of two molars, of premolar and molars, of four incisors, of a
 * lower molar. */
Test(rate, the_published_force_gives_the_published_rate) {
    static const struct {
        hf_movement movement;
        double gf, area_mm2;
    } rows[] = {
        {HF_MOVE_CANINE_RETRACTION, 125.0, 273.0},
        {HF_MOVE_EN_MASSE_RETRACTION, 225.0, 204.0 + 179.0 + 273.0},
        {HF_MOVE_MOLAR_DISTALISATION, 275.0, 433.0 + 431.0},
        {HF_MOVE_POSTERIOR_INTRUSION, 200.0, 220.0 + 433.0 + 431.0},
        {HF_MOVE_INCISOR_INTRUSION, 80.0, 2.0 * 204.0 + 2.0 * 179.0},
        {HF_MOVE_MOLAR_PROTRACTION, 175.0, 431.0},
        {HF_MOVE_EXTRUSION, 50.0, 204.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double got = rate_at(rows[i].movement, rows[i].gf, rows[i].area_mm2), want = usual(rows[i].movement);
        cr_expect_float_eq(got / want, 1.0, 1e-3, "%s", hf_movement_names[rows[i].movement]);
        cr_expect(rate_at(rows[i].movement, 0.9 * rows[i].gf, rows[i].area_mm2) < 0.997 * want, "%s",
            hf_movement_names[rows[i].movement]);
    }
}

/* Akl et al.: 200 and 400 gf a side intruded 2.42 (2.06) and 2.26 (1.87) mm, no difference: twice the force
 * must not give much more; a rate in proportion to force would double. */
Test(rate, twice_the_force_hardly_helps) {
    double once = rate_at(HF_MOVE_POSTERIOR_INTRUSION, 200.0, 1084.0),
           twice = rate_at(HF_MOVE_POSTERIOR_INTRUSION, 400.0, 1084.0);
    cr_expect(twice > once && twice < 1.2 * once, "%g and %g", once, twice);
    for (size_t m = 0; m < HF_MOVEMENT_COUNT; m++) {
        double last = -1.0, last_gain = INFINITY;
        for (double force = 0.0; force < 6.0; force += 0.125) {
            double now = hf_rate_expected((hf_movement)m, force).per_month.mid;
            cr_assert(now >= last && (force == 0.0 || now - last <= last_gain + 1e-12), "%s at %g N",
                hf_movement_names[m], force);
            if (force > 0.0) last_gain = now - last;
            last = now;
        }
    }
}

/* Kircelli et al. 2006: 6.4 (1.3) mm in 7.0 (1.8) months; the ratio of two independent quantities spreads by
 * the root of the sum of their squared relative spreads, 0.33: persons' 0.4 must be of that size, and no rate
 * told without it. */
Test(rate, persons_spread_as_published) {
    double published = hypot(1.3 / 6.4, 1.8 / 7.0);
    cr_expect_float_eq(HF_EV(PERSON_SPREAD), published, 0.1);
    for (size_t m = 0; m < HF_MOVEMENT_COUNT; m++) {
        hf_rate rate = hf_rate_expected((hf_movement)m, NAN);
        /* 95 % of a lognormal spread of 0.4 reach from 0.457 to 2.19 times the middle. */
        cr_expect(rate.per_month.low <= 0.457 * rate.per_month.mid + 1e-3, "%s", hf_movement_names[m]);
        cr_expect(rate.per_month.high >= 2.19 * rate.per_month.mid - 1e-3, "%s", hf_movement_names[m]);
        cr_expect(rate.per_month.low > 0.0 && rate.log_sd < 0.8, "%s", hf_movement_names[m]);
        cr_expect(hf_evidence_find(rate.source) != NULL, "%s", rate.source);
        cr_expect_eq(
            hf_movement_turns((hf_movement)m), strcmp(hf_evidence_find(rate.source)->unit, "deg/month") == 0);
    }
    /* Sar et al.: their two groups differ by ln(0.503 / 0.420) = 0.18; next to nothing beside 0.4 between
     * persons. */
    hf_range jaw = hf_rate_expected(HF_MOVE_MAXILLARY_PROTRACTION, NAN).per_month;
    cr_expect_float_eq(jaw.low / jaw.mid, exp(-1.96 * hypot(0.4, 0.18 / 3.92)), 0.005);
    cr_expect_float_eq(jaw.high / jaw.mid, exp(1.96 * hypot(0.4, 0.18 / 3.92)), 0.02);
    cr_expect(hf_movement_turns(HF_MOVE_ROTATION));
    cr_expect_not(hf_movement_turns(HF_MOVE_EXTRUSION));
    cr_expect_null(hf_movement_names[HF_MOVEMENT_COUNT]);
    cr_expect_str_eq(hf_movement_names[HF_MOVE_MOLAR_DISTALISATION], "molar-distalisation");
}

/* Iwasaki et al. 2000: no lag at 18 and 60 gf, about 21 days above 100 gf. */
Test(rate, a_heavy_force_makes_it_wait) {
    cr_expect_eq(hf_rate_expected(HF_MOVE_CANINE_TRANSLATION, force_of(60.0, 273.0)).lag_days, 0.0);
    cr_expect_eq(hf_rate_expected(HF_MOVE_CANINE_TRANSLATION, force_of(60.0, 273.0)).lag_sd_days, 0.0);
    cr_expect_eq(hf_rate_expected(HF_MOVE_CANINE_TRANSLATION, force_of(99.0, 273.0)).lag_days, 0.0);
    hf_rate heavy = hf_rate_expected(HF_MOVE_CANINE_TRANSLATION, force_of(101.0, 273.0));
    cr_expect_float_eq(heavy.lag_days, 21.0, 0.5);
    /* Textbooks: up to 10 weeks (value from memory), taken for the width of a 95 % interval. */
    cr_expect_float_eq(heavy.lag_sd_days, 70.0 / 2.0 / 1.96, 0.5);
}
