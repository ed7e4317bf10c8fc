#include "../../../core/wire.h"

#include <criterion/criterion.h>
#include <math.h>

#define EXPECT_NEAR(got, want, relative)                                                                     \
    cr_expect(fabs((got) - (want)) <= (relative)*fabs(want), "%s = %.12g, expected %.12g", #got,             \
        (double)(got), (double)(want))

static const double GF = 0.00980665; /* N */

static hf_wire rectangular(double thickness_in, double width_in, hf_wire_way way, const char *alloy) {
    hf_section_in in = {.kind = HF_SECTION_WIRE, .wire_in = {thickness_in, width_in}};
    const hf_alloy *found = hf_alloy_find(alloy);
    cr_assert_not_null(found, "%s", alloy);
    hf_material material = hf_alloy_material(found);
    return hf_wire_of(&in, way, &material);
}

static hf_wire round_of(double diameter_in, double modulus_mpa) {
    hf_section_in in = {.kind = HF_SECTION_ROUND, .round_mm = diameter_in * 25.4};
    hf_material material = {"given", modulus_mpa, 0.3, 1000.0, NULL};
    return hf_wire_of(&in, HF_WIRE_FLAT, &material);
}

/* Nominal sharp sections: I flat = b t^3/12, I edge = t b^3/12, and their numbers (Burstone 1981 for
 * 0.016x0.022: 597.57 and 1129.79 from memory; the rest by I over that of 0.004 inch). */
Test(wire, flat_and_edge) {
    static const struct {
        double t, w, flat, edge, number_flat, number_edge;
    } table[] = {{0.016, 0.016, 2.273179e-3, 2.273179e-3, 434.60, 434.60},
        {0.016, 0.022, 3.125621e-3, 5.909376e-3, 597.57, 1129.79},
        {0.017, 0.022, 3.749066e-3, 6.278712e-3, 716.77, 1200.40},
        {0.017, 0.025, 4.260302e-3, 9.213456e-3, 814.51, 1761.48},
        {0.018, 0.022, 4.450346e-3, 6.648048e-3, 850.84, 1271.01},
        {0.018, 0.025, 5.057212e-3, 9.755424e-3, 966.87, 1865.10},
        {0.019, 0.025, 5.947774e-3, 1.029739e-2, 1137.13, 1968.71},
        {0.021, 0.025, 8.030665e-3, 1.138133e-2, 1535.35, 2175.95},
        {0.021, 0.028, 8.994345e-3, 1.598995e-2, 1719.59, 3057.05},
        {0.032, 0.032, 3.637086e-2, 3.637086e-2, 6953.59, 6953.59}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        hf_wire flat = rectangular(table[i].t, table[i].w, HF_WIRE_FLAT, "beta-titanium");
        hf_wire edge = rectangular(table[i].t, table[i].w, HF_WIRE_EDGE, "beta-titanium");
        EXPECT_NEAR(flat.ei_nmm2, 69000.0 * table[i].flat, 1e-6);
        EXPECT_NEAR(edge.ei_nmm2, 69000.0 * table[i].edge, 1e-6);
        EXPECT_NEAR(hf_wire_section_number(&flat), table[i].number_flat, 1e-5);
        EXPECT_NEAR(hf_wire_section_number(&edge), table[i].number_edge, 1e-5);
        /* Stress = moment times half the height over I. */
        EXPECT_NEAR(flat.bending_mm3, table[i].flat / (table[i].t * 12.7), 1e-6);
        EXPECT_NEAR(edge.bending_mm3, table[i].edge / (table[i].w * 12.7), 1e-6);
    }
}

/* Round wires: (d/0.004 inch)^4; Z = pi d^3/32. */
Test(wire, round_wires) {
    static const double table[][3] = {{0.010, 39.06, 1.608796e-3}, {0.012, 81.00, 2.780000e-3},
        {0.014, 150.06, 4.414537e-3}, {0.016, 256.00, 6.589629e-3}, {0.018, 410.06, 9.382500e-3},
        {0.020, 625.00, 1.287037e-2}, {0.032, 4096.00, 5.271704e-2}, {0.036, 6561.00, 7.506000e-2}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        hf_wire w = round_of(table[i][0], 160000.0);
        EXPECT_NEAR(hf_wire_section_number(&w), table[i][1], 1.5e-4);
        EXPECT_NEAR(w.bending_mm3, table[i][2], 1e-6);
    }
}

