#include "../../../core/frame.h"

#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/evidence.h"
#include "../../../core/screw.h"
#include "frame_cases.h"

/* The plates on screws of frame_cases.h, and what a lone screw and a pair make of the same load. */

static hf_vec3 vec(const double v[3]) {
    return hf_vec3_of(v[0], v[1], v[2]);
}

static hf_section rectangle(double width, double thickness) {
    hf_section_in in = {.kind = HF_SECTION_RECTANGLE, .rectangle_mm = {width, thickness}};
    return hf_section_of(&in, 0.33);
}

/* `scale` relative to each number, and a thousandth of it of the largest: zeros must be that small too. */
static void near(const char *what, const double *got, const double *want, size_t count, double scale) {
    double largest = 0.0;
    for (size_t i = 0; i < count; i++)
        largest = fmax(largest, fabs(want[i]));
    for (size_t i = 0; i < count; i++)
        cr_expect(fabs(got[i] - want[i]) <= scale * fabs(want[i]) + scale * 1e-3 * largest,
            "%s [%zu]: %.12g, published %.12g", what, i, got[i], want[i]);
}

typedef struct built {
    hf_frame frame;
    hf_frame_body body[5];
    hf_frame_bar bar[4];
    hf_frame_spring spring[2];
    hf_frame_load load[1];
    hf_axes axes[2];
} built;

static hf_mat6 stub_stiffness(const double k[5]) {
    hf_mat6 m = {0};
    m.m[0][0] = m.m[1][1] = k[0];
    m.m[2][2] = k[1];
    m.m[3][3] = m.m[4][4] = k[2];
    m.m[5][5] = k[3];
    m.m[1][3] = m.m[3][1] = k[4];
    m.m[0][4] = m.m[4][0] = -k[4];
    return m;
}

static hf_mat6 bone_stiffness(double core, double neck) {
    hf_screw screw = {.core_mm = core,
        .neck_mm = neck,
        .length_mm = 8.0,
        .cortex_mm = 1.2,
        .cortex_modulus_mpa = 13700.0,
        .cancellous_modulus_mpa = 1000.0,
        .modulus_mpa = 110000.0,
        .poisson = 0.33,
        .interface_factor = 1.0};
    hf_screw_compliance c = hf_screw_compliance_of(&screw);
    return hf_screw_stiffness(&c);
}

static void build(const frame_case *c, bool in_bone, built *b) {
    memset(b, 0, sizeof *b);
    for (size_t i = 0; i < c->node_count; i++)
        b->body[i].at_mm = vec(c->node[i]);
    for (size_t i = 0; i < c->bar_count; i++)
        b->bar[i] = (hf_frame_bar){.i = {c->bar[i].i, vec(c->node[c->bar[i].i])},
            .j = {c->bar[i].j, vec(c->node[c->bar[i].j])},
            .section = rectangle(c->bar[i].width, c->bar[i].thickness),
            .modulus_mpa = 110000.0,
            .poisson = 0.33,
            .normal = vec(c->bar[i].normal)};
    for (size_t i = 0; i < c->screw_count; i++) {
        b->axes[i] = hf_screw_axes(vec(c->screw[i].axis));
        hf_mat6 k =
            in_bone ? bone_stiffness(c->screw[i].core, c->screw[i].neck) : stub_stiffness(c->screw[i].stub);
        b->spring[i] = (hf_frame_spring){
            {c->screw[i].node, vec(c->node[c->screw[i].node])}, hf_mat6_to_global(&k, &b->axes[i])};
    }
    b->load[0] = (hf_frame_load){{c->loaded, vec(c->node[c->loaded])}, {vec(c->load), vec(c->load + 3)}};
    b->frame =
        (hf_frame){b->body, c->node_count, b->bar, c->bar_count, b->spring, c->screw_count, b->load, 1};
}

static hf_frame_result solved(const hf_frame *frame, hf_arena *arena) {
    hf_frame_result r;
    size_t culprit = 99;
    cr_assert_eq(hf_frame_solve(frame, arena, &r, &culprit), HF_FRAME_OK, "body %zu hangs free", culprit);
    cr_expect_lt(r.force_residual_n, 1e-9);
    cr_expect_lt(r.moment_residual_nmm, 1e-9);
    return r;
}

static void local_wrench(const hf_axes *a, hf_wrench w, double out[6]) {
    const hf_vec3 axis[3] = {a->x, a->y, a->z};
    for (int i = 0; i < 3; i++) {
        out[i] = hf_dot(axis[i], w.force);
        out[3 + i] = hf_dot(axis[i], w.moment);
    }
}

static void compare(
    const frame_case *c, const built *b, const hf_frame_result *r, const frame_solution *want) {
    double shift[15], turn[15], want_shift[15], want_turn[15];
    for (size_t i = 0; i < c->node_count; i++) {
        memcpy(
            shift + 3 * i, (double[3]){r->bodies[i].shift.x, r->bodies[i].shift.y, r->bodies[i].shift.z}, 24);
        memcpy(turn + 3 * i, (double[3]){r->bodies[i].turn.x, r->bodies[i].turn.y, r->bodies[i].turn.z}, 24);
        memcpy(want_shift + 3 * i, want->shift_and_turn[i], 24);
        memcpy(want_turn + 3 * i, want->shift_and_turn[i] + 3, 24);
    }
    near(c->name, shift, want_shift, 3 * c->node_count, 1e-6);
    near(c->name, turn, want_turn, 3 * c->node_count, 1e-6);
    for (size_t i = 0; i < c->screw_count; i++) {
        double head[6];
        local_wrench(&b->axes[i], r->springs[i], head);
        near(c->name, head, want->head[i], 6, 1e-6);
    }
    for (size_t i = 0; i < c->bar_count; i++)
        near(c->name, r->bars[i].end, want->end[i], 12, 1e-6);
}

Test(frame, plates_on_clamped_stubs) {
    for (size_t i = 0; i < sizeof frame_cases / sizeof *frame_cases; i++) {
        hf_arena arena;
        hf_arena_init(&arena, 0, 0);
        built b;
        build(&frame_cases[i], false, &b);
        hf_frame_result r = solved(&b.frame, &arena);
        compare(&frame_cases[i], &b, &r, &frame_cases[i].clamped_stubs);
        hf_arena_fini(&arena);
    }
}

Test(frame, plates_on_screws_in_bone) {
    for (size_t i = 0; i < sizeof frame_cases / sizeof *frame_cases; i++) {
        hf_arena arena;
        hf_arena_init(&arena, 0, 0);
        built b;
        build(&frame_cases[i], true, &b);
        hf_frame_result r = solved(&b.frame, &arena);
        compare(&frame_cases[i], &b, &r, &frame_cases[i].in_bone);
        hf_arena_fini(&arena);
    }
}
