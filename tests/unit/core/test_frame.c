#include "../../../core/frame.h"

#include <criterion/criterion.h>

#include "../../../core/screw.h"

/* Handbook beams, what must not matter, and what is refused. */

static hf_frame_result solved_once(hf_frame frame) {
    static hf_arena arena;
    static bool ready;
    if (!ready) hf_arena_init(&arena, 1 << 16, 0);
    ready = true;
    hf_frame_result r;
    size_t culprit = 99;
    cr_assert_eq(hf_frame_solve(&frame, &arena, &r, &culprit), HF_FRAME_OK, "body %zu hangs free", culprit);
    cr_expect_lt(r.force_residual_n, 1e-9);
    cr_expect_lt(r.moment_residual_nmm, 1e-9);
    return r;
}

#define EXPECT_NEAR(got, want, relative)                                                                     \
    cr_expect(fabs((got) - (want)) <= (relative)*fabs(want), "%s = %.12g, expected %.12g", #got,             \
        (double)(got), (double)(want))

static void expect_vec(const char *what, hf_vec3 got, hf_vec3 want, double off) {
    cr_expect(hf_norm(hf_sub(got, want)) <= off, "%s = (%.12g, %.12g, %.12g), expected (%.12g, %.12g, %.12g)",
        what, got.x, got.y, got.z, want.x, want.y, want.z);
}

/* ---- handbook beams. Section and material of no particular bar; E I = 20000 (y), 50000 (z), G J = 30000. */

static const double EA = 1e5, EIY = 2e4, EIZ = 5e4, GJ = 3e4;

static hf_frame_bar beam(hf_frame_point i, hf_frame_point j, hf_vec3 normal) {
    const double e = 1e5, g = e / 2.6;
    return (hf_frame_bar){.i = i,
        .j = j,
        .normal = normal,
        .modulus_mpa = e,
        .poisson = 0.3,
        .without_shear = true,
        .section = {.area_mm2 = EA / e,
            .iy_mm4 = EIY / e,
            .iz_mm4 = EIZ / e,
            .j_mm4 = GJ / g,
            .shear_y_mm2 = 0.7,
            .shear_z_mm2 = 0.4}};
}

static hf_frame_point at(size_t body, double x, double y, double z) {
    return (hf_frame_point){body, hf_vec3_of(x, y, z)};
}

/* A support that holds shifts along, and turns about, the axes marked 1, a million million times stiffer than
 * the beams. */
static hf_frame_spring support(hf_frame_point where, const int held[6]) {
    hf_frame_spring s = {.at = where};
    for (int i = 0; i < 6; i++)
        s.k.m[i][i] = held[i] ? 1e10 : 0.0;
    return s;
}

/* End load and moment on a cantilever: P L^3/3EI, P L^2/2EI, M L^2/2EI, M L/EI, N L/EA, T L/GJ. */
Test(frame, cantilever) {
    const double l = 12.0;
    hf_frame_body body[2] = {{{0, 0, 0}, true}, {{l, 0, 0}, false}};
    hf_frame_bar bar = beam(at(0, 0, 0, 0), at(1, l, 0, 0), hf_vec3_of(0, 0, 1));
    hf_frame_load load = {at(1, l, 0, 0), {{0, 2, 0}, {0, 0, 0}}};
    hf_frame frame = {body, 2, &bar, 1, NULL, 0, &load, 1};
    hf_twist t = solved_once(frame).bodies[1];
    EXPECT_NEAR(t.shift.y, 2.0 * l * l * l / (3.0 * EIZ), 1e-12);
    EXPECT_NEAR(t.turn.z, 2.0 * l * l / (2.0 * EIZ), 1e-12);
    load.load = (hf_wrench){{3, 0, -2}, {5, 7, 0}};
    hf_frame_result r = solved_once(frame);
    t = r.bodies[1];
    EXPECT_NEAR(t.shift.x, 3.0 * l / EA, 1e-12);
    EXPECT_NEAR(t.turn.x, 5.0 * l / GJ, 1e-12);
    EXPECT_NEAR(t.shift.z, -2.0 * l * l * l / (3.0 * EIY) - 7.0 * l * l / (2.0 * EIY), 1e-12);
    EXPECT_NEAR(t.turn.y, 2.0 * l * l / (2.0 * EIY) + 7.0 * l / EIY, 1e-12);
    EXPECT_NEAR(r.bars[0].end[4], -2.0 * l - 7.0, 1e-12);
    /* Timoshenko: P L/(G As) more, and no other turn of the tip. */
    bar.without_shear = false;
    hf_twist with_shear = solved_once(frame).bodies[1];
    EXPECT_NEAR(with_shear.shift.z - t.shift.z, -2.0 * l / (1e5 / 2.6 * 0.4), 1e-11);
    EXPECT_NEAR(with_shear.turn.y, t.turn.y, 1e-12);
}