/* Stiffness numbers of the alloys against steel wire: beta-titanium 0.42, work-hardened nickel-titanium 0.26,
 * cobalt-chromium 1.19 (Burstone 1981, values from memory). */
Test(wire, alloys_against_steel) {
    static const struct {
        const char *alloy;
        double share;
    } table[] = {{"stainless-steel-wire", 1.0}, {"beta-titanium", 0.42},
        {"nickel-titanium-work-hardened", 0.26}, {"cobalt-chromium", 1.19}};
    cr_assert_eq(hf_alloy_count, sizeof table / sizeof *table);
    for (size_t i = 0; i < hf_alloy_count; i++) {
        hf_wire w = rectangular(0.017, 0.025, HF_WIRE_FLAT, table[i].alloy);
        EXPECT_NEAR(hf_wire_number(&w), 814.51 * table[i].share, 0.08);
    }
}

/* Verstrynge, Van Humbeeck, Willems, Am J Orthod Dentofacial Orthop 2006: wires sold as beta-titanium are
 * four alloys, the stiffest 1.65 times as stiff. Goldberg 1977: drawn steel 20 % below the usual 193 to 200
 * GPa. Handbook range of work-hardened nickel-titanium: 33 to 44 GPa (value from memory). */
Test(wire, alloys_carry_their_range) {
    const hf_alloy *beta = hf_alloy_find("beta-titanium");
    const hf_evidence *modulus = &hf_evidence_table[beta->modulus];
    cr_expect(beta->several);
    EXPECT_NEAR(modulus->high / modulus->value, 1.65, 0.01);
    EXPECT_NEAR(modulus->low, 62000.0, 0.01);
    const hf_alloy *steel = hf_alloy_find("stainless-steel-wire");
    cr_expect(!steel->several);
    EXPECT_NEAR(hf_evidence_table[steel->modulus].low, 0.8 * 193000.0, 0.01);
    EXPECT_NEAR(hf_alloy_material(steel).modulus_mpa, 0.8 * 200000.0, 0.04);
    const hf_alloy *nickel = hf_alloy_find("nickel-titanium-work-hardened");
    EXPECT_NEAR(hf_evidence_table[nickel->modulus].low, 33000.0, 0.01);
    EXPECT_NEAR(hf_evidence_table[nickel->modulus].high, 44000.0, 0.01);
    cr_expect_null(hf_alloy_find("unobtainium"));
}

/* An alloy that is also a material of plates and arms is the same one. */
Test(wire, alloys_are_the_materials) {
    size_t shared = 0;
    for (size_t i = 0; i < hf_alloy_count; i++) {
        hf_material mine = hf_alloy_material(&hf_alloys[i]);
        const hf_material *theirs = hf_material_find(hf_alloys[i].name);
        cr_expect_not_null(hf_citation_find(mine.source), "%s", mine.name);
        if (!theirs) continue;
        shared++;
        cr_expect_eq(mine.modulus_mpa, theirs->modulus_mpa, "%s", mine.name);
        cr_expect_eq(mine.poisson, theirs->poisson, "%s", mine.name);
        cr_expect_eq(mine.yield_mpa, theirs->yield_mpa, "%s", mine.name);
        cr_expect_str_eq(mine.source, theirs->source, "%s", mine.name);
    }
    cr_expect(shared >= 3);
}

