#include "../../../core/site.h"

#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/evidence.h"
#include "../../../core/odds.h"

/* Per cent: Mohammed et al., Prog Orthod 2018;19:36 (abstract; the upper end of mandible 5-6 and the line
 * below it from memory); infrazygomatic: Katyal et al., Eur J Orthod 2024, cjae074. */
static const struct {
    const char *key;
    double low, mid, high;
} published[] = {
    {"palate-median", 0.3, 1.3, 6.0},
    {"palate-paramedian", 1.6, 4.8, 13.4},
    {"palate-parapalatal", 2.8, 5.5, 10.7},
    {"maxilla-buccal-5-6", 7.4, 9.2, 11.4},
    {"maxilla-buccal-2-3", 5.1, 9.7, 17.6},
    {"infrazygomatic", 5.0, 8.0, 13.0},
    {"mandible-buccal-5-6", 7.3, 13.5, 23.6},
    {"mandible-buccal-3-4", 4.9, 9.9, 19.1},
};

Test(site, loss_is_the_published_one) {
    for (size_t i = 0; i < sizeof published / sizeof *published; i++) {
        const hf_site *site = hf_site_find(published[i].key);
        cr_assert(site, "%s", published[i].key);
        cr_expect_float_eq(100.0 * site->loss.low, published[i].low, 1e-9, "%s", site->key);
        cr_expect_float_eq(100.0 * site->loss.mid, published[i].mid, 1e-9, "%s", site->key);
        cr_expect_float_eq(100.0 * site->loss.high, published[i].high, 1e-9, "%s", site->key);
    }
}

/* The keys of the service's contract. */
Test(site, every_key_of_the_contract_is_there) {
    static const char *const keys[] = {"palate-median", "palate-paramedian", "palate-parapalatal",
        "maxilla-buccal-5-6", "maxilla-buccal-2-3", "infrazygomatic", "mandible-buccal-5-6",
        "mandible-buccal-3-4", "buccal-shelf", "retromolar", "mandibular-ramus", "symphysis"};
    cr_assert_eq(hf_site_count, sizeof keys / sizeof *keys);
    for (size_t i = 0; i < hf_site_count; i++)
        cr_expect(hf_site_find(keys[i]), "%s", keys[i]);
    cr_expect_null(hf_site_find("general"), "the stand-in is no site of its own");
}

/* Inside what the screw's recipe was calibrated for: cortex 0.5 to 3 mm, cancellous 0.5 to 1.5 GPa. */
Test(site, bone_is_told_and_calibrated) {
    for (size_t i = 0; i <= hf_site_count; i++) {
        const hf_site *site = &hf_sites[i];
        cr_expect(site->loss.low < site->loss.mid && site->loss.mid < site->loss.high, "%s", site->key);
        cr_expect(site->cortex_mm >= 0.5 && site->cortex_mm <= 3.0, "%s", site->key);
        cr_expect(
            site->cancellous_modulus_mpa >= 500.0 && site->cancellous_modulus_mpa <= 1500.0, "%s", site->key);
        cr_expect_eq(site->cortex_modulus_mpa, 13700.0, "%s", site->key);
        cr_expect(site->tissue_mm >= 0.5 && site->tissue_mm <= 4.0, "%s", site->key);
        cr_expect(hf_evidence_find(site->source) && hf_evidence_find(site->cortex_source) &&
                      hf_evidence_find(site->tissue_source),
            "%s", site->key);
        bool mandible = strncmp(site->key, "mandib", 6) == 0 || strcmp(site->key, "buccal-shelf") == 0 ||
                        strcmp(site->key, "retromolar") == 0 || strcmp(site->key, "symphysis") == 0;
        cr_expect_eq(site->jaw, mandible ? HF_MANDIBLE : HF_MAXILLA, "%s", site->key);
    }
}

/* Where nothing was found the table says so and is unsure: the interval spans a factor of at least four. */
Test(site, sites_without_figures_are_wide_and_say_so) {
    static const char *const keys[] = {"retromolar", "mandibular-ramus", "symphysis"};
    for (size_t i = 0; i < 3; i++) {
        const hf_site *site = hf_site_find(keys[i]);
        hf_held held = hf_evidence_find(site->source)->held;
        cr_expect(held == HF_JUDGEMENT || held == HF_FROM_MEMORY, "%s", site->key);
        cr_expect(site->loss.high / site->loss.low > 4.0, "%s", site->key);
    }
}

static hf_window class_at(const char *site, double diameter_mm, double torque_ncm) {
    double low = NAN, high = NAN;
    const char *source = NULL;
    bool known = hf_site_torque_window(hf_site_find(site), diameter_mm, &low, &high, &source);
    cr_assert_eq(known, source != NULL);
    if (known) cr_expect(hf_evidence_find(source), "'%s'", source);
    return hf_torque_class(torque_ncm, low, high);
}

/* Uchida, Namura, Motoyoshi, Appl Sci 2023;13:10681: 5-12 upper, 6-14 lower N cm between the roots (1.5
 * to 1.7 mm); middle of the palate 11-16 (1.5 mm tapered), 20-25 (2.0 mm tapered). */
