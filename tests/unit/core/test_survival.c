#include "../../../core/survival.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "../../../core/case.h"
#include "../../../core/evidence.h"

static hf_arena arena;

static void begin(void) {
    hf_arena_init(&arena, 1 << 16, 0);
}

static void end(void) {
    hf_arena_fini(&arena);
}

TestSuite(survival, .init = begin, .fini = end);

/* ---- against R 4.2.2, package survival 3.5-3: survfit(Surv(time, status) ~ 1, conf.type = "log-log") */

typedef struct told {
    int days;
    int at_risk, lost;
    double survival, standard_error, low, high;
} told;

static void expect_step(const hf_survival_step *got, const told *want) {
    cr_expect_eq(got->days, want->days);
    cr_expect_eq(got->at_risk, want->at_risk, "day %d", want->days);
    cr_expect_eq(got->lost, want->lost, "day %d", want->days);
    cr_expect_float_eq(got->survival, want->survival, 1e-9, "day %d", want->days);
    cr_expect_float_eq(got->standard_error, want->standard_error, 1e-9, "day %d", want->days);
    cr_expect_float_eq(got->low, want->low, 1e-9, "day %d", want->days);
    cr_expect_float_eq(got->high, want->high, 1e-9, "day %d", want->days);
}

/* aml (Miller 1997, Survival Analysis), maintained: 9 13 13+ 18 23 28+ 31 34 45+ 48 161+ */
static const hf_followed maintained[] = {{9, 1, 0}, {13, 1, 1}, {18, 1, 0}, {23, 1, 0}, {28, 0, 1},
    {31, 1, 0}, {34, 1, 0}, {45, 0, 1}, {48, 1, 0}, {161, 0, 1}};
static const told maintained_told[] = {
    {9, 11, 1, 0.909090909090909, 0.0866784172041448, 0.5080802057699297, 0.986673822667823},
    {13, 10, 1, 0.818181818181818, 0.1162912998303329, 0.4474286146821814, 0.951162228582492},
    {18, 8, 1, 0.715909090909091, 0.1396649705572278, 0.3501903859079384, 0.899023974191053},
    {23, 7, 1, 0.613636363636364, 0.1526323310273120, 0.2657520400012861, 0.835299243250221},
    {31, 5, 1, 0.490909090909091, 0.1641932672211358, 0.1673309097768508, 0.753399790370811},
    {34, 4, 1, 0.368181818181818, 0.1626688858270948, 0.0928295749369852, 0.657040832398164},
    {48, 2, 1, 0.184090909090909, 0.1534927457862937, 0.0117384801231896, 0.525014842726641},
};

Test(survival, aml_maintained_as_r_prints_it) {
    hf_survival got = hf_survival_estimate(maintained, 10, &arena);
    cr_assert_eq(got.step_count, 7);
    for (size_t i = 0; i < 7; i++)
        expect_step(&got.steps[i], &maintained_told[i]);
    cr_expect_eq(got.screws, 11);
    cr_expect_eq(got.lost, 7);
    cr_expect_eq(got.last_days, 161);
    /* Counted by hand: who is followed for at least so long. */
    static const struct {
        int days, at_risk;
    } counted[] = {{0, 11}, {9, 11}, {10, 10}, {13, 10}, {14, 8}, {50, 1}, {161, 1}, {162, 0}};
    for (size_t i = 0; i < sizeof counted / sizeof *counted; i++)
        cr_expect_eq(hf_survival_at_risk(&got, counted[i].days), counted[i].at_risk, "%d", counted[i].days);
    cr_expect_eq(got.median_days.mid, 31.0);
    cr_expect_eq(got.median_days.low, 13.0);
    cr_expect(isnan(got.median_days.high), "the upper curve never comes down to a half");
}

/* aml, not maintained: 5 5 8 8 12 16+ 23 27 30 33 43 45, one row each and out of order: ties, and nothing
 * left. */