/* Centre load between two ends: clamped P L^3/192EI and P L/8; propped 7 P L^3/768EI, prop 5P/16, wall
 * 3PL/16; simply supported P L^3/48EI and P L^2/16EI. */
Test(frame, centre_load) {
    const double l = 20.0, p = 3.0;
    hf_frame_body body[3] = {{{0, 0, 0}, true}, {{l / 2, 0, 0}, false}, {{l, 0, 0}, true}};
    hf_frame_bar bar[2] = {beam(at(0, 0, 0, 0), at(1, l / 2, 0, 0), hf_vec3_of(0, 0, 1)),
        beam(at(1, l / 2, 0, 0), at(2, l, 0, 0), hf_vec3_of(0, 0, 1))};
    hf_frame_load load = {at(1, l / 2, 0, 0), {{0, p, 0}, {0, 0, 0}}};
    hf_frame_spring hold[2] = {support(at(2, l, 0, 0), (int[6]){0, 1, 1, 1, 0, 0}),
        support(at(0, 0, 0, 0), (int[6]){1, 1, 1, 1, 0, 0})};
    hf_frame frame = {body, 3, bar, 2, hold, 0, &load, 1};

    hf_frame_result r = solved_once(frame);
    EXPECT_NEAR(r.bodies[1].shift.y, p * l * l * l / (192.0 * EIZ), 1e-12);
    EXPECT_NEAR(fabs(r.bars[0].end[5]), p * l / 8.0, 1e-12);
    EXPECT_NEAR(fabs(r.bars[0].end[11]), p * l / 8.0, 1e-12);

    body[2].fixed = false;
    frame.spring_count = 1;
    r = solved_once(frame);
    EXPECT_NEAR(r.bodies[1].shift.y, 7.0 * p * l * l * l / (768.0 * EIZ), 1e-7);
    EXPECT_NEAR(r.springs[0].force.y, 5.0 * p / 16.0, 1e-7);
    EXPECT_NEAR(fabs(r.bars[0].end[5]), 3.0 * p * l / 16.0, 1e-7);

    body[0].fixed = false;
    frame.spring_count = 2;
    r = solved_once(frame);
    EXPECT_NEAR(r.bodies[1].shift.y, p * l * l * l / (48.0 * EIZ), 1e-7);
    EXPECT_NEAR(r.bodies[0].turn.z, p * l * l / (16.0 * EIZ), 1e-7);
}

/* Clamped and guided ends: F = 12 E I d/L^3, M = 6 E I d/L^2. Moment at a pinned end: half of it at the
 * clamped one. */
Test(frame, guided_and_pinned_end) {
    const double l = 15.0;
    hf_frame_body body[2] = {{{0, 0, 0}, true}, {{l, 0, 0}, false}};
    hf_frame_bar bar = beam(at(0, 0, 0, 0), at(1, l, 0, 0), hf_vec3_of(0, 0, 1));
    hf_frame_spring hold = support(at(1, l, 0, 0), (int[6]){0, 0, 0, 1, 1, 1});
    hf_frame_load load = {at(1, l, 0, 0), {{0, 2, 0}, {0, 0, 0}}};
    hf_frame frame = {body, 2, &bar, 1, &hold, 1, &load, 1};
    hf_frame_result r = solved_once(frame);
    double d = r.bodies[1].shift.y;
    EXPECT_NEAR(12.0 * EIZ * d / (l * l * l), 2.0, 1e-6);
    EXPECT_NEAR(fabs(r.bars[0].end[5]), 6.0 * EIZ * d / (l * l), 1e-6);

    hold = support(at(1, l, 0, 0), (int[6]){1, 1, 1, 0, 0, 0});
    load.load = (hf_wrench){{0, 0, 0}, {0, 0, 8}};
    r = solved_once(frame);
    EXPECT_NEAR(r.bars[0].end[5], 4.0, 1e-6);
    EXPECT_NEAR(r.bodies[1].turn.z, 8.0 * l / (4.0 * EIZ), 1e-6);
}

