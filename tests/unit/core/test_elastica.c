#include "../../../core/elastica.h"

#include <criterion/criterion.h>
#include <math.h>

#define EXPECT_WITHIN(got, want, tolerance)                                                                  \
    cr_expect(fabs((got) - (want)) <= (tolerance), "%s = %.14g, expected %.14g", #got, (double)(got),        \
        (double)(want))

static hf_elastica loaded(double px, double py, double mu, double give) {
    hf_elastica e;
    hf_elastica_load load = {px, py, mu, give, false};
    hf_elastica_status status = hf_elastica_loaded(&load, &e);
    cr_assert(
        status == HF_ELASTICA_ONLY || status == HF_ELASTICA_SEVERAL, "%g %g %g: %d", px, py, mu, status);
    return e;
}

static hf_elastica following(double px, double py, double give) {
    hf_elastica e;
    hf_elastica_load load = {px, py, 0.0, give, true};
    cr_assert_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_ONLY);
    return e;
}

static hf_elastica deflected(double y, double mu, double give) {
    hf_elastica e;
    hf_elastica_status status = hf_elastica_deflected(y, mu, give, &e);
    cr_assert(status == HF_ELASTICA_ONLY || status == HF_ELASTICA_SEVERAL, "%g %g: %d", y, mu, status);
    return e;
}

static hf_elastica guided(double y, double slope) {
    hf_elastica e;
    hf_elastica_status status = hf_elastica_guided(y, slope, 0.0, &e);
    cr_assert(status == HF_ELASTICA_ONLY || status == HF_ELASTICA_SEVERAL, "%g %g: %d", y, slope, status);
    return e;
}

/* Another program (Python, scipy DOP853, relative tolerance 1e-13, shooting from the root; integrated again
 * with a Gauss scheme of 6th order, difference below 1e-14). */
