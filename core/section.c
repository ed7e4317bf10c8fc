#include "section.h"

#include <assert.h>
#include <math.h>

static const double MM_PER_INCH = 25.4;

/* Saint-Venant torsion of a rectangle, a >= b (Timoshenko & Goodier, Theory of Elasticity, ch. 10):
 *   J = a b^3 (1/3 - 64 b/(pi^5 a) sum tanh(n pi a/2b)/n^5),  tau_max = T b (1 - 8/pi^2 sum sech(n pi
 * a/2b)/n^2)/J over odd n. With tanh x = 1 - 2/(e^2x + 1) the slow part of the first sum is 31 zeta(5)/32 and
 * the rest falls as e^(-n pi): twelve terms leave less than 1e-15 in both. */
static void rectangle_torsion(double a, double b, double *j_mm4, double *torsion_mm3) {
    const double sum_of_odd_fifth_powers = 1.00452376279513961613; /* 31 zeta(5)/32 */
    double fifth = sum_of_odd_fifth_powers;
    double sech = 0.0;
    for (int n = 23; n >= 1; n -= 2) {
        double x = n * M_PI * a / (2.0 * b);
        double n2 = (double)n * n;
        fifth -= 2.0 / (n2 * n2 * n * (exp(2.0 * x) + 1.0));
        sech += 1.0 / (n2 * cosh(x));
    }
    double pi2 = M_PI * M_PI;
    *j_mm4 = a * b * b * b * (1.0 / 3.0 - 64.0 * b / (pi2 * pi2 * M_PI * a) * fifth);
    *torsion_mm3 = *j_mm4 / (b * (1.0 - 8.0 / pi2 * sech));
}

static hf_section round_section(double d, double poisson) {
    double d2 = d * d;
    double area = M_PI * d2 / 4.0;
    double i = M_PI * d2 * d2 / 64.0;
    double z = M_PI * d2 * d / 32.0;
    /* Cowper, J Appl Mech 1966;33:335, solid circle. */
    double shear = area * 6.0 * (1.0 + poisson) / (7.0 + 6.0 * poisson);
    return (hf_section){.round = true,
        .width_mm = d,
        .thickness_mm = d,
        .area_mm2 = area,
        .iy_mm4 = i,
        .iz_mm4 = i,
        .j_mm4 = 2.0 * i,
        .shear_y_mm2 = shear,
        .shear_z_mm2 = shear,
        .zy_mm3 = z,
        .zz_mm3 = z,
        .torsion_mm3 = 2.0 * z};
}

static hf_section rectangle_section(double width, double thickness) {
    double area = width * thickness;
    hf_section s = {.width_mm = width,
        .thickness_mm = thickness,
        .area_mm2 = area,
        .iy_mm4 = area * thickness * thickness / 12.0,
        .iz_mm4 = area * width * width / 12.0,
        .shear_y_mm2 = area * 5.0 / 6.0,
        .shear_z_mm2 = area * 5.0 / 6.0,
        .zy_mm3 = area * thickness / 6.0,
        .zz_mm3 = area * width / 6.0};
    rectangle_torsion(fmax(width, thickness), fmin(width, thickness), &s.j_mm4, &s.torsion_mm3);
    return s;
}

hf_section hf_section_of(const hf_section_in *in, double poisson) {
    assert(in->kind != HF_SECTION_NONE);
    if (in->kind == HF_SECTION_ROUND) return round_section(in->round_mm, poisson);
    if (in->kind == HF_SECTION_RECTANGLE) return rectangle_section(in->rectangle_mm[0], in->rectangle_mm[1]);
    return rectangle_section(in->wire_in[1] * MM_PER_INCH, in->wire_in[0] * MM_PER_INCH);
}

double hf_section_stress(
    const hf_section *s, double axial_n, double torque_nmm, double my_nmm, double mz_nmm) {
    double by = fabs(my_nmm) / s->zy_mm3;
    double bz = fabs(mz_nmm) / s->zz_mm3;
    double sigma = fabs(axial_n) / s->area_mm2 + (s->round ? hypot(by, bz) : by + bz);
    /* In a rectangle the two peaks stand at different places (corner, middle of the long side): a bound. */
    double tau = fabs(torque_nmm) / s->torsion_mm3;
    return sqrt(sigma * sigma + 3.0 * tau * tau);
}
