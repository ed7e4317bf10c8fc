#include "../../../core/cantilever.h"

#include <criterion/criterion.h>
#include <math.h>

#define EXPECT_NEAR(got, want, relative)                                                                     \
    cr_expect(fabs((got) - (want)) <= (relative)*fabs(want), "%s = %.12g, expected %.12g", #got,             \
        (double)(got), (double)(want))

static const double GF = 0.00980665; /* N */

static hf_wire rectangular(
    double thickness_in, double width_in, hf_wire_way way, double modulus, double yield) {
    hf_section_in in = {.kind = HF_SECTION_WIRE, .wire_in = {thickness_in, width_in}};
    hf_material material = {"given", modulus, 0.33, yield, NULL};
    return hf_wire_of(&in, way, &material);
}

static hf_wire round_of(double diameter_mm, double modulus, double yield) {
    hf_section_in in = {.kind = HF_SECTION_ROUND, .round_mm = diameter_mm};
    hf_material material = {"given", modulus, 0.33, yield, NULL};
    return hf_wire_of(&in, HF_WIRE_FLAT, &material);
}

/* Beta-titanium by name, 0.017x0.025 inch. */
static hf_wire usual(hf_wire_way way) {
    hf_section_in in = {.kind = HF_SECTION_WIRE, .wire_in = {0.017, 0.025}};
    hf_material material = hf_alloy_material(hf_alloy_find("beta-titanium"));
    return hf_wire_of(&in, way, &material);
}

static hf_cantilever solve(hf_wire wire, double length, double helix, double force, double activation) {
    hf_cantilever_in in = {wire, length, helix, force, activation};
    cr_assert_null(hf_cantilever_check(&in));
    hf_cantilever c;
    hf_elastica_status status = hf_cantilever_of(&in, &c);
    cr_assert(status == HF_ELASTICA_ONLY || status == HF_ELASTICA_SEVERAL);
    return c;
}

static hf_cantilever pushed(hf_wire wire, double length, double force) {
    return solve(wire, length, NAN, force, NAN);
}

static hf_cantilever moved(hf_wire wire, double length, double activation) {
    return solve(wire, length, NAN, NAN, activation);
}

/* The elastica by elliptic integrals, 69 GPa, I 4.260302e-3 mm4, 25 mm: the force of a told activation is
 * greater than linear bending has it (0.22576, 0.45152, 0.67729 N). */
Test(cantilever, told_activation) {
    static const double table[][2] = {{4, 0.23189}, {8, 0.50554}, {12, 0.89742}};
    for (size_t i = 0; i < 3; i++) {
        hf_cantilever c = moved(usual(HF_WIRE_FLAT), 25.0, table[i][0]);
        cr_expect(c.large);
        EXPECT_NEAR(c.force_n, table[i][1], 3e-5);
        EXPECT_NEAR(c.activation_mm, table[i][0], 1e-10);
        EXPECT_NEAR(c.couple_nmm, c.force_n * c.reach_mm, 1e-10);
        hf_cantilever back = pushed(usual(HF_WIRE_FLAT), 25.0, c.force_n);
        EXPECT_NEAR(back.activation_mm, table[i][0], 1e-9);
        EXPECT_NEAR(back.tip_slope_rad, c.tip_slope_rad, 1e-9);
    }
}

/* Told force at P L^2/EI = 2: height 0.493457 L, reach 0.839358 L, slope 0.781750 rad (Bisshopp, Drucker
 * 1945). */
Test(cantilever, told_force) {
    hf_wire w = usual(HF_WIRE_FLAT);
    double force = 2.0 * w.ei_nmm2 / (20.0 * 20.0);
    hf_cantilever c = pushed(w, 20.0, force);
    EXPECT_NEAR(c.activation_mm, 20.0 * 0.493457, 2e-6);
    EXPECT_NEAR(c.reach_mm, 20.0 * 0.839358, 2e-6);
    EXPECT_NEAR(c.tip_slope_rad, 0.781750, 2e-6);
    EXPECT_NEAR(c.couple_nmm, force * 20.0 * 0.839358, 2e-6);
    EXPECT_NEAR(c.stress_mpa, c.couple_nmm * (0.4318 / 2.0) / 4.260302e-3, 1e-6);
}

