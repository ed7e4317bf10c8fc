#include "frame.h"

#include <assert.h>
#include <stdint.h>
#include <string.h>

#include "envelope.h"

/* A Timoshenko bar is, seen from the middle of its length, six springs without coupling between the two
 * bodies it joins: EA/L, 12EI/(L^3(1+phi)) twice, GJ/L, EI/L twice, with phi = 12EI/(GAs L^2). (Carried to
 * the ends this is the usual 12x12 matrix; Przemieniecki, Theory of Matrix Structural Analysis, 1968.) Kept
 * so, every bar is in equilibrium by construction, whatever the rounding of its forces, and rigid offsets
 * cost nothing. */
typedef struct bar {
    hf_axes axes; /* x from i to j, z the thickness */
    hf_vec3 middle;
    double half_length;
    double force[3];  /* N/mm along the axes */
    double moment[3]; /* N mm/rad about them */
} bar;

typedef double six[6];

typedef struct hf_frame_solver {
    const hf_frame *frame;
    bar *bars;
    size_t *order; /* row -> body */
    size_t *row;   /* body -> row */
    size_t rows;
    hf_envelope stiffness;
    six *x;        /* right-hand side, then solution, by row */
    hf_wrench *on; /* what acts on each body */
} system;

#define NO_ROW SIZE_MAX

static bar bar_of(const hf_frame_bar *in) {
    hf_vec3 span = hf_sub(in->j.at_mm, in->i.at_mm);
    double l = hf_norm(span);
    bar b = {.half_length = l / 2.0, .middle = hf_add_scaled(in->i.at_mm, span, 0.5)};
    assert(l > 0.0);
    b.axes.x = hf_scale(span, 1.0 / l);
    hf_vec3 thickness = hf_perpendicular(in->normal, b.axes.x);
    assert(hf_norm(thickness) > 1e-9 * hf_norm(in->normal));
    b.axes.z = hf_unit(thickness);
    b.axes.y = hf_cross(b.axes.z, b.axes.x);

    const hf_section *s = &in->section;
    double e = in->modulus_mpa;
    double g = e / (2.0 * (1.0 + in->poisson));
    double phi_y = in->without_shear ? 0.0 : 12.0 * e * s->iz_mm4 / (g * s->shear_y_mm2 * l * l);
    double phi_z = in->without_shear ? 0.0 : 12.0 * e * s->iy_mm4 / (g * s->shear_z_mm2 * l * l);
    b.force[0] = e * s->area_mm2 / l;
    b.force[1] = 12.0 * e * s->iz_mm4 / (l * l * l * (1.0 + phi_y));
    b.force[2] = 12.0 * e * s->iy_mm4 / (l * l * l * (1.0 + phi_z));
    b.moment[0] = g * s->j_mm4 / l;
    b.moment[1] = e * s->iy_mm4 / l;
    b.moment[2] = e * s->iz_mm4 / l;
    return b;
}

static hf_vec3 to_local(const hf_axes *axes, hf_vec3 v) {
    return hf_vec3_of(hf_dot(axes->x, v), hf_dot(axes->y, v), hf_dot(axes->z, v));
}

static hf_vec3 to_global(const hf_axes *axes, hf_vec3 v) {
    return hf_add_scaled(hf_add_scaled(hf_scale(axes->x, v.x), axes->y, v.y), axes->z, v.z);
}

/* Three springs along the axes, told in global ones. */
static hf_vec3 spring(const hf_axes *axes, const double k[3], hf_vec3 v) {
    hf_vec3 local = to_local(axes, v);
    return to_global(axes, hf_vec3_of(k[0] * local.x, k[1] * local.y, k[2] * local.z));
}

/* Adds sign times: the wrench about a body `row_arm` before the middle, by movement of a body `column_arm`
 * before it. */