Test(survival, aml_not_maintained_as_r_prints_it) {
    static const hf_followed rows[] = {{45, 1, 0}, {5, 1, 0}, {8, 1, 0}, {5, 1, 0}, {43, 1, 0}, {8, 1, 0},
        {12, 1, 0}, {16, 0, 1}, {23, 1, 0}, {33, 1, 0}, {30, 1, 0}, {27, 1, 0}};
    static const told want[] = {
        {5, 12, 2, 0.8333333333333334, 0.1075828707279838, 0.48171494219537886, 0.955509365728065},
        {8, 10, 2, 0.6666666666666667, 0.1360827634879544, 0.33701893254140197, 0.859711799084440},
        {12, 8, 1, 0.5833333333333334, 0.1423187606383278, 0.27013892408549733, 0.800940192333387},
        {23, 6, 1, 0.4861111111111112, 0.1481300625534829, 0.19187661961872829, 0.729671569779485},
        {27, 5, 1, 0.3888888888888890, 0.1469861839480328, 0.12627201219539366, 0.649817408289315},
        {30, 4, 1, 0.2916666666666667, 0.1387151691349874, 0.07240160890777184, 0.560886052671409},
        {33, 3, 1, 0.1944444444444445, 0.1218745053804462, 0.03119864293121194, 0.461429476238114},
        {43, 2, 1, 0.0972222222222222, 0.0918663649675205, 0.00574630569586383, 0.348903861110750},
    };
    hf_survival got = hf_survival_estimate(rows, 12, &arena);
    cr_assert_eq(got.step_count, 9);
    for (size_t i = 0; i < 8; i++)
        expect_step(&got.steps[i], &want[i]);
    cr_expect_eq(got.steps[8].survival, 0.0);
    cr_expect(isnan(got.steps[8].standard_error) && isnan(got.steps[8].low) && isnan(got.steps[8].high));
    cr_expect_eq(got.median_days.mid, 23.0);
    cr_expect_eq(got.median_days.low, 5.0);
    cr_expect_eq(got.median_days.high, 33.0);
}

/* lung (Loprinzi et al., J Clin Oncol 1994;12:601), the 90 women; negative: still alive then. */
static const int lung[] = {310, 361, 654, 728, 61, 81, 520, 473, 107, 122, -965, 731, 153, 433, 145, 95, 765,
    735, 5, 687, 345, 444, 60, 208, -821, 305, 226, 426, 705, 363, 167, 641, -740, 245, -588, 166, -559, 450,
    -529, 351, 201, 524, 199, 550, -551, -543, 293, -511, -511, 371, 201, 62, -356, 340, -315, 182, -364,
    -376, -384, 268, -266, 194, 348, -382, -296, 186, 145, -269, 350, -272, -292, -332, 285, -243, -276, 79,
    -240, -202, -235, -224, 239, -173, -252, -92, -192, -211, -175, -203, -105, -177};

Test(survival, lung_as_r_prints_it) {
    static const told want[] = {
        {5, 90, 1, 0.9888888888888889, 0.0110492102890195, 0.9237434778670693, 0.998427343805424},
        {145, 79, 2, 0.8765531260845852, 0.0348633945329190, 0.7881383515519413, 0.929678134677819},
        {348, 37, 1, 0.5933947626763340, 0.0571819197008936, 0.4726192961030078, 0.695290448221563},
        {765, 3, 1, 0.0832144435133582, 0.0499212744378468, 0.0185052512121564, 0.212363854831863},
    };
    static const size_t at[] = {0, 9, 29, 50};
    enum { count = sizeof lung / sizeof *lung };
    hf_followed rows[count];
    for (size_t i = 0; i < count; i++)
        rows[i] = lung[i] > 0 ? (hf_followed){lung[i], 1, 0} : (hf_followed){-lung[i], 0, 1};
    hf_survival got = hf_survival_estimate(rows, count, &arena);
    cr_assert_eq(got.step_count, 51);
    for (size_t i = 0; i < 4; i++)
        expect_step(&got.steps[at[i]], &want[i]);
    cr_expect_eq(got.screws, 90);
    cr_expect_eq(got.lost, 53);
    cr_expect_eq(got.median_days.mid, 426.0);
    cr_expect_eq(got.median_days.low, 345.0);
    cr_expect_eq(got.median_days.high, 524.0);
}

/* Greenwood 1926, written out: 4 screws, one lost on day 2 of 4, one on day 4 of 3; S = 3/4 * 2/3 = 1/2, its
 * variance 1/4 (1/(4*3) + 1/(3*2)) = 1/16. The curve stays at a half from day 4 to 9: the middle, as R tells
 * it (6.5). */
Test(survival, a_plateau_at_a_half_has_its_middle_as_median) {
    static const hf_followed rows[] = {{2, 1, 0}, {4, 1, 0}, {6, 0, 1}, {9, 1, 0}};
    hf_survival got = hf_survival_estimate(rows, 4, &arena);
    cr_assert_eq(got.step_count, 3);
    cr_expect_float_eq(got.steps[1].survival, 0.5, 1e-12);
    cr_expect_float_eq(got.steps[1].standard_error, 0.25, 1e-12);
    cr_expect_float_eq(got.median_days.mid, 6.5, 1e-12);
}