Test(elastica, another_solver) {
    static const struct {
        hf_elastica_load load;
        double root, slope, tip, x, y, force[2];
    } rows[] = {
        {{0, 1.0, 0, 0, false}, 0.943566763717, 0.461351949712, 0, 0.943566763717, 0.3017207738, {0, 1}},
        {{0, 0, 1.2, 0, false}, 1.2, 1.2, 1.2, 0.776699238306, 0.531368537936, {0, 0}},
        {{0, 2.0, 0.8, 0, false}, 2.1260159835, 1.32517318861, 0.8, 0.663007991749, 0.652619995829, {0, 2}},
        {{-1.0, 1.5, 0.2, 0, false}, 1.91124734068, 1.05177885547, 0.2, 0.744557266024, 0.594411441648,
            {-1, 1.5}},
        {{0, 2.0, 0, 0, true}, 1.81536644281, 0.968238802517, 0, 0.767362191535, 0.573839062561,
            {-1.64777766084, 1.13350288065}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        hf_elastica e;
        cr_expect_eq(hf_elastica_loaded(&rows[i].load, &e), HF_ELASTICA_ONLY);
        EXPECT_WITHIN(e.root_curvature, rows[i].root, 1e-9);
        EXPECT_WITHIN(e.slope, rows[i].slope, 1e-9);
        EXPECT_WITHIN(e.mu, rows[i].tip, 1e-9);
        EXPECT_WITHIN(e.x, rows[i].x, 1e-9);
        EXPECT_WITHIN(e.y, rows[i].y, 1e-9);
        EXPECT_WITHIN(e.px, rows[i].force[0], 1e-9);
        EXPECT_WITHIN(e.py, rows[i].force[1], 1e-9);
    }
}

/* Bisshopp, Drucker, Q Appl Math 1945;3:272: load P L^2/EI across a cantilever, height and reach of the tip
 * over L, slope of the tip (the problem from memory; numbers by elliptic integrals and by shooting, alike to
 * 1e-13). */
Test(elastica, force_across_a_cantilever) {
    static const double table[][4] = {{0.1, 0.033295, 0.999335, 0.049954},
        {0.2, 0.066364, 0.997353, 0.099636}, {0.5, 0.162144, 0.984081, 0.244534},
        {0.75, 0.235615, 0.966034, 0.357526}, {1, 0.301721, 0.943567, 0.461352},
        {1.5, 0.410978, 0.892058, 0.639540}, {2, 0.493457, 0.839358, 0.781750},
        {3, 0.603253, 0.745580, 0.986017}, {4, 0.669964, 0.671059, 1.121239},
        {5, 0.713792, 0.612372, 1.215368}, {6, 0.744571, 0.565411, 1.283697},
        {7, 0.767369, 0.527073, 1.334960}, {8, 0.784982, 0.495172, 1.374432},
        {9, 0.799056, 0.468179, 1.405465}, {10, 0.810609, 0.445004, 1.430286}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        hf_elastica e = loaded(0, table[i][0], 0, 0);
        EXPECT_WITHIN(e.y, table[i][1], 1e-6);
        EXPECT_WITHIN(e.x, table[i][2], 1e-6);
        EXPECT_WITHIN(e.slope, table[i][3], 1e-6);
        EXPECT_WITHIN(e.root_curvature, table[i][0] * table[i][2], 1e-6 * (1.0 + table[i][0]));
        EXPECT_WITHIN(deflected(table[i][1], 0, 0).py, table[i][0], 1e-5 * table[i][0]);
    }
}

/* Simpson's rule. `which` 0: elliptic integral of the first kind from p to pi/2, 1: of the second. */
static double elliptic(double k2, double p, int which) {
    enum { PANELS = 4000 };
    double h = (M_PI / 2.0 - p) / PANELS, sum = 0.0;
    for (int i = 0; i <= PANELS; i++) {
        double s = sin(p + i * h), root = sqrt(1.0 - k2 * s * s);
        sum += (i == 0 || i == PANELS ? 1.0 : i % 2 ? 4.0 : 2.0) * (which ? root : 1.0 / root);
    }
    return sum * h / 3.0;
}

/* The same problem solved by elliptic integrals from the slope t of the tip: k^2 = (1 + sin t)/2, sin p =
 * 1/(k sqrt 2), sqrt(P) = K - F(p), height 1 - 2 (E - E(p))/sqrt(P), reach sqrt(2 sin t/P). */
Test(elastica, elliptic_integrals) {
    static const double slopes[] = {0.02, 0.15, 0.4, 0.8, 1.1, 1.3, 1.45};
    for (size_t i = 0; i < sizeof slopes / sizeof *slopes; i++) {
        double k2 = (1.0 + sin(slopes[i])) / 2.0, p = asin(1.0 / sqrt(2.0 * k2));
        double root = elliptic(k2, p, 0);
        double y = 1.0 - 2.0 * elliptic(k2, p, 1) / root, x = sqrt(2.0 * sin(slopes[i])) / root;
        hf_elastica given = loaded(0, root * root, 0, 0), wanted = deflected(y, 0, 0);
        EXPECT_WITHIN(given.slope, slopes[i], 1e-9);
        EXPECT_WITHIN(given.y, y, 1e-9);
        EXPECT_WITHIN(given.x, x, 1e-9);
        EXPECT_WITHIN(wanted.slope, slopes[i], 1e-8);
        EXPECT_WITHIN(wanted.py, root * root, 1e-8 * root * root);
    }
}

/* Load that stays across the tip: height of the tip (shooting and quadrature, alike). */
Test(elastica, force_that_follows_the_tip) {
    static const double table[][2] = {
        {0.5, 0.165043}, {1, 0.320642}, {2, 0.573839}, {3, 0.726685}, {5, 0.780690}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        hf_elastica e = following(0, table[i][0], 0);
        EXPECT_WITHIN(e.y, table[i][1], 1e-6);
    }
    /* The same force told along fixed axes holds the same shape, where that has but one. */
    static const double holds[][2] = {{2.0, 0.0}, {1.2, 0.3}, {0.5, 1.5}};
    for (size_t i = 0; i < 3; i++) {
        hf_elastica e = following(0.3, holds[i][0], holds[i][1]);
        hf_elastica fixed = loaded(e.px, e.py, 0, holds[i][1]);
        EXPECT_WITHIN(fixed.x, e.x, 1e-11);
        EXPECT_WITHIN(fixed.y, e.y, 1e-11);
        EXPECT_WITHIN(fixed.slope, e.slope, 1e-11);
        EXPECT_WITHIN(fixed.energy, e.energy, 1e-11);
    }
}

/* A couple bends the wire to an arc: x = sin(m)/m, y = (1 - cos m)/m, energy m^2/2. On a hold that gives, all
 * turns. */
Test(elastica, couple_makes_an_arc) {
    for (double m = -2.4; m <= 2.4; m += 0.7) {
        if (fabs(m) < 0.1) continue;
        hf_elastica e = loaded(0, 0, m, 0);
        EXPECT_WITHIN(e.x, sin(m) / m, 1e-12);
        EXPECT_WITHIN(e.y, (1.0 - cos(m)) / m, 1e-12);
        EXPECT_WITHIN(e.slope, m, 1e-12);
        EXPECT_WITHIN(e.energy, m * m / 2.0, 1e-12);
        EXPECT_WITHIN(e.peak_curvature, fabs(m), 1e-12);
    }
    hf_elastica e = loaded(0, 0, 0.8, 0.5);
    EXPECT_WITHIN(e.slope, 0.4 + 0.8, 1e-12);
    EXPECT_WITHIN(e.x, (sin(1.2) - sin(0.4)) / 0.8, 1e-12);
    EXPECT_WITHIN(e.y, (cos(0.4) - cos(1.2)) / 0.8, 1e-12);
    EXPECT_WITHIN(e.energy, 0.32 + 0.5 * 0.5 * 0.64, 1e-12);
}

/* Handbook: P L^3/3EI + M L^2/2EI, P L^2/2EI + M L/EI; a hold that turns by c per couple adds c (P L + M) L.
 * Across a tip kept parallel: 12 EI d/L^3 and 6 EI d/L^2. */
Test(elastica, small_loads_are_linear) {
    const double p = 3e-4, m = -2e-4, c = 0.7;
    hf_elastica e = loaded(0, p, m, c);
    EXPECT_WITHIN(e.y, p / 3.0 + m / 2.0 + c * (p + m), 1e-9);
    EXPECT_WITHIN(e.slope, p / 2.0 + m + c * (p + m), 1e-9);
    EXPECT_WITHIN(e.root_curvature, p + m, 1e-9);
    EXPECT_WITHIN(deflected(1e-4, 0, 0).py, 3e-4, 1e-9);
    EXPECT_WITHIN(deflected(1e-4, 0, c).py, 1e-4 / (1.0 / 3.0 + c), 1e-9);
    EXPECT_WITHIN(guided(1e-4, 0).py, 12e-4, 1e-9);
    EXPECT_WITHIN(guided(1e-4, 0).mu, -6e-4, 1e-9);
    EXPECT_WITHIN(guided(0, 1e-4).mu, 4e-4, 1e-9); /* 4EI/L, 6EI/L^2 of a turned end */
    EXPECT_WITHIN(guided(0, 1e-4).py, -6e-4, 1e-9);
    hf_elastica f = following(0, p, 0);
    EXPECT_WITHIN(f.y, p / 3.0, 1e-9);
    EXPECT_WITHIN(f.px, -p * p / 2.0, 1e-11);
}

/* A pull along the wire stiffens it, a push softens it: column formulas, tip height P (1/k - tan(k)/k^2
 * …)/k^2. */
Test(elastica, pull_and_push_along_the_wire) {
    const double k = 1.3, p = 1e-5;
    EXPECT_WITHIN(loaded(-k * k, p, 0, 0).y / p, (tan(k) / k - 1.0) / (k * k), 1e-6);
    EXPECT_WITHIN(loaded(k * k, p, 0, 0).y / p, (1.0 - tanh(k) / k) / (k * k), 1e-6);
    EXPECT_WITHIN(loaded(-k * k, 0, p, 0).y / p, (1.0 / cos(k) - 1.0) / (k * k), 1e-6);
}

/* kappa^2/2 + px cos(theta) + py sin(theta) is the same all along the wire, and moments about the hold
 * balance. */
Test(elastica, integrals_of_the_equation) {
    static const double loads[][4] = {{0, 1, 0, 0}, {-1.4, 1, 0.3, 0}, {2, -3, 1, 0.4}, {-3, 5, -1, 0.1},
        {1, 8, 0.9, 1.5}, {0, 24, 0, 0}, {15, 15, -1.9, 0.2}};
    for (size_t i = 0; i < sizeof loads / sizeof *loads; i++) {
        hf_elastica e = loaded(loads[i][0], loads[i][1], loads[i][2], loads[i][3]);
        double tip = e.mu * e.mu / 2.0 + e.px * cos(e.slope) + e.py * sin(e.slope);
        double start = loads[i][3] * e.root_curvature, root = e.root_curvature;
        EXPECT_WITHIN(root * root / 2.0 + e.px * cos(start) + e.py * sin(start), tip,
            1e-10 * (1.0 + fabs(tip) + root * root));
        EXPECT_WITHIN(root, e.mu + e.x * e.py - e.y * e.px, 1e-10 * (1.0 + fabs(root)));
    }
}

/* What the loads do on the way is what the wire stores: W = p u - integral of u dp (Simpson over the load).
 */
Test(elastica, work_becomes_energy) {
    static const double loads[][4] = {{0, 3, 0, 0}, {-1, 1.5, 0.2, 0}, {1, 2, -1, 0.5}, {0, 2, 0.8, 1}};
    enum { PANELS = 64 };
    for (size_t i = 0; i < sizeof loads / sizeof *loads; i++) {
        double px = loads[i][0], py = loads[i][1], mu = loads[i][2], sum = 0.0;
        for (int n = 1; n <= PANELS; n++) {
            double t = (double)n / PANELS;
            hf_elastica e = loaded(px * t, py * t, mu * t, loads[i][3]);
            double path = px * (e.x - 1.0) + py * e.y + mu * e.slope;
            sum += (n == PANELS ? 1.0 : n % 2 ? 4.0 : 2.0) * path / (3.0 * PANELS);
            if (n == PANELS) EXPECT_WITHIN(e.energy, path - sum, 1e-6 * path);
        }
    }
}

/* Betti also holds between two small changes of a bent wire: turn by force = height by couple. */
Test(elastica, changes_are_reciprocal) {
    const double h = 1e-4;
    double turn = (loaded(-0.5, 1.5 + h, 0.4, 0.3).slope - loaded(-0.5, 1.5 - h, 0.4, 0.3).slope) / (2.0 * h);
    double rise = (loaded(-0.5, 1.5, 0.4 + h, 0.3).y - loaded(-0.5, 1.5, 0.4 - h, 0.3).y) / (2.0 * h);
    EXPECT_WITHIN(turn, rise, 1e-6);
    double lengthen = (loaded(-0.5 + h, 1.5, 0.4, 0.3).y - loaded(-0.5 - h, 1.5, 0.4, 0.3).y) / (2.0 * h);
    double reach = (loaded(-0.5, 1.5 + h, 0.4, 0.3).x - loaded(-0.5, 1.5 - h, 0.4, 0.3).x) / (2.0 * h);
    EXPECT_WITHIN(lengthen, reach, 1e-6);
}

Test(elastica, mirrored_load_bends_the_mirrored_way) {
    hf_elastica up = loaded(-1, 4, 0.7, 0.2), down = loaded(-1, -4, -0.7, 0.2);
    cr_expect_eq(up.x, down.x);
    cr_expect_eq(up.y, -down.y);
    cr_expect_eq(up.slope, -down.slope);
    cr_expect_eq(up.energy, down.energy);
    cr_expect_eq(deflected(0.4, 0.3, 0).py, -deflected(-0.4, -0.3, 0).py);
}

/* A wire whose tip stays parallel is two cantilevers of half its length, tip to tip: four times the force. */
Test(elastica, parallel_tip_is_two_halves) {
    for (double y = 0.1; y < 0.75; y += 0.2) {
        hf_elastica whole = guided(y, 0), half = deflected(y, 0, 0);
        EXPECT_WITHIN(whole.py, 4.0 * half.py, 1e-9 * whole.py);
        EXPECT_WITHIN(whole.x, half.x, 1e-10);
        EXPECT_WITHIN(whole.mu, -whole.py * whole.x / 2.0, 1e-9 * whole.py);
        EXPECT_WITHIN(whole.peak_curvature, 2.0 * half.root_curvature, 1e-9 * whole.py);
    }
}

/* The three questions agree: a state that a load makes is found again from its height, couple or slope. */
Test(elastica, the_three_questions_agree) {
    hf_elastica e = loaded(0, 2.0, 0.8, 0), f = deflected(0.652619995829, 0.8, 0);
    EXPECT_WITHIN(f.py, 2.0, 1e-9);
    EXPECT_WITHIN(f.slope, 1.32517318861, 1e-9);
    hf_elastica g = guided(e.y, e.slope);
    EXPECT_WITHIN(g.py, 2.0, 1e-9);
    EXPECT_WITHIN(g.mu, 0.8, 1e-9);
    EXPECT_WITHIN(guided(0.669964, 1.121239).py, 4.0, 1e-4); /* the table again, which has no couple */
    EXPECT_WITHIN(guided(0.669964, 1.121239).mu, 0.0, 1e-4);
}

/* Of a pendulum's swing: the curvature is greatest where the wire runs against the force, kappa^2 = 2 (p
 * t_tip + |p|). */
Test(elastica, greatest_curvature_inside_the_wire) {
    hf_elastica e = following(0, 5, 0);
    cr_expect(e.peak_curvature > 1.05 * e.root_curvature);
    EXPECT_WITHIN(e.peak_curvature, sqrt(10.0), 1e-9);
    EXPECT_WITHIN(loaded(0, 3, 0, 0).peak_curvature, 3 * 0.745580, 5e-6);
}

/* Euler: a clamped column buckles at pi^2/4; on a hold that turns by 1 per couple at w^2, w tan w = 1, w =
 * 0.860334 (Abramowitz, Stegun, Handbook of Mathematical Functions, table 4.20). */
Test(elastica, a_straight_wire_buckles) {
    hf_elastica e;
    hf_elastica_load load = {.px = -2.46};
    cr_expect_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_ONLY);
    EXPECT_WITHIN(e.x, 1.0, 1e-12);
    load.px = -2.475;
    cr_expect_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_NONE);
    cr_expect(isnan(e.x) && isnan(e.y) && isnan(e.py) && isnan(e.energy));
    load = (hf_elastica_load){.px = -0.737, .give = 1.0};
    cr_expect_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_SEVERAL);
    load.px = -0.743;
    cr_expect_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_NONE);
    /* The least push aside leads it round the corner. */
    load = (hf_elastica_load){.px = -2.6, .py = 1e-3};
    cr_expect_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_SEVERAL);
    cr_expect(e.y > 0.3);
}