static void add_bar_block(hf_mat6 *k, const bar *b, hf_vec3 row_arm, hf_vec3 column_arm, double sign) {
    static const hf_vec3 unit[3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    for (int c = 0; c < 6; c++) {
        hf_vec3 shift = c < 3 ? unit[c] : hf_cross(unit[c - 3], column_arm);
        hf_vec3 force = spring(&b->axes, b->force, shift);
        hf_vec3 moment = hf_cross(row_arm, force);
        if (c >= 3) moment = hf_add(moment, spring(&b->axes, b->moment, unit[c - 3]));
        k->m[0][c] += sign * force.x;
        k->m[1][c] += sign * force.y;
        k->m[2][c] += sign * force.z;
        k->m[3][c] += sign * moment.x;
        k->m[4][c] += sign * moment.y;
        k->m[5][c] += sign * moment.z;
    }
}

static void add_bar(system *s, const hf_frame_bar *in, const bar *b) {
    size_t i = in->i.body, j = in->j.body;
    if (i == j) return;
    hf_vec3 arm_i = hf_sub(b->middle, s->frame->bodies[i].at_mm);
    hf_vec3 arm_j = hf_sub(b->middle, s->frame->bodies[j].at_mm);
    size_t row_i = s->row[i], row_j = s->row[j];
    if (row_i != NO_ROW) add_bar_block(hf_envelope_block(&s->stiffness, row_i, row_i), b, arm_i, arm_i, 1.0);
    if (row_j != NO_ROW) add_bar_block(hf_envelope_block(&s->stiffness, row_j, row_j), b, arm_j, arm_j, 1.0);
    if (row_i == NO_ROW || row_j == NO_ROW) return;
    if (row_i < row_j)
        add_bar_block(hf_envelope_block(&s->stiffness, row_i, row_j), b, arm_i, arm_j, -1.0);
    else
        add_bar_block(hf_envelope_block(&s->stiffness, row_j, row_i), b, arm_j, arm_i, -1.0);
}

/* Bodies that springs or the ground hold, directly or through bars. Returns the first that is not, or
 * body_count. */
static size_t find_unheld(const hf_frame *f, const hf_graph *graph, hf_arena *arena) {
    bool *held = HF_NEW_ARRAY(arena, bool, f->body_count);
    for (size_t b = 0; b < f->body_count; b++)
        held[b] = f->bodies[b].fixed;
    for (size_t s = 0; s < f->spring_count; s++)
        held[f->springs[s].at.body] = true;
    hf_graph_spread(graph, held, arena);
    size_t b = 0;
    while (b < f->body_count && held[b])
        b++;
    return b;
}

static hf_graph graph_of(const hf_frame *f, hf_arena *arena) {
    size_t *pairs = HF_NEW_ARRAY(arena, size_t, 2 * f->bar_count);
    for (size_t b = 0; b < f->bar_count; b++) {
        pairs[2 * b] = f->bars[b].i.body;
        pairs[2 * b + 1] = f->bars[b].j.body;
    }
    return hf_graph_of(f->body_count, pairs, f->bar_count, arena);
}

/* Rows for the bodies that move, and room for what the bars couple. */
static void lay_out(system *s, const hf_graph *graph, hf_arena *arena) {
    const hf_frame *f = s->frame;
    bool *fixed = HF_NEW_ARRAY(arena, bool, f->body_count);
    s->row = HF_NEW_ARRAY(arena, size_t, f->body_count);
    s->order = HF_NEW_ARRAY(arena, size_t, f->body_count);
    for (size_t b = 0; b < f->body_count; b++) {
        fixed[b] = f->bodies[b].fixed;
        s->row[b] = NO_ROW;
    }
    s->rows = hf_graph_order(graph, fixed, s->order, arena);
    size_t *first = HF_NEW_ARRAY(arena, size_t, s->rows);
    for (size_t r = 0; r < s->rows; r++) {
        s->row[s->order[r]] = r;
        first[r] = r;
    }
    for (size_t b = 0; b < f->bar_count; b++) {
        size_t i = s->row[f->bars[b].i.body], j = s->row[f->bars[b].j.body];
        if (i == NO_ROW || j == NO_ROW) continue;
        if (i < first[j]) first[j] = i;
        if (j < first[i]) first[i] = j;
    }
    s->stiffness = hf_envelope_of(s->rows, first, arena);
    s->x = HF_NEW_ARRAY(arena, six, s->rows);
}

static void assemble(system *s) {
    const hf_frame *f = s->frame;
    hf_envelope_clear(&s->stiffness);
    for (size_t b = 0; b < f->bar_count; b++)
        add_bar(s, &f->bars[b], &s->bars[b]);
    for (size_t i = 0; i < f->spring_count; i++) {
        const hf_frame_point *at = &f->springs[i].at;
        size_t row = s->row[at->body];
        if (row == NO_ROW) continue;
        hf_mat6 *into = hf_envelope_block(&s->stiffness, row, row);
        hf_mat6 moved = hf_mat6_move(&f->springs[i].k, at->at_mm, f->bodies[at->body].at_mm);
        *into = hf_mat6_add(into, &moved);
    }
}

/* Adds sign times a wrench at a point to what acts on its body, about the body's reference point. */
static void act(hf_wrench *on, const hf_frame *f, const hf_frame_point *at, hf_wrench w, double sign) {
    hf_wrench moved = hf_wrench_move(w, at->at_mm, f->bodies[at->body].at_mm);
    hf_wrench *sum = &on[at->body];
    sum->force = hf_add_scaled(sum->force, moved.force, sign);
    sum->moment = hf_add_scaled(sum->moment, moved.moment, sign);
}

static void act_loads(const system *s) {
    const hf_frame *f = s->frame;
    for (size_t b = 0; b < f->body_count; b++)
        s->on[b] = (hf_wrench){0};
    for (size_t i = 0; i < f->load_count; i++)
        act(s->on, f, &f->loads[i].at, f->loads[i].load, 1.0);
}

/* Moves the bodies by what acts on them. */
static void move_bodies(const system *s, hf_frame_result *out) {
    for (size_t r = 0; r < s->rows; r++) {
        const hf_wrench *w = &s->on[s->order[r]];
        memcpy(s->x[r], (six){w->force.x, w->force.y, w->force.z, w->moment.x, w->moment.y, w->moment.z},
            sizeof(six));
    }
    hf_envelope_solve(&s->stiffness, s->x);
    for (size_t r = 0; r < s->rows; r++) {
        const double *x = s->x[r];
        hf_twist *t = &out->bodies[s->order[r]];
        t->shift = hf_add(t->shift, hf_vec3_of(x[0], x[1], x[2]));
        t->turn = hf_add(t->turn, hf_vec3_of(x[3], x[4], x[5]));
    }
}

/* Bar and spring forces from the bodies' movement. */
static void find_forces(const system *s, hf_frame_result *out) {
    const hf_frame *f = s->frame;
    for (size_t i = 0; i < f->bar_count; i++) {
        const bar *b = &s->bars[i];
        size_t bi = f->bars[i].i.body, bj = f->bars[i].j.body;
        hf_twist ti = hf_twist_move(out->bodies[bi], f->bodies[bi].at_mm, b->middle);
        hf_twist tj = hf_twist_move(out->bodies[bj], f->bodies[bj].at_mm, b->middle);
        hf_vec3 d = to_local(&b->axes, hf_sub(tj.shift, ti.shift));
        hf_vec3 r = to_local(&b->axes, hf_sub(tj.turn, ti.turn));
        double n = b->force[0] * d.x, vy = b->force[1] * d.y, vz = b->force[2] * d.z, h = b->half_length;
        double t = b->moment[0] * r.x, my = b->moment[1] * r.y, mz = b->moment[2] * r.z;
        out->bars[i] = (hf_bar_forces){{-n, -vy, -vz, -t, h * vz - my, -h * vy - mz, /* at i */
            n, vy, vz, t, h * vz + my, -h * vy + mz}};
    }
    for (size_t i = 0; i < f->spring_count; i++) {
        const hf_frame_point *at = &f->springs[i].at;
        hf_twist t = hf_twist_move(out->bodies[at->body], f->bodies[at->body].at_mm, at->at_mm);
        out->springs[i] = hf_mat6_apply(&f->springs[i].k, t);
    }
}

/* Everything that acts on each body, from the forces as they are reported; notes the worst body. */
static void balance(const system *s, hf_frame_result *out) {
    const hf_frame *f = s->frame;
    hf_wrench *on = s->on;
    act_loads(s);
    for (size_t i = 0; i < f->spring_count; i++)
        act(on, f, &f->springs[i].at, out->springs[i], -1.0);
    for (size_t i = 0; i < f->bar_count; i++) {
        const hf_axes *axes = &s->bars[i].axes;
        const double *e = out->bars[i].end;
        hf_wrench at_i = {
            to_global(axes, hf_vec3_of(e[0], e[1], e[2])), to_global(axes, hf_vec3_of(e[3], e[4], e[5]))};
        hf_wrench at_j = {
            to_global(axes, hf_vec3_of(e[6], e[7], e[8])), to_global(axes, hf_vec3_of(e[9], e[10], e[11]))};
        act(on, f, &f->bars[i].i, at_i, -1.0);
        act(on, f, &f->bars[i].j, at_j, -1.0);
    }
    out->force_residual_n = out->moment_residual_nmm = 0.0;
    for (size_t r = 0; r < s->rows; r++) {
        out->force_residual_n = fmax(out->force_residual_n, hf_norm(on[s->order[r]].force));
        out->moment_residual_nmm = fmax(out->moment_residual_nmm, hf_norm(on[s->order[r]].moment));
    }
}

hf_frame_result hf_frame_result_of(const hf_frame *frame, hf_arena *arena) {
    return (hf_frame_result){.bodies = HF_NEW_ARRAY(arena, hf_twist, frame->body_count),
        .springs = HF_NEW_ARRAY(arena, hf_wrench, frame->spring_count),
        .bars = HF_NEW_ARRAY(arena, hf_bar_forces, frame->bar_count)};
}

hf_frame_solver *hf_frame_prepare(
    const hf_frame *frame, hf_arena *arena, hf_frame_result *out, size_t *culprit) {
    system *s = HF_NEW(arena, system);
    *s = (system){.frame = frame, .bars = HF_NEW_ARRAY(arena, bar, frame->bar_count)};
    hf_graph graph = graph_of(frame, arena);
    *culprit = find_unheld(frame, &graph, arena);
    if (*culprit < frame->body_count) return NULL;
    lay_out(s, &graph, arena);
    for (size_t b = 0; b < frame->bar_count; b++)
        s->bars[b] = bar_of(&frame->bars[b]);
    s->on = HF_NEW_ARRAY(arena, hf_wrench, frame->body_count);
    *out = hf_frame_result_of(frame, arena);
    return s;
}

static void move_and_balance(const system *s, hf_frame_result *out) {
    move_bodies(s, out);
    find_forces(s, out);
    balance(s, out);
}

void hf_frame_solve_loads(hf_frame_solver *solver, hf_frame_result *out) {
    const double enough = 1e-11; /* N, N mm: a hundredth of the balance that is promised */
    for (size_t b = 0; b < solver->frame->body_count; b++)
        out->bodies[b] = (hf_twist){0};
    act_loads(solver);
    move_and_balance(solver, out);
    /* Slender bars leave the rounding of their stiffness behind: one pass on what is left takes it out. */
    if (fmax(out->force_residual_n, out->moment_residual_nmm) > enough) move_and_balance(solver, out);
}

hf_frame_status hf_frame_solve_prepared(hf_frame_solver *solver, hf_frame_result *out, size_t *culprit) {
    size_t row;
    assemble(solver);
    if (!hf_envelope_factor(&solver->stiffness, &row)) {
        *culprit = solver->order[row];
        return HF_FRAME_UNSUPPORTED;
    }
    hf_frame_solve_loads(solver, out);
    return HF_FRAME_OK;
}

hf_frame_status hf_frame_solve(
    const hf_frame *frame, hf_arena *arena, hf_frame_result *out, size_t *culprit) {
    hf_frame_solver *solver = hf_frame_prepare(frame, arena, out, culprit);
    return solver ? hf_frame_solve_prepared(solver, out, culprit) : HF_FRAME_UNSUPPORTED;
}