Test(survival, ends_of_the_scale) {
    hf_survival none = hf_survival_estimate(NULL, 0, &arena);
    cr_expect_eq(none.screws, 0);
    cr_expect_eq(none.step_count, 0);
    cr_expect_eq(none.last_days, HF_ABSENT);
    cr_expect(isnan(none.median_days.mid));

    static const hf_followed kept[] = {{30, 0, 4}, {90, 0, 3}};
    hf_survival all = hf_survival_estimate(kept, 2, &arena);
    cr_expect_eq(all.screws, 7);
    cr_expect_eq(all.lost, 0);
    cr_expect_eq(all.step_count, 0);
    cr_expect_eq(all.last_days, 90);
    cr_expect(isnan(all.median_days.mid));

    static const hf_followed one[] = {{14, 1, 0}};
    hf_survival single = hf_survival_estimate(one, 1, &arena);
    cr_assert_eq(single.step_count, 1);
    cr_expect_eq(single.steps[0].at_risk, 1);
    cr_expect_eq(single.steps[0].survival, 0.0);
    cr_expect_eq(single.median_days.mid, 14.0);

    /* Half are lost, and no more after: R tells the day of the last loss. A row without screws follows
     * nobody. */
    static const hf_followed half[] = {{5, 1, 0}, {9, 0, 1}, {400, 0, 0}};
    hf_survival stays = hf_survival_estimate(half, 3, &arena);
    cr_expect_eq(stays.median_days.mid, 5.0);
    cr_expect_eq(stays.last_days, 9);

    static const hf_followed first_day[] = {{0, 1, 1}, {10, 0, 2}};
    hf_survival early = hf_survival_estimate(first_day, 2, &arena);
    cr_assert_eq(early.step_count, 1);
    cr_expect_eq(early.steps[0].at_risk, 4);
    cr_expect_float_eq(early.steps[0].survival, 0.75, 1e-12);
}

/* One row with counts and as many rows of one screw are the same screws. */
Test(survival, counting_and_listing_agree) {
    static const hf_followed counted[] = {{20, 3, 2}, {50, 1, 4}};
    static const hf_followed listed[] = {{50, 0, 1}, {20, 1, 0}, {20, 0, 1}, {50, 0, 1}, {20, 1, 0},
        {50, 1, 0}, {20, 0, 1}, {50, 0, 1}, {20, 1, 0}, {50, 0, 1}};
    hf_survival a = hf_survival_estimate(counted, 2, &arena), b = hf_survival_estimate(listed, 10, &arena);
    cr_assert_eq(a.step_count, 2);
    cr_assert_eq(b.step_count, 2);
    cr_expect_arr_eq(a.steps, b.steps, 2 * sizeof *a.steps);
}

/* ---- a clinic's own outcomes */

/* 6.9 % of 407 screws were lost in the first week (Eur J Orthod 2011), 18.4 % of 254 in a year (J Oral Sci
 * 2016): a week holds ln(1 - 0.069) / ln(1 - 0.184) of a treatment's danger. */
Test(survival, a_screw_counts_for_the_danger_it_has_stood) {
    static const hf_followed week[] = {{7, 0, 1000}};
    cr_expect_float_eq(
        hf_survival_own(week, 1).treatments, 1000.0 * log(1.0 - 0.069) / log(1.0 - 0.184), 4.0);
    static const hf_followed mixed[] = {{3, 2, 0}, {365, 0, 5}, {900, 0, 7}, {0, 0, 9}};
    hf_own_losses own = hf_survival_own(mixed, 4);
    cr_expect_float_eq(own.treatments, 2.0 + 5.0 + 7.0, 1e-12);
    cr_expect_eq(own.lost, 2.0);
}

/* Katyal et al. 2024: 8 % (5 to 13), prediction interval 1 to 34 % over 14 studies; Student's t with 12
 * degrees of freedom is 2.179 (any table). */
Test(survival, clinics_differ_as_the_prediction_interval_says) {
    double half = (log(0.34 / 0.66) - log(0.01 / 0.99)) / 2.0 / 2.179;
    double error = (log(0.13 / 0.87) - log(0.05 / 0.95)) / 2.0 / 1.96;
    cr_expect_float_eq(HF_EV(CLINIC_SPREAD), sqrt(half * half - error * error), 0.005);
}

static const hf_range paramedian = {0.016, 0.048, 0.134}; /* Mohammed et al., Prog Orthod 2018;19:36 */

static void expect_close(hf_range got, hf_range want, double relative) {
    cr_expect_float_eq(got.low / want.low, 1.0, relative, "%.9g instead of %.9g", got.low, want.low);
    cr_expect_float_eq(got.mid / want.mid, 1.0, relative, "%.9g instead of %.9g", got.mid, want.mid);
    cr_expect_float_eq(got.high / want.high, 1.0, relative, "%.9g instead of %.9g", got.high, want.high);
}

