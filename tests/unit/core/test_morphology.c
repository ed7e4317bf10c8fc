#include <criterion/criterion.h>
#include <stdio.h>

#include "../../../core/evidence.h"
#include "../../../core/tooth.h"

/* The table against the printed averages, and its roots against published areas. */

#define EXPECT_NEAR(got, want, relative)                                                                     \
    cr_expect(fabs((got) - (want)) <= (relative)*fabs(want), "%s = %.12g, expected %.12g", #got,             \
        (double)(got), (double)(want))

/* Ash & Nelson, Wheeler's Dental Anatomy, table 1-1 (upper incisors, second premolar and first molar read,
 * the rest from memory): {tooth, crown, longest root, MD, MD neck, BL, BL neck, roots}. */
static const double averages[][8] = {
    {11, 10.5, 13.0, 8.5, 7.0, 7.0, 6.0, 1},
    {12, 9.0, 13.0, 6.5, 5.0, 6.0, 5.0, 1},
    {13, 10.0, 17.0, 7.5, 5.5, 8.0, 7.0, 1},
    {14, 8.5, 14.0, 7.0, 5.0, 9.0, 8.0, 2},
    {15, 8.5, 14.0, 7.0, 5.0, 9.0, 8.0, 1},
    {16, 7.5, 13.0, 10.0, 8.0, 11.0, 10.0, 3},
    {17, 7.0, 12.0, 9.0, 7.0, 11.0, 10.0, 3},
    {18, 6.5, 11.0, 8.5, 6.5, 10.0, 9.5, 3},
    {41, 9.0, 12.5, 5.0, 3.5, 6.0, 5.3, 1},
    {42, 9.5, 14.0, 5.5, 4.0, 6.5, 5.8, 1},
    {43, 11.0, 16.0, 7.0, 5.5, 7.5, 7.0, 1},
    {44, 8.5, 14.0, 7.0, 5.0, 7.5, 6.5, 1},
    {45, 8.0, 14.5, 7.0, 5.0, 8.0, 7.0, 1},
    {46, 7.5, 14.0, 11.0, 9.0, 10.5, 9.0, 2},
    {47, 7.0, 13.0, 10.5, 8.0, 10.0, 9.0, 2},
    {48, 7.0, 11.0, 10.0, 7.5, 9.5, 9.0, 2},
};

Test(morphology, averages_of_all_teeth) {
    for (size_t i = 0; i < sizeof averages / sizeof *averages; i++) {
        const double *row = averages[i];
        int tooth = (int)row[0];
        const hf_morphology *m = hf_morphology_of(tooth);
        cr_assert_not_null(m);
        cr_expect_eq(hf_morphology_of(tooth < 40 ? tooth + 10 : tooth - 10), m, "left is as right");
        cr_expect_eq(m->position, tooth % 10);
        cr_expect_eq(m->jaw, hf_tooth_jaw(tooth));
        double longest = 0.0;
        for (size_t r = 0; r < m->root_count; r++)
            longest = fmax(longest, m->roots[r].length_mm);
        const double got[7] = {m->crown_mm, longest, m->mesiodistal_mm, m->cervix_mesiodistal_mm,
            m->buccolingual_mm, m->cervix_buccolingual_mm, (double)m->root_count};
        for (int k = 0; k < 7; k++)
            cr_expect_eq(
                got[k], row[1 + k], "tooth %d, column %d: %g, expected %g", tooth, k, got[k], row[1 + k]);
    }
    cr_expect_null(hf_morphology_of(19));
    cr_expect_null(hf_morphology_of(51));
    cr_expect_null(hf_morphology_of(HF_ABSENT));
}

static void expect_row(const char *key, double value) {
    const hf_evidence *row = hf_evidence_find(key);
    cr_assert_not_null(row, "no evidence row %s", key);
    cr_expect_eq(row->value, value, "%s: %g in the table, %g in the evidence", key, value, row->value);
}