/* Rucker, Kusy 2002: bevelled edges take 15 to 19 % of a rectangular wire's bending stiffness. */
Test(wire, real_edges_are_bevelled) {
    hf_wire w = rectangular(0.019, 0.025, HF_WIRE_EDGE, "stainless-steel-wire");
    hf_wire_band band = hf_wire_bevelled(&w);
    EXPECT_NEAR(band.low / w.ei_nmm2, 1.0 - 0.19, 1e-9);
    EXPECT_NEAR(band.mid / w.ei_nmm2, 0.83, 1e-9);
    EXPECT_NEAR(band.high / w.ei_nmm2, 1.0 - 0.15, 1e-9);
    hf_wire real = hf_wire_with_ei(&w, band.mid);
    EXPECT_NEAR(real.ei_nmm2, 0.83 * w.ei_nmm2, 1e-9);
    /* Bent to the same curvature, the outer fibre is stretched as before: stress = E k h/2. */
    EXPECT_NEAR(real.ei_nmm2 * 0.01 / real.bending_mm3, w.modulus_mpa * 0.01 * 0.025 * 12.7, 1e-9);
    hf_wire bar = round_of(0.018, 160000.0);
    band = hf_wire_bevelled(&bar);
    cr_expect(band.low == bar.ei_nmm2 && band.mid == bar.ei_nmm2 && band.high == bar.ei_nmm2);
}

/* Six geometries (Burstone, Koenig 1974; derived anew by Kang 2020): angle ratio -> couple ratio. */
Test(wire, six_geometries) {
    static const double table[][2] = {{1, 1}, {0.5, 0.8}, {0, 0.5}, {-0.5, 0}, {-0.75, -0.4}, {-1, -1}};
    const double ei = 300.0, span = 7.0, angle = 0.05; /* of the bracket B */
    for (size_t i = 0; i < 6; i++) {
        hf_wire_couples c = hf_wire_angled(ei, span, table[i][0] * angle, angle);
        cr_expect(fabs(c.a_nmm / c.b_nmm - table[i][1]) < 1e-12, "%g: %g", table[i][0], c.a_nmm / c.b_nmm);
        EXPECT_NEAR(c.b_nmm, 2.0 * ei * angle * (table[i][0] + 2.0) / span, 1e-12);
        cr_expect(fabs(c.force_n * span - c.a_nmm - c.b_nmm) < 1e-12, "moments about A");
    }
    hf_wire_couples fourth = hf_wire_angled(ei, span, -0.5 * angle, angle);
    cr_expect(fabs(fourth.a_nmm) < 1e-12 && fourth.force_n > 0.3, "a force, but no couple at A");
    /* Far end held, near end turned: 4EI/L and 2EI/L (handbook). Both ends turned alike against each other:
     * an arc, EI/R with the angle span/2R. */
    EXPECT_NEAR(hf_wire_angled(ei, span, 0, angle).b_nmm, 4.0 * ei * angle / span, 1e-12);
    hf_wire_couples arc = hf_wire_angled(ei, span, -angle, angle);
    EXPECT_NEAR(arc.b_nmm, ei * 2.0 * angle / span, 1e-12);
    cr_expect(fabs(arc.force_n) < 1e-12);
}

/* Burstone, Koenig, Am J Orthod Dentofacial Orthop 1988;93:59: printed ratio of the couples by place of the
 * bend, the same at spans of 7 and 14 mm; beside it the closed form (L - 3a)/(2L - 3a). */