/* The bound of the only equilibrium is pi^2/4, a clamped column again; no tip goes farther than its wire is
 * long. */
Test(elastica, says_why_it_stopped) {
    hf_elastica e;
    hf_elastica_load load = {.py = M_PI * M_PI / 4.0 - 1e-6};
    cr_expect_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_ONLY);
    load.py += 2e-6;
    cr_expect_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_SEVERAL);
    cr_expect_eq(hf_elastica_deflected(0.5, 0, 0, &e), HF_ELASTICA_ONLY);
    cr_expect_eq(hf_elastica_deflected(0.6, 0, 0, &e), HF_ELASTICA_SEVERAL);
    /* The force on a parallel tip passes pi^2 between these: four times 2.05 and four times 2.96. */
    cr_expect_eq(hf_elastica_guided(0.5, 0, 0, &e), HF_ELASTICA_ONLY);
    cr_expect_eq(hf_elastica_guided(0.6, 0, 0, &e), HF_ELASTICA_SEVERAL);
    cr_expect_eq(hf_elastica_guided(0.5, 0, 1e-6, &e), HF_ELASTICA_SEVERAL);
    cr_expect_eq(hf_elastica_deflected(1.0, 0, 0, &e), HF_ELASTICA_NONE);
    cr_expect_eq(hf_elastica_guided(-1.2, 0, 0, &e), HF_ELASTICA_NONE);
    cr_expect_eq(
        hf_elastica_deflected(0.93, 0, 0, &e), HF_ELASTICA_OUTSIDE, "asks for more force than is studied");
    cr_expect(isnan(e.py) && isnan(e.slope));
    static const hf_elastica_load outside[] = {{.py = 25.1}, {.px = 20, .py = -20}, {.mu = 2.41},
        {.mu = 1.3, .give = 1}, {.give = -0.1}, {.give = 3.1}, {.py = NAN}, {.px = INFINITY}, {.mu = NAN},
        {.give = NAN}, {.py = 26, .follower = true}};
    for (size_t i = 0; i < sizeof outside / sizeof *outside; i++) {
        cr_expect_eq(hf_elastica_loaded(&outside[i], &e), HF_ELASTICA_OUTSIDE, "%zu", i);
        cr_expect(isnan(e.x) && isnan(e.root_curvature), "%zu", i);
    }
    cr_expect_eq(hf_elastica_deflected(NAN, 0, 0, &e), HF_ELASTICA_OUTSIDE);
    cr_expect_eq(hf_elastica_deflected(0.1, NAN, 0, &e), HF_ELASTICA_OUTSIDE);
    cr_expect_eq(hf_elastica_guided(0.1, NAN, 0, &e), HF_ELASTICA_OUTSIDE);
    cr_expect_eq(hf_elastica_guided(0.1, 2.5, 0, &e), HF_ELASTICA_OUTSIDE);
    cr_expect_eq(hf_elastica_deflected(0.1, 0, -1, &e), HF_ELASTICA_OUTSIDE);
}

/* Below the bound the potential is convex: whatever the load, it is solved, and there is one answer. */
Test(elastica, convex_loads_are_always_solved) {
    static const double gives[] = {0.0, 0.3, 2.0};
    for (size_t g = 0; g < 3; g++) {
        double most = 0.999 / (4.0 / (M_PI * M_PI) + gives[g]);
        for (int a = 0; a < 24; a++)
            for (double turn = -2.39; turn < 2.4; turn += 0.478) {
                hf_elastica_load load = {most * cos(a * M_PI / 12.0), most * sin(a * M_PI / 12.0),
                    turn / (1.0 + gives[g]), gives[g], false};
                hf_elastica e;
                cr_expect_eq(hf_elastica_loaded(&load, &e), HF_ELASTICA_ONLY, "%d %g %g", a, turn, gives[g]);
                EXPECT_WITHIN(e.root_curvature, e.mu + e.x * e.py - e.y * e.px, 1e-11);
            }
    }
}