/* Portal on clamped columns, lateral load at the beam, k = (I_beam/I_column)(h/L): sway H h^3/(12 E I)
 * (2+3k)/(1+6k), base moment H h (3k+1)/(2(6k+1)). The handbook leaves axial strain out: here the area is
 * made very large. */
Test(frame, portal) {
    const double h = 10.0, span = 16.0, k = EIZ / EIY * h / span, load_n = 4.0;
    hf_frame_body body[4] = {
        {{0, 0, 0}, true}, {{0, 0, h}, false}, {{span, 0, h}, false}, {{span, 0, 0}, true}};
    hf_frame_bar bar[3] = {beam(at(0, 0, 0, 0), at(1, 0, 0, h), hf_vec3_of(1, 0, 0)),
        beam(at(1, 0, 0, h), at(2, span, 0, h), hf_vec3_of(0, 1, 0)),
        beam(at(2, span, 0, h), at(3, span, 0, 0), hf_vec3_of(1, 0, 0))};
    for (int i = 0; i < 3; i++)
        bar[i].section.area_mm2 = 1e4;
    hf_frame_load load = {at(1, 0, 0, h), {{load_n, 0, 0}, {0, 0, 0}}};
    hf_frame_result r = solved_once((hf_frame){body, 4, bar, 3, NULL, 0, &load, 1});
    EXPECT_NEAR(
        r.bodies[1].shift.x, load_n * h * h * h / (12.0 * EIY) * (2.0 + 3.0 * k) / (1.0 + 6.0 * k), 1e-5);
    EXPECT_NEAR(fabs(r.bars[0].end[4]), load_n * h * (3.0 * k + 1.0) / (2.0 * (6.0 * k + 1.0)), 1e-5);
    EXPECT_NEAR(fabs(r.bars[0].end[10]), 3.0 * k * load_n * h / (2.0 * (6.0 * k + 1.0)), 1e-5);
}

/* Quarter ring, load at the free tip: normal to its plane P R^3 (0.785398/EI + 0.356194/GJ); in the plane
 * radial 0.785398, tangential 0.356194, cross 0.5 times P R^3/EI. Forty straight bars: 0.1 %. */
Test(frame, quarter_ring) {
    enum { N = 40 };
    const double r = 20.0;
    hf_frame_body body[N + 1];
    hf_frame_bar bar[N];
    for (int i = 0; i <= N; i++) {
        double a = M_PI / 2.0 * i / N;
        body[i] = (hf_frame_body){hf_vec3_of(r * cos(a), r * sin(a), 0), i == 0};
    }
    for (size_t i = 0; i < N; i++) {
        bar[i] = beam((hf_frame_point){i, body[i].at_mm}, (hf_frame_point){i + 1, body[i + 1].at_mm},
            hf_vec3_of(0, 0, 1));
        bar[i].section.area_mm2 = 50.0;
    }
    hf_frame_load load = {{N, body[N].at_mm}, {{0, 0, 1}, {0, 0, 0}}};
    hf_frame frame = {body, N + 1, bar, N, NULL, 0, &load, 1};
    EXPECT_NEAR(solved_once(frame).bodies[N].shift.z, r * r * r * (0.785398 / EIY + 0.356194 / GJ), 1e-3);
    load.load.force = hf_vec3_of(0, 1, 0);
    hf_twist t = solved_once(frame).bodies[N];
    EXPECT_NEAR(t.shift.y, r * r * r * 0.785398 / EIZ, 1e-3);
    EXPECT_NEAR(t.shift.x, r * r * r * 0.5 / EIZ, 1e-3);
    load.load.force = hf_vec3_of(1, 0, 0);
    EXPECT_NEAR(solved_once(frame).bodies[N].shift.x, r * r * r * 0.356194 / EIZ, 1e-3);
}

/* L-shaped cantilever, round 0.9 mm, E 193000, nu 0.29: leg 12 along x, leg 8 along y. 1.5 N normal to its
 * plane: u = P a^3/3EI + P b^3/3EI + P b^2 a/GJ, wall bending P a, torsion P b. In its plane along the first
 * leg: dx = P (b^3/3 + b^2 a)/EI + P a/EA, dy = -P b a^2/2EI. */