Test(site, torque_window_depends_on_site_and_diameter) {
    static const struct {
        const char *site;
        double diameter_mm, torque_ncm;
        hf_window want;
    } rows[] = {
        {"palate-median", 2.0, 8.0, HF_WINDOW_BELOW},
        {"palate-median", 2.0, 15.0, HF_WINDOW_BELOW},
        {"palate-median", 2.0, 22.0, HF_WINDOW_INSIDE},
        {"palate-median", 2.0, 26.0, HF_WINDOW_ABOVE},
        {"palate-median", 1.5, 15.0, HF_WINDOW_INSIDE},
        {"palate-median", 1.6, 10.5, HF_WINDOW_BELOW},
        {"palate-median", 1.75, 15.0, HF_WINDOW_UNKNOWN},
        {"maxilla-buccal-5-6", 1.6, 8.0, HF_WINDOW_INSIDE},
        {"maxilla-buccal-5-6", 1.6, 15.0, HF_WINDOW_ABOVE},
        {"maxilla-buccal-5-6", 1.7, 12.5, HF_WINDOW_ABOVE},
        {"maxilla-buccal-2-3", 1.5, 4.8, HF_WINDOW_BELOW},
        {"mandible-buccal-5-6", 1.6, 5.5, HF_WINDOW_BELOW},
        {"mandible-buccal-3-4", 1.6, 13.5, HF_WINDOW_INSIDE},
        {"mandible-buccal-5-6", 1.6, 14.5, HF_WINDOW_ABOVE},
        {"mandible-buccal-5-6", 1.4, 10.0, HF_WINDOW_UNKNOWN},
        {"mandible-buccal-5-6", 2.0, 10.0, HF_WINDOW_UNKNOWN},
        {"maxilla-buccal-5-6", 1.45, 8.0, HF_WINDOW_UNKNOWN},
        {"maxilla-buccal-5-6", 1.75, 8.0, HF_WINDOW_UNKNOWN},
        {"palate-median", 1.3, 12.0, HF_WINDOW_UNKNOWN},
        {"palate-median", 1.4, 12.0, HF_WINDOW_INSIDE},
        {"palate-median", 2.1, 22.0, HF_WINDOW_INSIDE},
        {"palate-median", 2.2, 22.0, HF_WINDOW_UNKNOWN},
        {"infrazygomatic", 1.6, 10.0, HF_WINDOW_UNKNOWN},
        {"palate-paramedian", 2.0, 18.0, HF_WINDOW_UNKNOWN},
        {"palate-median", 2.0, NAN, HF_WINDOW_UNKNOWN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_eq(
            class_at(rows[i].site, rows[i].diameter_mm, rows[i].torque_ncm), rows[i].want, "row %zu", i);
}

static hf_case case_with(const hf_site_in *own) {
    hf_case in = hf_case_default();
    in.sites = own;
    in.site_count = 1;
    return in;
}

Test(site, the_clinics_row_lies_over_the_published_one) {
    hf_site_in own = hf_site_default();
    own.key = "palate-median";
    own.cortex_mm = 2.2;
    own.torque_low_ncm = 12.0;
    own.torque_high_ncm = 30.0;
    own.source = "own CT series";
    hf_case in = case_with(&own);
    hf_site site;
    cr_assert(hf_site_resolve(&in, "palate-median", &site));
    cr_expect_eq(site.cortex_mm, 2.2);
    cr_expect_str_eq(site.cortex_source, "own CT series");
    cr_expect_eq(site.loss.mid, 0.013, "what is left out stays published");
    cr_expect_str_eq(site.source, "loss-palate-median");
    double low, high;
    const char *source;
    cr_assert(
        hf_site_torque_window(&site, 3.0, &low, &high, &source), "an own window holds for every diameter");
    cr_expect(low == 12.0 && high == 30.0);
    cr_expect_str_eq(source, "own CT series");
    cr_assert(hf_site_resolve(&in, "infrazygomatic", &site));
    cr_expect_eq(site.cortex_mm, hf_site_find("infrazygomatic")->cortex_mm, "another site is not touched");
}

/* An own middle without an interval keeps the published width: factor 3 of the odds on each side of
 * paramedian (0.048/0.952 over 0.016/0.984 is 3.1009). */
Test(site, an_own_loss_without_interval_keeps_the_width) {
    hf_site_in own = hf_site_default();
    own.key = "palate-paramedian";
    own.loss_mid = 0.10;
    hf_case in = case_with(&own);
    hf_site site;
    cr_assert(hf_site_resolve(&in, "palate-paramedian", &site));
    cr_expect_eq(site.loss.mid, 0.10);
    cr_expect_float_eq(site.loss.low, (0.1 / 0.9 / 3.1009) / (1.0 + 0.1 / 0.9 / 3.1009), 1e-5);
    cr_expect(site.loss.high > 0.24 && site.loss.high < 0.28);
    own.loss_low = 0.06;
    own.loss_high = 0.17;
    cr_assert(hf_site_resolve(&in, "palate-paramedian", &site));
    cr_expect(site.loss.low == 0.06 && site.loss.high == 0.17);
    cr_expect_null(hf_evidence_find(site.source), "no longer the published figure");
}

Test(site, the_clinics_own_site_gets_general_figures) {
    hf_site_in own = hf_site_default();
    own.key = "tuberosity";
    own.jaw = HF_MAXILLA;
    hf_case in = case_with(&own);
    hf_site site;
    cr_assert(hf_site_resolve(&in, "tuberosity", &site));
    cr_expect_str_eq(site.key, "tuberosity");
    /* 13.5 %: Papageorgiou 2012, 4987 screws in 52 studies. */
    cr_expect_float_eq(site.loss.mid, 0.135, 1e-9);
    cr_expect(site.loss.low < 0.05 && site.loss.high > 0.24, "as wide as sites differ");
    double low, high;
    const char *source;
    cr_expect_not(hf_site_torque_window(&site, 1.6, &low, &high, &source));
    cr_expect_not(hf_site_resolve(&in, "no-such-site", &site));
}

/* Odds, not shares, multiply: 4.8 % with odds ratio 6.93 is 25.89 %, with 2.1 it is 9.57 %. */
Test(site, odds_multiply) {
    cr_expect_float_eq(100.0 * hf_expit(hf_logit(0.048) + log(6.93)), 25.89, 0.01);
    cr_expect_float_eq(100.0 * hf_expit(hf_logit(0.048) + log(2.1)), 9.57, 0.01);
    cr_expect_float_eq(hf_odds(0.2), 0.25, 1e-12);
}

static hf_site pooled(int placed, int lost, double treatments) {
    hf_site_in own = hf_site_default();
    own.key = "palate-paramedian";
    own.own_placed = placed;
    own.own_lost = lost;
    own.own_treatments = treatments;
    hf_case in = case_with(&own);
    hf_site site;
    cr_assert(hf_site_resolve(&in, own.key, &site));
    return site;
}

/* None placed: the published middle, its interval widened by the spread between clinics, 0.86 in log-odds
 * (Katyal 2024: 1 to 34 % where the mean is known to 5 to 13 %). With 4.8 (1.6 to 13.4) %: standard deviation
 * hypot((logit 0.134 - logit 0.016) / 3.92, 0.86) = 1.039. Very many: the share seen. */
Test(site, own_screws_move_the_published_loss) {
    hf_site none = pooled(0, 0, NAN);
    cr_expect_float_eq(none.loss.mid, 0.048, 1e-9);
    cr_expect_float_eq(hf_logit(none.loss.high) - hf_logit(none.loss.low), 2.0 * 1.96 * 1.039, 0.02);
    hf_site many = pooled(100000, 20000, NAN);
    cr_expect_float_eq(many.loss.mid, 0.2, 0.001);
    cr_expect_float_eq(many.loss.high - many.loss.low, 3.92 * sqrt(0.2 * 0.8 / 100000.0), 0.0005);
    cr_expect_float_eq(many.loss_before_own.mid, 0.048, 1e-12, "what was published stays known");
    cr_expect_not(hf_site_find("palate-paramedian")->has_own);
}

Test(site, own_screws_pull_one_way_each) {
    for (int lost = 0; lost < 20; lost++) {
        cr_expect_gt(pooled(20, lost + 1, NAN).loss.mid, pooled(20, lost, NAN).loss.mid);
        cr_expect_lt(pooled(30, lost, NAN).loss.mid, pooled(20, lost, NAN).loss.mid, "ten more that stayed");
        cr_expect_gt(pooled(30, lost, 0.5 * (30 + lost)).loss.mid, pooled(30, lost, NAN).loss.mid,
            "stayed, but only for a while");
    }
}

/* Among several rows of the clinic's own the first of the key counts. What is told by halves (one end of a
 * torque window, screws without how many were lost) changes nothing. */
Test(site, each_own_member_counts_alone) {
    hf_site_in own[3] = {hf_site_default(), hf_site_default(), hf_site_default()};
    own[0].key = "infrazygomatic";
    own[1].key = own[2].key = "palate-paramedian";
    own[1].cancellous_modulus_mpa = 900.0;
    own[1].loss_mid = 0.06, own[1].source = "own CT series";
    own[1].torque_low_ncm = 8.0;
    own[1].own_placed = 40;
    own[2].cancellous_modulus_mpa = 100.0;
    hf_case in = hf_case_default();
    in.sites = own, in.site_count = 3;
    hf_site site;
    cr_assert(hf_site_resolve(&in, "palate-paramedian", &site));
    cr_expect_eq(site.cancellous_modulus_mpa, 900.0);
    cr_expect_eq(site.loss.mid, 0.06);
    cr_expect_str_eq(site.source, "own CT series");
    cr_expect_not(site.has_own);
    cr_expect(isnan(site.torque_low_ncm));
    cr_expect_eq(hf_torque_class(10.0, 8.0, NAN), HF_WINDOW_UNKNOWN);
}