/* Handbook: rate 3EI/L^3, the load that yields sy Z/L. Rows worked out by hand, 5 to 30 mm. */
Test(cantilever, arms_of_many_kinds) {
    const struct {
        hf_wire wire;
        double rate[5], force[5];
    } table[] = {
        {rectangular(0.017, 0.025, HF_WIRE_FLAT, 69000, 1000), {7.055, 0.8819, 0.2613, 0.1102, 0.03266},
            {3.95, 1.97, 1.32, 0.99, 0.66}},
        {rectangular(0.017, 0.025, HF_WIRE_EDGE, 69000, 1000), {15.26, 1.907, 0.5651, 0.2384, 0.0706},
            {5.80, 2.90, 1.93, 1.45, 0.97}},
        {rectangular(0.019, 0.025, HF_WIRE_FLAT, 180000, 1500), {25.69, 3.212, 0.9516, 0.4015, 0.1190},
            {7.39, 3.70, 2.46, 1.85, 1.23}},
        {round_of(0.9, 180000, 1400), {139.1, 17.39, 5.153, 2.174, 0.644}, {20.0, 10.0, 6.68, 5.01, 3.34}},
        {round_of(1.2, 180000, 1200), {439.7, 54.97, 16.29, 6.871, 2.036}, {40.7, 20.4, 13.6, 10.2, 6.8}},
        {round_of(1.2, 105000, 483), {256.5, 32.06, 9.5002, 4.008, 1.188}, {16.4, 8.19, 5.46, 4.10, 2.73}},
    };
    static const double length[5] = {5, 10, 15, 20, 30};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        for (size_t k = 0; k < 5; k++) {
            hf_cantilever c = pushed(table[i].wire, length[k], 0.01);
            cr_expect(!c.large);
            EXPECT_NEAR(c.force_n / c.activation_mm, table[i].rate[k], 6e-4);
            EXPECT_NEAR(c.force_n / c.yield_ratio, table[i].force[k], 0.01);
            EXPECT_NEAR(moved(table[i].wire, length[k], 0.01).force_n, 0.01 * table[i].rate[k], 6e-4);
        }
}

/* 65 GPa, 0.017x0.025 inch on edge, 30 mm: 0.0665 N/mm = 6.79 gf/mm. Round steel arms of 0.9 mm, 200
 * GPa: 5.73 N/mm at 15 mm, 2.42 at 20. */
Test(cantilever, rates) {
    EXPECT_NEAR(moved(rectangular(0.017, 0.025, HF_WIRE_EDGE, 65000, 1000), 30, 1).force_n / GF, 6.79, 2e-3);
    EXPECT_NEAR(moved(round_of(0.9, 200000, 1400), 15, 0.1).force_n, 0.573, 2e-3);
    EXPECT_NEAR(moved(round_of(0.9, 200000, 1400), 20, 0.1).force_n, 0.242, 2e-3);
}

/* Statics: 40 gf at 30 mm is 1200 gf mm on the tube; 0.4 N is 12 N mm. A limp wire has bent out of its reach.
 */
Test(cantilever, couple_on_the_tube) {
    EXPECT_NEAR(pushed(round_of(0.9, 193000, 1000), 30, 40.0 * GF).couple_nmm / GF, 1200.0, 1e-9);
    EXPECT_NEAR(pushed(round_of(0.9, 193000, 1000), 30, 0.4).couple_nmm, 12.0, 1e-9);
    hf_cantilever limp = pushed(usual(HF_WIRE_FLAT), 30, 0.4);
    cr_expect(limp.large && limp.couple_nmm < 11.4 && limp.couple_nmm > 10.0, "%g", limp.couple_nmm);
}

/* Linear bending says 1.0 % too much deflection at a slope of 0.15 rad: there the elastica takes over. */
Test(cantilever, linear_while_it_is_right) {
    hf_wire w = usual(HF_WIRE_FLAT);
    double edge = 0.15 * 2.0 * w.ei_nmm2 / (25.0 * 25.0);
    hf_cantilever below = pushed(w, 25, edge * (1.0 - 1e-9)), above = pushed(w, 25, edge * (1.0 + 1e-9));
    cr_expect(!below.large && above.large);
    cr_expect(fabs(below.activation_mm / above.activation_mm - 1.010) < 0.001);
    double most = edge * 25.0 * 25.0 * 25.0 / (3.0 * w.ei_nmm2);
    cr_expect(!moved(w, 25, most * (1.0 - 1e-9)).large && moved(w, 25, most * (1.0 + 1e-9)).large);
    hf_cantilever idle = moved(w, 25, 0.0);
    cr_expect(idle.force_n == 0.0 && idle.couple_nmm == 0.0 && !idle.large && !idle.permanent_set);
}

/* A unit force bends the helix all along with the couple L, so by virtual work it adds L^2 h/EI and turns the
 * end by L h/EI more. Far bent, all that it adds is a turn at the mouth of h M/EI. */