Test(frame, bent_cantilever) {
    hf_section_in round = {.kind = HF_SECTION_ROUND, .round_mm = 0.9};
    hf_frame_body body[3] = {{{0, 0, 0}, true}, {{12, 0, 0}, false}, {{12, 8, 0}, false}};
    hf_frame_bar bar[2];
    for (size_t i = 0; i < 2; i++)
        bar[i] = (hf_frame_bar){.i = {i, body[i].at_mm},
            .j = {i + 1, body[i + 1].at_mm},
            .normal = {0, 0, 1},
            .section = hf_section_of(&round, 0.29),
            .modulus_mpa = 193000.0,
            .poisson = 0.29,
            .without_shear = true};
    hf_frame_load load = {at(2, 12, 8, 0), {{0, 0, 1.5}, {0, 0, 0}}};
    hf_frame frame = {body, 3, bar, 2, NULL, 0, &load, 1};
    hf_frame_result r = solved_once(frame);
    EXPECT_NEAR(r.bodies[2].shift.z, 0.4192668, 1e-6);
    expect_vec("turn", r.bodies[2].turn, hf_vec3_of(0.03760737, -0.01737507, 0), 1e-8);
    EXPECT_NEAR(r.bars[0].end[2], -1.5, 1e-9);
    EXPECT_NEAR(r.bars[0].end[3], -12.0, 1e-9);
    EXPECT_NEAR(r.bars[0].end[4], 18.0, 1e-9);

    load.load.force = hf_vec3_of(2, 0, 0);
    r = solved_once(frame);
    double i = M_PI * pow(0.9, 4) / 64.0, a = M_PI * 0.81 / 4.0;
    EXPECT_NEAR(r.bodies[2].shift.x, 2.0 * ((512.0 / 3.0 + 64.0 * 12.0) / i + 12.0 / a) / 193000.0, 1e-9);
    EXPECT_NEAR(r.bodies[2].shift.y, -2.0 * 8.0 * 144.0 / (2.0 * 193000.0 * i), 1e-9);
}

/* ---- what must not matter. A space frame of five bodies with springs, in two pieces joined through the
 * ground. */

typedef struct sample {
    hf_frame_body body[5];
    hf_frame_bar bar[4];
    hf_frame_spring spring[3];
    hf_frame_load load[2];
    hf_frame frame;
} sample;

static hf_vec3 turned(const hf_axes *q, hf_vec3 v) {
    return hf_add(hf_add(hf_scale(q->x, v.x), hf_scale(q->y, v.y)), hf_scale(q->z, v.z));
}

/* The sample seen in other axes: positions x -> q x + off. A mirror turns moments and turns about besides. */
static void make_sample(sample *s, const hf_axes *q, hf_vec3 off, double handedness) {
    static const double place[5][3] = {{0, 0, 0}, {7, 1, 2}, {9, 8, 1}, {3, 6, 5}, {14, 3, -4}};
    static const size_t joins[4][2] = {{0, 1}, {1, 2}, {2, 3}, {1, 4}};
    static const size_t held[3] = {0, 3, 2};
    static const hf_vec3 axis[3] = {{0, 0.6, 0.8}, {0.36, 0.48, 0.8}, {1, 0, 0}};
    hf_section_in round = {.kind = HF_SECTION_ROUND, .round_mm = 1.1};
    hf_section_in flat = {.kind = HF_SECTION_RECTANGLE, .rectangle_mm = {2.0, 0.9}};
    hf_vec3 at_mm[5];
    for (size_t i = 0; i < 5; i++) {
        at_mm[i] = hf_add(turned(q, hf_vec3_of(place[i][0], place[i][1], place[i][2])), off);
        s->body[i] = (hf_frame_body){at_mm[i], false};
    }
    for (size_t i = 0; i < 4; i++) {
        hf_frame_point from = {joins[i][0], at_mm[joins[i][0]]}, to = {joins[i][1], at_mm[joins[i][1]]};
        s->bar[i] = (hf_frame_bar){.i = from,
            .j = to,
            .section = hf_section_of(i % 2 ? &round : &flat, 0.34),
            .modulus_mpa = 103400.0,
            .poisson = 0.34,
            .normal = turned(q, hf_vec3_of(0.2, -0.3, 1.0))};
    }
    hf_screw_compliance c = {.u_f = 7e-4, .u_m = 3e-4, .th_m = 2e-4, .w_n = 1e-4, .phi_t = 2.4e-4};
    hf_mat6 local = hf_screw_stiffness(&c);
    for (size_t i = 0; i < 3; i++) {
        hf_axes axes = hf_screw_axes(turned(q, axis[i]));
        s->spring[i] = (hf_frame_spring){{held[i], at_mm[held[i]]}, hf_mat6_to_global(&local, &axes)};
    }
    s->load[0] = (hf_frame_load){{4, at_mm[4]},
        {turned(q, hf_vec3_of(1.2, -0.4, 0.9)), hf_scale(turned(q, hf_vec3_of(3, 1, -2)), handedness)}};
    s->load[1] = (hf_frame_load){{1, hf_add(at_mm[1], turned(q, hf_vec3_of(0, 2, 1)))},
        {turned(q, hf_vec3_of(-0.5, 0.7, 0.3)), {0, 0, 0}}};
    s->frame = (hf_frame){s->body, 5, s->bar, 4, s->spring, 3, s->load, 2};
}