/* What is computed with is what is shown as evidence. */
Test(morphology, every_number_is_an_evidence_row) {
    static const char *const roots[16][3] = {{0}, {0}, {0}, {"buccal", "palatal"}, {0},
        {"mesiobuccal", "distobuccal", "palatal"}, {"mesiobuccal", "distobuccal", "palatal"},
        {"mesiobuccal", "distobuccal", "palatal"}, {0}, {0}, {0}, {0}, {0}, {"mesial", "distal"},
        {"mesial", "distal"}, {"mesial", "distal"}};
    char key[80];
    for (int i = 0; i < 16; i++) {
        const char *jaw = i < 8 ? "upper" : "lower";
        int position = i % 8 + 1;
        const hf_morphology *m = hf_morphology_of((i < 8 ? 10 : 40) + position);
        const struct {
            const char *member;
            double value;
        } crown[] = {{"crown", m->crown_mm}, {"mesiodistal", m->mesiodistal_mm},
            {"buccolingual", m->buccolingual_mm}, {"cervix-mesiodistal", m->cervix_mesiodistal_mm},
            {"cervix-buccolingual", m->cervix_buccolingual_mm}};
        for (size_t k = 0; k < 5; k++) {
            snprintf(key, sizeof key, "tooth-%s-%d-%s", jaw, position, crown[k].member);
            expect_row(key, crown[k].value);
        }
        for (size_t r = 0; r < m->root_count; r++) {
            const hf_root *root = &m->roots[r];
            expect_row(i >= 13 ? "root-exponent-lower-molar" : "root-exponent", root->exponent);
            if (m->root_count == 1) {
                snprintf(key, sizeof key, "tooth-%s-%d-root", jaw, position);
                expect_row(key, root->length_mm);
                cr_expect_eq(root->mesiodistal_mm, m->cervix_mesiodistal_mm);
                cr_expect_eq(root->buccolingual_mm, m->cervix_buccolingual_mm);
                cr_expect_eq(hf_norm(root->offset_mm), 0.0);
                continue;
            }
            const struct {
                const char *member;
                double value;
            } own[] = {{"length", root->length_mm}, {"mesiodistal", root->mesiodistal_mm},
                {"buccolingual", root->buccolingual_mm}, {"mesial", root->offset_mm.x},
                {"buccal", root->offset_mm.y}};
            for (size_t k = 0; k < 5; k++) {
                snprintf(
                    key, sizeof key, "tooth-%s-%d-%s-root-%s", jaw, position, roots[i][r], own[k].member);
                expect_row(key, own[k].value);
            }
        }
    }
}

/* Roots of a molar stay inside its neck. */
Test(morphology, roots_fit_into_the_neck) {
    for (size_t i = 0; i < sizeof averages / sizeof *averages; i++) {
        const hf_morphology *m = hf_morphology_of((int)averages[i][0]);
        for (size_t r = 0; r < m->root_count; r++) {
            const hf_root *root = &m->roots[r];
            cr_expect_leq(
                fabs(root->offset_mm.x) + 0.5 * root->mesiodistal_mm, 0.5 * m->cervix_mesiodistal_mm + 0.15);
            cr_expect_leq(fabs(root->offset_mm.y) + 0.5 * root->buccolingual_mm,
                0.5 * m->cervix_buccolingual_mm + 0.15);
        }
    }
}

/* From neck to apex, as published areas are taken, on the middle of the ligament. */
static double area_of(int tooth, size_t only, double below) {
    const hf_morphology *m = hf_morphology_of(tooth);
    hf_ligament l = {0.2, 0.34, 0.031};
    double sum = 0.0, area;
    for (size_t r = 0; r < m->root_count; r++) {
        hf_root root = m->roots[r];
        root.mesiodistal_mm += 0.2;
        root.buccolingual_mm += 0.2;
        hf_root_stiffness(&root, below, &l, &area);
        if (only == r || only >= m->root_count) sum += area;
    }
    return sum;
}

/* Jepsen 1963 to Freeman 1965 (values from memory), each with the 25 % by which sources differ. The law
 * behind the areas is checked to 1e-7 with the roots; this holds the table. Grooves make real roots larger
 * than smooth ones. */
Test(morphology, root_areas_are_in_the_published_band) {
    const double bands[][3] = {{11, 204, 230}, {12, 179, 194}, {13, 273, 282}, {14, 234, 312}, {15, 220, 254},
        {16, 433, 533}, {17, 431, 450}, {41, 154, 170}, {42, 168, 200}, {43, 268, 275.9}, {44, 180, 251.5},
        {45, 207, 271.8}, {46, 431, 475}, {47, 426, 450}};
    double sum = 0.0, published = 0.0;
    for (size_t i = 0; i < sizeof bands / sizeof *bands; i++) {
        double area = area_of((int)bands[i][0], 9, 0.0);
        cr_expect(area >= 0.75 * bands[i][1] && area <= 1.25 * bands[i][2], "tooth %d: %.0f mm2",
            (int)bands[i][0], area);
        sum += area;
        published += bands[i][1];
    }
    /* All together no source is 20 % off another. */
    cr_expect(sum > 0.8 * published && sum < published, "%.0f of %.0f mm2", sum, published);
}

/* Root measurements of the lower first molar, J Periodontol 1985: mesial to distal root 1 : 0.88, and 48.7 %
 * of the area in the coronal 6 of 14.4 mm. */
Test(morphology, area_of_the_lower_first_molar) {
    EXPECT_NEAR(area_of(46, 1, 0.0) / area_of(46, 0, 0.0), 0.88, 0.02);
    double whole = area_of(46, 9, 0.0), length = hf_morphology_of(46)->roots[0].length_mm;
    EXPECT_NEAR(1.0 - area_of(46, 9, 6.0 / 14.4 * length) / whole, 0.487, 0.02);
}
