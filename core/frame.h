/* Linear three-dimensional frame. Everything that moves is a rigid body of six degrees of freedom (a plate
 * node, a tooth segment); bars join points of bodies, springs tie points of bodies to the ground, loads act
 * at points of bodies. A point away from its body's reference is a rigid offset. One symmetric positive
 * definite solve. */
#ifndef HF_FRAME_H
#define HF_FRAME_H

#include "arena.h"
#include "section.h"
#include "spatial.h"

typedef struct hf_frame_body {
    hf_vec3 at_mm; /* reference point of its twist */
    bool fixed;    /* clamped to the ground (handbook checks) */
} hf_frame_body;

typedef struct hf_frame_point {
    size_t body;
    hf_vec3 at_mm;
} hf_frame_point;

typedef struct hf_frame_bar {
    hf_frame_point i, j;
    hf_section section;
    double modulus_mpa, poisson;
    hf_vec3 normal;     /* direction of the section's thickness; made perpendicular to the bar; must not be
                           parallel to it */
    bool without_shear; /* Euler-Bernoulli, for handbook checks */
} hf_frame_bar;

typedef struct hf_frame_spring {
    hf_frame_point at;
    hf_mat6 k; /* global axes, at the point */
} hf_frame_spring;

typedef struct hf_frame_load {
    hf_frame_point at;
    hf_wrench load; /* about that point */
} hf_frame_load;

typedef struct hf_frame {
    const hf_frame_body *bodies;
    size_t body_count;
    const hf_frame_bar *bars;
    size_t bar_count;
    const hf_frame_spring *springs;
    size_t spring_count;
    const hf_frame_load *loads;
    size_t load_count;
} hf_frame;

/* Forces the rest puts on the bar's ends, local axes: [N Vy Vz T My Mz] at i, then at j. */
typedef struct hf_bar_forces {
    double end[12];
} hf_bar_forces;

typedef struct hf_frame_result {
    hf_twist *bodies;   /* at each body's reference point */
    hf_wrench *springs; /* what the body puts on the spring, about the spring's point */
    hf_bar_forces *bars;
    double force_residual_n,
        moment_residual_nmm; /* worst body: everything that acts on it, summed anew from the solution */
} hf_frame_result;

typedef enum hf_frame_status {
    HF_FRAME_OK,
    HF_FRAME_UNSUPPORTED /* *culprit is a body that nothing holds */
} hf_frame_status;

hf_frame_status hf_frame_solve(const hf_frame *frame, hf_arena *arena, hf_frame_result *out, size_t *culprit);

/* The same in two steps, for a frame that is solved many times: between the solves the springs' stiffness and
 * place and the loads may change, bodies, bars and what hangs on what may not. Solving allocates nothing and
 * overwrites *out, which preparing gave its room. */
typedef struct hf_frame_solver hf_frame_solver;
hf_frame_solver *hf_frame_prepare(
    const hf_frame *frame, hf_arena *arena, hf_frame_result *out, size_t *culprit); /* NULL: unsupported */
hf_frame_status hf_frame_solve_prepared(hf_frame_solver *solver, hf_frame_result *out, size_t *culprit);
/* Room for one more result. */
hf_frame_result hf_frame_result_of(const hf_frame *frame, hf_arena *arena);
/* After a solve, when the loads alone have changed since: cheap, nothing is factored anew. */
void hf_frame_solve_loads(hf_frame_solver *solver, hf_frame_result *out);

#endif