static const hf_axes SAME = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};

static void expect_same_in_other_axes(const hf_axes *q, hf_vec3 off, double handedness) {
    sample a, b;
    make_sample(&a, &SAME, hf_vec3_of(0, 0, 0), 1.0);
    make_sample(&b, q, off, handedness);
    hf_frame_result ra = solved_once(a.frame), rb = solved_once(b.frame);
    for (size_t i = 0; i < 5; i++) {
        expect_vec(
            "shift", rb.bodies[i].shift, turned(q, ra.bodies[i].shift), 1e-9 * hf_norm(ra.bodies[4].shift));
        expect_vec("turn", rb.bodies[i].turn, hf_scale(turned(q, ra.bodies[i].turn), handedness),
            1e-9 * hf_norm(ra.bodies[4].turn));
    }
    for (size_t i = 0; i < 3; i++) {
        expect_vec("force", rb.springs[i].force, turned(q, ra.springs[i].force), 1e-9);
        expect_vec(
            "moment", rb.springs[i].moment, hf_scale(turned(q, ra.springs[i].moment), handedness), 1e-8);
    }
}

Test(frame, axes_do_not_matter) {
    /* Rodrigues' turn by 1.1 rad about (1, 2, -2)/3, and a far origin. */
    double c = cos(1.1), s = sin(1.1);
    hf_vec3 n = {1.0 / 3, 2.0 / 3, -2.0 / 3};
    hf_axes q;
    hf_vec3 *column[3] = {&q.x, &q.y, &q.z};
    const hf_vec3 unit[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    for (int i = 0; i < 3; i++)
        *column[i] = hf_add(hf_add(hf_scale(unit[i], c), hf_scale(hf_cross(n, unit[i]), s)),
            hf_scale(n, hf_dot(n, unit[i]) * (1.0 - c)));
    expect_same_in_other_axes(&q, hf_vec3_of(20, -35, 50), 1.0);
}

Test(frame, left_mirrors_right) {
    hf_axes mirror = {{-1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    expect_same_in_other_axes(&mirror, hf_vec3_of(0, 0, 0), -1.0);
}

/* The reference point of a body is bookkeeping: forces stay, the twist is that of the other point. */
Test(frame, reference_point_does_not_matter) {
    sample a, b;
    make_sample(&a, &SAME, hf_vec3_of(0, 0, 0), 1.0);
    make_sample(&b, &SAME, hf_vec3_of(0, 0, 0), 1.0);
    for (size_t i = 0; i < 5; i++)
        b.body[i].at_mm = hf_add(b.body[i].at_mm, hf_vec3_of(3.0 - (double)i, 4, (double)i * 2));
    hf_frame_result ra = solved_once(a.frame), rb = solved_once(b.frame);
    for (size_t i = 0; i < 5; i++) {
        hf_twist moved = hf_twist_move(ra.bodies[i], a.body[i].at_mm, b.body[i].at_mm);
        expect_vec("shift", rb.bodies[i].shift, moved.shift, 1e-10);
        expect_vec("turn", rb.bodies[i].turn, moved.turn, 1e-11);
    }
    for (size_t i = 0; i < 4; i++)
        for (size_t k = 0; k < 12; k++)
            cr_expect_float_eq(rb.bars[i].end[k], ra.bars[i].end[k], 1e-8);
}

/* Springs take what the loads bring: forces, and moments about the origin. */
Test(frame, statics) {
    sample s;
    make_sample(&s, &SAME, hf_vec3_of(0, 0, 0), 1.0);
    hf_frame_result r = solved_once(s.frame);
    hf_vec3 origin = {0, 0, 0};
    hf_wrench sum = {0};
    for (size_t i = 0; i < 2; i++)
        sum = hf_wrench_add(sum, hf_wrench_move(s.load[i].load, s.load[i].at.at_mm, origin));
    for (size_t i = 0; i < 3; i++) {
        hf_wrench back = {hf_scale(r.springs[i].force, -1.0), hf_scale(r.springs[i].moment, -1.0)};
        sum = hf_wrench_add(sum, hf_wrench_move(back, s.spring[i].at.at_mm, origin));
    }
    expect_vec("force left over", sum.force, origin, 1e-9);
    expect_vec("moment left over", sum.moment, origin, 1e-9);
}

/* Maxwell and Betti: movement i by unit load j is movement j by unit load i. Doubled load, doubled movement.
 */
Test(frame, reciprocity_and_linearity) {
    sample s;
    double moved[30][30];
    for (size_t j = 0; j < 30; j++) {
        make_sample(&s, &SAME, hf_vec3_of(0, 0, 0), 1.0);
        double unit[6] = {0};
        unit[j % 6] = 1.0;
        s.load[0] = (hf_frame_load){
            {j / 6, s.body[j / 6].at_mm}, {{unit[0], unit[1], unit[2]}, {unit[3], unit[4], unit[5]}}};
        s.frame.load_count = 1;
        hf_frame_result r = solved_once(s.frame);
        for (size_t b = 0; b < 5; b++) {
            const hf_twist *t = &r.bodies[b];
            const double six[6] = {t->shift.x, t->shift.y, t->shift.z, t->turn.x, t->turn.y, t->turn.z};
            for (size_t k = 0; k < 6; k++)
                moved[6 * b + k][j] = six[k];
        }
        if (j != 2) continue;
        s.load[0].load.force.z = 2.0;
        EXPECT_NEAR(solved_once(s.frame).bodies[0].shift.z, 2.0 * moved[2][2], 1e-12);
    }
    for (size_t i = 0; i < 30; i++)
        for (size_t j = 0; j < i; j++)
            cr_expect_float_eq(moved[i][j], moved[j][i], 1e-9 * sqrt(moved[i][i] * moved[j][j]));
}

/* ---- what is refused. */

static size_t culprit_of(const hf_frame *frame) {
    hf_arena arena;
    hf_arena_init(&arena, 0, 0);
    hf_frame_result r;
    size_t culprit = 99;
    cr_expect_eq(hf_frame_solve(frame, &arena, &r, &culprit), HF_FRAME_UNSUPPORTED);
    hf_arena_fini(&arena);
    return culprit;
}

Test(frame, names_the_body_that_nothing_holds) {
    sample s;
    make_sample(&s, &SAME, hf_vec3_of(0, 0, 0), 1.0);
    s.frame.bar_count = 3; /* body 4 hung on the last bar */
    cr_expect_eq(culprit_of(&s.frame), 4);
    s.frame.bar_count = 4;
    s.frame.spring_count = 0;
    cr_expect_eq(culprit_of(&s.frame), 0);
    /* Held, but free to turn about the only spring, which resists no turning. */
    s.frame.spring_count = 1;
    for (int i = 0; i < 6; i++)
        for (int j = 0; j < 6; j++)
            s.spring[0].k.m[i][j] = i == j && i < 3 ? 500.0 : 0.0;
    cr_expect_lt(culprit_of(&s.frame), 5);
}

Test(frame, without_bars_and_without_bodies) {
    hf_frame empty = {0};
    hf_frame_result r = solved_once(empty);
    cr_expect_eq(r.force_residual_n, 0.0);
    hf_frame_body body = {{1, 2, 3}, false};
    hf_frame lone = {.bodies = &body, .body_count = 1};
    cr_expect_eq(culprit_of(&lone), 0);
}

/* A rod on a spring is two springs in a row: F (L/EA + 1/k). Prepared once, solved with other springs and
 * loads. */
Test(frame, prepared_once_solved_often) {
    hf_arena again;
    hf_arena_init(&again, 1 << 14, 0);
    hf_section_in round = {.kind = HF_SECTION_ROUND, .round_mm = 1.0};
    const hf_frame_body bodies[] = {{{0, 0, 0}, false}, {{10, 0, 0}, false}};
    const hf_frame_bar rod = {.i = {0, {0, 0, 0}},
        .j = {1, {10, 0, 0}},
        .section = hf_section_of(&round, 0.3),
        .modulus_mpa = 100000.0,
        .poisson = 0.3,
        .normal = {0, 0, 1}};
    hf_frame_spring spring = {.at = {0, {0, 0, 0}}};
    hf_frame_load load = {.at = {1, {10, 0, 0}}};
    const hf_frame frame = {.bodies = bodies,
        .body_count = 2,
        .bars = &rod,
        .bar_count = 1,
        .springs = &spring,
        .spring_count = 1,
        .loads = &load,
        .load_count = 1};
    hf_frame_result result;
    size_t culprit;
    hf_frame_solver *solver = hf_frame_prepare(&frame, &again, &result, &culprit);
    cr_assert_not_null(solver);
    hf_frame_result other = hf_frame_result_of(&frame, &again);
    size_t held = again.held_bytes;
    static const double k_of[] = {5000.0, 500.0, 5000.0}, force_of[] = {1.0, 2.0, -3.0};
    for (int i = 0; i < 3; i++) {
        for (int d = 0; d < 6; d++)
            spring.k.m[d][d] = k_of[i];
        load.load.force.x = force_of[i];
        cr_assert_eq(hf_frame_solve_prepared(solver, &result, &culprit), HF_FRAME_OK);
        double want = force_of[i] * (10.0 / (100000.0 * M_PI / 4.0) + 1.0 / k_of[i]);
        cr_expect_float_eq(result.bodies[1].shift.x, want, 1e-9 * fabs(want), "%d", i);
        cr_expect_float_eq(result.springs[0].force.x, force_of[i], 1e-9, "%d", i);
        cr_expect(result.force_residual_n < 1e-9);
    }
    /* Other loads on the same factors, into a result of their own. */
    load.load.force.x = 7.0;
    hf_frame_solve_loads(solver, &other);
    double want = 7.0 * (10.0 / (100000.0 * M_PI / 4.0) + 1.0 / k_of[2]);
    cr_expect_float_eq(other.bodies[1].shift.x, want, 1e-9 * want);
    cr_expect_float_eq(other.springs[0].force.x, 7.0, 1e-9);
    cr_expect(other.force_residual_n < 1e-9);
    cr_expect_float_eq(result.springs[0].force.x, -3.0, 1e-9, "the first result stands");
    cr_expect_eq(again.held_bytes, held);
    for (int d = 0; d < 6; d++)
        spring.k.m[d][d] = 0.0;
    cr_expect_eq(hf_frame_solve_prepared(solver, &result, &culprit), HF_FRAME_UNSUPPORTED);
    hf_arena_fini(&again);
}

/* A bar inside one rigid body cannot deform, and what is tied to the ground pulls at no spring: a cantilever
 * with both gives way as without them. */
Test(frame, what_cannot_deform_carries_nothing) {
    const double l = 12.0;
    const int all[6] = {1, 1, 1, 1, 1, 1};
    hf_frame_body body[2] = {{{0, 0, 0}, true}, {{l, 0, 0}, false}};
    hf_frame_bar bars[2] = {beam(at(0, 0, 0, 0), at(1, l, 0, 0), hf_vec3_of(0, 0, 1)),
        beam(at(1, l, 0, 0), at(1, l, 5, 0), hf_vec3_of(0, 0, 1))};
    hf_frame_spring spring = support(at(0, 0, 3, 0), all);
    hf_frame_load load = {at(1, l, 0, 0), {{0, 2, 0}, {0, 0, 0}}};
    hf_frame frame = {body, 2, bars, 2, &spring, 1, &load, 1};
    hf_frame_result r = solved_once(frame);
    EXPECT_NEAR(r.bodies[1].shift.y, 2.0 * l * l * l / (3.0 * EIZ), 1e-12);
    for (int i = 0; i < 12; i++)
        cr_expect_float_eq(r.bars[1].end[i], 0.0, 1e-9, "end force %d", i);
    expect_vec("spring", r.springs[0].force, hf_vec3_of(0, 0, 0), 0.0);
}