Test(cantilever, helix_at_the_mouth) {
    hf_wire w = usual(HF_WIRE_EDGE);
    hf_cantilever plain = solve(w, 25, 0.0, 0.05, NAN), wound = solve(w, 25, 20, 0.05, NAN);
    cr_expect(!plain.large && !wound.large);
    EXPECT_NEAR(wound.activation_mm - plain.activation_mm, 0.05 * 625.0 * 20.0 / w.ei_nmm2, 1e-10);
    EXPECT_NEAR(wound.tip_slope_rad - plain.tip_slope_rad, 0.05 * 25.0 * 20.0 / w.ei_nmm2, 1e-10);
    EXPECT_NEAR(wound.couple_nmm, plain.couple_nmm, 1e-12);
    hf_cantilever far = solve(w, 25, 20, NAN, 10);
    cr_expect(far.large);
    /* Seen from the axis at the mouth, it is a plain cantilever under a force turned by that angle. */
    double turn = far.couple_nmm * 20.0 / w.ei_nmm2, unit = w.ei_nmm2 / 625.0;
    hf_elastica_load turned = {far.force_n / unit * sin(turn), far.force_n / unit * cos(turn), 0, 0, false};
    hf_elastica e;
    cr_expect_eq(hf_elastica_loaded(&turned, &e), HF_ELASTICA_ONLY);
    EXPECT_NEAR(far.activation_mm, 25.0 * (e.x * sin(turn) + e.y * cos(turn)), 1e-9);
    EXPECT_NEAR(far.reach_mm, 25.0 * (e.x * cos(turn) - e.y * sin(turn)), 1e-9);
    EXPECT_NEAR(far.tip_slope_rad, e.slope + turn, 1e-9);
}

/* Titanium grade 4, round 1.2 mm, 15 mm: 483 MPa are reached at 5.46 N. */
Test(cantilever, permanent_set) {
    hf_wire w = round_of(1.2, 105000, 483);
    cr_expect(!pushed(w, 15, 5.45).permanent_set);
    cr_expect(pushed(w, 15, 5.47).permanent_set);
    hf_cantilever unknown = pushed(round_of(1.2, 105000, NAN), 15, 9.0);
    cr_expect(isnan(unknown.yield_ratio) && !unknown.permanent_set);
    /* Arms of orthodontic mini-plates began to yield at 12.6 to 29.4 N (three designs, n = 36; their size is
     * not told): the order of a titanium arm of 10 mm, 1.2 to 1.5 mm thick. */
    cr_expect(1.0 / pushed(round_of(1.2, 105000, 483), 10, 1).yield_ratio > 8.0);
    cr_expect(1.0 / pushed(round_of(1.5, 105000, 483), 10, 1).yield_ratio < 30.0);
}

/* Prog Orthod 2014, s40510-014-0042-0: 0.017x0.025 inch beta-titanium cantilevers of 10 mm, moved by 1 mm,
 * gave 110 to 179 gf (five makers, orientation and alloy not told): flat and on edge must enclose them. An
 * order only. */
Test(cantilever, published_order) {
    double flat = moved(usual(HF_WIRE_FLAT), 10, 1).force_n / GF,
           edge = moved(usual(HF_WIRE_EDGE), 10, 1).force_n / GF;
    cr_expect(flat < 110.0 && edge > 179.0, "%g %g", flat, edge);
    cr_expect(flat > 0.75 * 110.0 && edge < 1.25 * 179.0, "%g %g", flat, edge);
}

static void expect_vector(hf_vec3 got, double x, double y, double z) {
    double far = hf_norm(hf_sub(got, hf_vec3_of(x, y, z)));
    cr_expect(
        far < 1e-12 * (1.0 + hf_norm(got)), "(%g %g %g), expected (%g %g %g)", got.x, got.y, got.z, x, y, z);
}

/* Worked by hand: tube at the origin along x, end at (20, 2, -6), moved down (-z) with 0.5 N. The tooth is
 * pulled up, the tube down with (20, 2, -6) x (0, 0, 0.5) = (1, -10, 0) about its mouth. */
Test(cantilever, force_system_in_space) {
    hf_cantilever c = pushed(round_of(0.9, 193000, 1000), 20, 0.5);
    hf_cantilever_pull p;
    cr_assert(hf_cantilever_place(
        &c, hf_vec3_of(0, 0, 0), hf_vec3_of(-3, 0, 0), hf_vec3_of(20, 2, -6), hf_vec3_of(0.5, 0, -2), &p));
    expect_vector(p.on_end.force, 0, 0, 0.5);
    expect_vector(p.on_end.moment, 0, 0, 0);
    expect_vector(p.on_tube.force, 0, 0, -0.5);
    expect_vector(p.on_tube.moment, -1, 10, 0);
    EXPECT_NEAR(p.lever_mm, 20.0, 1e-12);
    EXPECT_NEAR(p.on_tube.moment.y, c.couple_nmm, 1e-12);
}

