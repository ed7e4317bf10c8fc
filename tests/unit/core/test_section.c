#include "../../../core/section.h"

#include <criterion/criterion.h>

#define EXPECT_NEAR(got, want, relative)                                                                     \
    cr_expect(fabs((got) - (want)) <= (relative)*fabs(want), "%s = %.12g, expected %.12g", #got,             \
        (double)(got), (double)(want))

static hf_section round_mm(double d, double poisson) {
    hf_section_in in = {.kind = HF_SECTION_ROUND, .round_mm = d};
    return hf_section_of(&in, poisson);
}

static hf_section rectangle(double width, double thickness) {
    hf_section_in in = {.kind = HF_SECTION_RECTANGLE, .rectangle_mm = {width, thickness}};
    return hf_section_of(&in, 0.3);
}

static hf_section wire(double thickness_in, double width_in) {
    hf_section_in in = {.kind = HF_SECTION_WIRE, .wire_in = {thickness_in, width_in}};
    return hf_section_of(&in, 0.3);
}

/* pi d^2/4, pi d^4/64, pi d^4/32, pi d^3/32, pi d^3/16 of a 0.018 inch wire (0.4572 mm). */
Test(section, round_wire) {
    hf_section s = round_mm(0.018 * 25.4, 0.3);
    EXPECT_NEAR(s.area_mm2, 0.164173, 1e-5);
    EXPECT_NEAR(s.iy_mm4, 2.144839e-3, 1e-6);
    EXPECT_NEAR(s.iz_mm4, 2.144839e-3, 1e-6);
    EXPECT_NEAR(s.j_mm4, 4.289679e-3, 1e-6);
    EXPECT_NEAR(s.zy_mm3, 9.382500e-3, 1e-6);
    EXPECT_NEAR(s.zz_mm3, 9.382500e-3, 1e-6);
    EXPECT_NEAR(s.torsion_mm3, 1.8765e-2, 1e-6);
}

/* Nominal edgewise wires, sharp corners: A, I flat, I edge by b t^3/12; J by the Saint-Venant series. */
Test(section, rectangular_wires) {
    static const struct {
        double t, w, area, flat, edge, j;
    } table[] = {{0.016, 0.016, 0.165161, 2.273179e-3, 2.273179e-3, 3.834680e-3},
        {0.016, 0.022, 0.227096, 3.125621e-3, 5.909376e-3, 6.921611e-3},
        {0.017, 0.025, 0.274193, 4.260302e-3, 9.213456e-3, 9.879743e-3},
        {0.019, 0.025, 0.306451, 5.947774e-3, 1.029739e-2, 1.275325e-2},
        {0.021, 0.028, 0.379354, 8.994345e-3, 1.598995e-2, 1.947714e-2}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        hf_section s = wire(table[i].t, table[i].w);
        EXPECT_NEAR(s.area_mm2, table[i].area, 3e-6);
        EXPECT_NEAR(s.iy_mm4, table[i].flat, 1e-6); /* deflects along the thickness */
        EXPECT_NEAR(s.iz_mm4, table[i].edge, 1e-6);
        EXPECT_NEAR(s.j_mm4, table[i].j, 1e-6);
        EXPECT_NEAR(s.thickness_mm, table[i].t * 25.4, 1e-12);
    }
}

/* J/(a b^3) and T/(tau a b^2): Timoshenko, Goodier, Theory of Elasticity; also in structural reference
 * tables. */
Test(section, torsion_of_rectangles) {
    static const double table[][3] = {{1, 0.140577, 0.208165}, {1.2, 0.166119, 0.218934},
        {1.5, 0.195761, 0.230969}, {2, 0.228682, 0.245878}, {2.5, 0.249365, 0.257590},
        {3, 0.263317, 0.267208}, {4, 0.280813, 0.281666}, {5, 0.291317, 0.291500}, {10, 0.312325, 0.312325},
        {20, 0.322829, 0.322829}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        double b = 0.7, a = table[i][0] * b;
        hf_section lying = rectangle(a, b), standing = rectangle(b, a);
        EXPECT_NEAR(lying.j_mm4 / (a * b * b * b), table[i][1], 4e-6);
        EXPECT_NEAR(lying.torsion_mm3 / (a * b * b), table[i][2], 4e-6);
        EXPECT_NEAR(standing.j_mm4, lying.j_mm4, 1e-14);
        EXPECT_NEAR(standing.torsion_mm3, lying.torsion_mm3, 1e-14);
    }
    /* Square by the plain series summed far out in 40 digits. */
    EXPECT_NEAR(rectangle(1.0, 1.0).j_mm4, 0.14057701495515372, 1e-13);
}

/* Effective shear areas: 5/6 of a rectangle; 6(1+nu)/(7+6nu) of a circle (Cowper 1966), 0.8864 at nu 0.3. */
Test(section, shear_areas) {
    hf_section s = rectangle(2.5, 1.0);
    EXPECT_NEAR(s.shear_y_mm2, 2.0833333333, 1e-9);
    EXPECT_NEAR(s.shear_z_mm2, 2.0833333333, 1e-9);
    hf_section r = round_mm(2.0, 0.3);
    EXPECT_NEAR(r.shear_y_mm2 / M_PI, 0.8863636364, 1e-9);
    EXPECT_NEAR(r.shear_z_mm2 / M_PI, 0.8863636364, 1e-9);
}

/* Core of 1.1 mm under 100 N mm of torque and 6 N mm of bending: 45.91698 and 382.64149, together 664.3432
 * MPa (32M/pi d^3, 16T/pi d^3, von Mises). */
Test(section, stress_of_a_round_bar) {
    hf_section s = round_mm(1.1, 0.3);
    EXPECT_NEAR(hf_section_stress(&s, 0, 100, 6, 0), 664.3432, 1e-6);
    EXPECT_NEAR(hf_section_stress(&s, 0, 100, -3.6, 4.8), 664.3432, 1e-6); /* one resultant moment */
    EXPECT_NEAR(hf_section_stress(&s, -2, 0, 0, 0), 4.0 * 2.0 / (M_PI * 1.21), 1e-12);
    EXPECT_NEAR(hf_section_stress(&s, 2, 0, 6, 0), 45.91698 + 4.0 * 2.0 / (M_PI * 1.21), 1e-6);
}

/* Corner of a 3 x 1 plate: 6M/(b t^2) and 6M/(t b^2) add; torsion T/(0.267208 a b^2) beside them. */
Test(section, stress_of_a_plate) {
    hf_section s = rectangle(3.0, 1.0);
    EXPECT_NEAR(hf_section_stress(&s, 0, 0, 10, 0), 20.0, 1e-12);
    EXPECT_NEAR(hf_section_stress(&s, 0, 0, 0, -9), 6.0, 1e-12);
    EXPECT_NEAR(hf_section_stress(&s, -6, 0, 10, 9), 28.0, 1e-12);
    EXPECT_NEAR(hf_section_stress(&s, 0, 4, 0, 0), sqrt(3.0) * 4.0 / (0.267208 * 3.0), 4e-6);
}