/* Without a spread between clinics the prior is the published interval, up to its two digits. */
Test(survival, without_own_screws_the_prior_stands) {
    hf_pooled none = hf_survival_pool(paramedian, 0.0, (hf_own_losses){0.0, 0.0});
    expect_close(none.prior, paramedian, 0.02);
    hf_pooled few = hf_survival_pool(paramedian, 0.0, (hf_own_losses){1e-7, 0.0});
    expect_close(few.result, none.prior, 1e-6);
    expect_close(none.result, none.prior, 1e-15);
    hf_range certain = {0.05, 0.05, 0.05};
    expect_close(hf_survival_pool(certain, 0.0, (hf_own_losses){50.0, 10.0}).result, certain, 1e-12);
}

/* 7 % of 1000000 screws: the middle is the share, the interval that of its log-odds, sd (n p (1 - p))^-1/2.
 */
Test(survival, many_own_screws_outweigh_the_prior) {
    double n = 1e6, p = 0.07, reach = 1.959963984540054 / sqrt(n * p * (1.0 - p)), x = log(p / (1.0 - p));
    hf_pooled got = hf_survival_pool(paramedian, 0.5, (hf_own_losses){n, n * p});
    expect_close(
        got.result, (hf_range){1.0 / (1.0 + exp(reach - x)), p, 1.0 / (1.0 + exp(-reach - x))}, 1e-4);
}

/* A prior that says nothing leaves Beta(lost, kept). R 4.2.2: qbeta(c(0.025, 0.5, 0.975), 8, 84) and 23, 69;
 * the counts are those of 2.0 x 10 and 1.5 x 8 mm buccal-shelf screws (BMC Oral Health 2022,
 * s12903-022-02460-3). */
Test(survival, a_prior_that_says_nothing_leaves_the_beta_distribution) {
    hf_pooled thick = hf_survival_pool(paramedian, 300.0, (hf_own_losses){92.0, 8.0});
    expect_close(thick.result, (hf_range){0.0387215022857074, 0.0839682804366750, 0.1520875245620333}, 1e-4);
    hf_pooled thin = hf_survival_pool(paramedian, 300.0, (hf_own_losses){92.0, 23.0});
    expect_close(thin.result, (hf_range){0.167455081404908, 0.248182179635780, 0.342834401452048}, 1e-4);
}

/* Share of the posterior below `share`, by the midpoint rule on the share itself: logit-normal density times
 * binomial. */
static double below(double mean, double sd, double n, double lost, double share) {
    enum { points = 400000 };
    double under = 0.0, whole = 0.0;
    for (int i = 0; i < points; i++) {
        double p = (i + 0.5) / points, z = (log(p / (1.0 - p)) - mean) / sd;
        double weight =
            exp(-0.5 * z * z + lost * log(p / 0.05) + (n - lost) * log((1.0 - p) / 0.95)) / (p * (1.0 - p));
        whole += weight;
        if (p < share) under += weight;
    }
    return under / whole;
}

Test(survival, the_posterior_is_the_integral) {
    static const double spreads[] = {0.0, 0.86}, data[][2] = {{12.5, 0}, {40, 5}, {300, 9}};
    for (size_t s = 0; s < 2; s++) {
        for (size_t d = 0; d < 3; d++) {
            double mean = log(0.048 / 0.952),
                   of_mean = (log(0.134 / 0.866) - log(0.016 / 0.984)) / (2.0 * 1.959963984540054);
            double sd = sqrt(of_mean * of_mean + spreads[s] * spreads[s]), n = data[d][0], lost = data[d][1];
            hf_range got = hf_survival_pool(paramedian, spreads[s], (hf_own_losses){n, lost}).result;
            cr_expect_float_eq(below(mean, sd, n, lost, got.low), 0.025, 1e-4, "%zu %zu", s, d);
            cr_expect_float_eq(below(mean, sd, n, lost, got.mid), 0.5, 1e-4, "%zu %zu", s, d);
            cr_expect_float_eq(below(mean, sd, n, lost, got.high), 0.975, 1e-4, "%zu %zu", s, d);
        }
    }
}

Test(survival, each_loss_raises_and_each_kept_screw_lowers_the_result) {
    for (double n = 1.0; n < 5000.0; n *= 3.0) {
        hf_range last = hf_survival_pool(paramedian, 0.86, (hf_own_losses){n, 0.0}).result;
        for (double share = 0.05; share < 1.01; share += 0.05) {
            hf_range now = hf_survival_pool(paramedian, 0.86, (hf_own_losses){n, fmin(share * n, n)}).result;
            cr_assert(
                now.low > last.low && now.mid > last.mid && now.high > last.high, "%g of %g", share * n, n);
            cr_assert(0.0 < now.low && now.low < now.mid && now.mid < now.high && now.high < 1.0);
            last = now;
        }
    }
}