Test(wire, v_bend) {
    static const double table[][3] = {
        {0.1, 0.4, 0.412}, {0.2, 0.3, 0.286}, {1.0 / 3.0, 0.0, 0.0}, {0.4, -0.3, -0.25}, {0.5, -1.0, -1.0}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        for (double span = 7.0; span < 15.0; span += 7.0) {
            hf_wire_couples c = hf_wire_v_bend(270.0, span, table[i][0] * span, 0.1);
            double ratio = c.b_nmm / c.a_nmm;
            cr_expect(
                fabs(ratio - table[i][1]) <= 0.051, "at %g: %g, printed %g", table[i][0], ratio, table[i][1]);
            cr_expect(
                fabs(ratio - table[i][2]) <= 0.001, "at %g: %g, closed %g", table[i][0], ratio, table[i][2]);
            cr_expect(fabs(c.force_n * span - c.a_nmm - c.b_nmm) < 1e-12, "moments about A");
        }
    /* A bend in the middle is a free hinge turned by the angle: EI t/L in each half, no force. */
    hf_wire_couples middle = hf_wire_v_bend(270.0, 9.0, 4.5, 0.1);
    EXPECT_NEAR(middle.a_nmm, 270.0 * 0.1 / 9.0, 1e-12);
    cr_expect(fabs(middle.force_n) < 1e-12);
    /* At the bracket itself it is that bracket turned the other way: 4EI t/L. */
    EXPECT_NEAR(hf_wire_v_bend(270.0, 9.0, 0.0, 0.1).a_nmm, 4.0 * 270.0 * 0.1 / 9.0, 1e-12);
    /* Printed there for a/L 0.14: couples of 4840 and 1720 gf mm. */
    hf_wire_couples printed = hf_wire_v_bend(270.0, 7.0, 0.98, 0.4);
    EXPECT_NEAR(printed.b_nmm / printed.a_nmm, 1720.0 / 4840.0, 0.04);
}

/* Printed there too: a step of 0.35 mm over 7 mm in 0.016 inch steel wire gives 347 gf and 1210 gf mm at each
 * bracket; the wire's modulus is not told, 207 GPa was usual. */
Test(wire, step_bend) {
    hf_wire w = round_of(0.016, 207000.0);
    hf_wire_couples c = hf_wire_step_bend(w.ei_nmm2, 7.0, 0.35);
    EXPECT_NEAR(c.force_n / GF, 347.0, 0.01);
    EXPECT_NEAR(c.a_nmm / GF, 1210.0, 0.01);
    EXPECT_NEAR(c.b_nmm / GF, 1210.0, 0.01);
    EXPECT_NEAR(hf_wire_step_bend(28233.0 * GF, 7.0, 0.35).force_n / GF, 346.0, 0.005);
    /* Handbook: a beam with both ends clamped, one swayed by d: 12EI d/L^3, 6EI d/L^2. */
    c = hf_wire_step_bend(250.0, 10.0, 0.2);
    EXPECT_NEAR(c.force_n, 0.6, 1e-12);
    EXPECT_NEAR(c.a_nmm, 3.0, 1e-12);
}

/* A step is two bends, equal and opposite, and couples of small bends add. */
Test(wire, step_is_two_bends) {
    const double ei = 250.0, span = 12.0, step = 0.3, apart = 0.5, at = 4.0;
    double bend = step / apart;
    hf_wire_couples up = hf_wire_v_bend(ei, span, at, bend),
                    back = hf_wire_v_bend(ei, span, at + apart, -bend);
    hf_wire_couples whole = hf_wire_step_bend(ei, span, step);
    EXPECT_NEAR(up.a_nmm + back.a_nmm, whole.a_nmm, 1e-10);
    EXPECT_NEAR(up.b_nmm + back.b_nmm, whole.b_nmm, 1e-10);
    EXPECT_NEAR(up.force_n + back.force_n, whole.force_n, 1e-10);
}

/* Helical springs, G 72 GPa: G d^4/(8 D^3 n); index 4: Wahl's factor 1.40375 (handbook of machine elements,
 * value from memory). */
Test(wire, steel_coils) {
    hf_coil coil = {.wire_mm = 0.254, .mean_mm = 1.016, .turns = 20, .shear_modulus_mpa = 72000.0};
    EXPECT_NEAR(hf_coil_rate(&coil), 1.7859375, 1e-9);
    EXPECT_NEAR(hf_coil_stress(&coil, 1.0), 221.627, 1e-5);
    EXPECT_NEAR(hf_coil_stress(&coil, -2.0), 443.254, 1e-5);
    coil.turns = 30;
    EXPECT_NEAR(hf_coil_rate(&coil), 1.190625, 1e-9);
    coil = (hf_coil){.wire_mm = 0.2286, .mean_mm = 1.0, .turns = 25, .shear_modulus_mpa = 72000.0};
    EXPECT_NEAR(hf_coil_rate(&coil), 0.98312, 1e-5);
}