static hf_vec3 turned(hf_vec3 v) {
    hf_vec3 k = hf_unit(hf_vec3_of(1, -2, 0.7)); /* Rodrigues, by 1.1 rad */
    hf_vec3 a = hf_add(hf_scale(v, cos(1.1)), hf_scale(hf_cross(k, v), sin(1.1)));
    return hf_add_scaled(a, k, hf_dot(k, v) * (1.0 - cos(1.1)));
}

/* Both wrenches are nothing together about any point, and turn with the whole. */
Test(cantilever, both_ends_balance) {
    hf_cantilever c = moved(usual(HF_WIRE_FLAT), 22, 7);
    hf_vec3 mouth = {31, 12, -4}, axis = {0.2, -1, 0.1}, end = {28, -7, -9}, way = {0.1, 0.3, -1};
    hf_vec3 anywhere = {-40, 5, 17}, shift = {3, -8, 2};
    hf_cantilever_pull p, q;
    cr_assert(hf_cantilever_place(&c, mouth, axis, end, way, &p));
    hf_wrench sum =
        hf_wrench_add(hf_wrench_move(p.on_end, end, anywhere), hf_wrench_move(p.on_tube, mouth, anywhere));
    cr_expect(hf_norm(sum.force) < 1e-14 && hf_norm(sum.moment) < 1e-12);
    EXPECT_NEAR(hf_norm(p.on_end.force), c.force_n, 1e-12);
    cr_expect(fabs(hf_dot(p.on_end.force, axis)) < 1e-12, "across the tube");
    cr_expect(hf_dot(p.on_end.force, way) < 0.0, "back against the activation");
    EXPECT_NEAR(fabs(hf_dot(p.on_tube.moment, hf_cross(hf_unit(axis), hf_unit(p.on_end.force)))),
        c.force_n * p.lever_mm, 1e-12);
    cr_assert(hf_cantilever_place(
        &c, hf_add(turned(mouth), shift), turned(axis), hf_add(turned(end), shift), turned(way), &q));
    hf_vec3 f = turned(p.on_end.force), m = turned(p.on_tube.moment);
    expect_vector(q.on_end.force, f.x, f.y, f.z);
    expect_vector(q.on_tube.moment, m.x, m.y, m.z);
}

Test(cantilever, says_what_is_wrong) {
    hf_cantilever_in good = hf_cantilever_default();
    good.wire = usual(HF_WIRE_FLAT);
    good.length_mm = 20;
    cr_expect_str_eq(hf_cantilever_check(&good), "either the force or the activation must be given");
    good.force_n = 0.3;
    cr_expect_null(hf_cantilever_check(&good));
    hf_cantilever_in bad[9] = {good, good, good, good, good, good, good, good, good};
    bad[0].activation_mm = 2;
    bad[1].length_mm = 0;
    bad[2].helix_mm = -1;
    bad[3].force_n = -0.1;
    bad[4].wire = (hf_wire){0};
    bad[5].force_n = INFINITY;
    bad[6].wire.ei_nmm2 = INFINITY;
    bad[7].wire.bending_mm3 = 0;
    bad[8].force_n = NAN, bad[8].activation_mm = -2;
    for (size_t i = 0; i < 9; i++) {
        hf_cantilever c;
        cr_expect_not_null(hf_cantilever_check(&bad[i]), "%zu", i);
        cr_expect_eq(hf_cantilever_of(&bad[i], &c), HF_ELASTICA_OUTSIDE, "%zu", i);
        cr_expect(isnan(c.force_n) && isnan(c.couple_nmm) && !c.permanent_set, "%zu", i);
    }
    hf_cantilever c;
    good.force_n = NAN;
    good.activation_mm = 21;
    cr_expect_eq(hf_cantilever_of(&good, &c), HF_ELASTICA_NONE, "farther than the wire is long");
    cr_expect(isnan(c.force_n) && isnan(c.yield_ratio) && !c.large);
    hf_cantilever_pull p;
    hf_vec3 o = {0, 0, 0}, x = {1, 0, 0}, z = {0, 0, 1};
    cr_expect(!hf_cantilever_place(&c, o, x, x, x, &p), "moved along the tube");
    cr_expect(!hf_cantilever_place(&c, o, o, x, z, &p));
    cr_expect(!hf_cantilever_place(&c, o, x, x, o, &p));
    cr_expect(!hf_cantilever_place(&c, o, hf_vec3_absent(), x, z, &p));
    cr_expect(!hf_cantilever_place(&c, o, hf_vec3_of(1, NAN, 0), x, z, &p));
    cr_expect(!hf_cantilever_place(&c, o, hf_vec3_of(1, 0, NAN), x, z, &p));
}
