/* frame FILE.inp: one frame for two solvers. Writes it as CalculiX input, solves it with the core, and prints
 * the microseconds of one solve and the loaded node's displacement.
 *
 * Two screws 8 mm apart under a flat plate, a side arm of 12 mm, a post of 6 mm, 2 N backwards and 0.5 N
 * upwards at its end. The screws are square stubs, clamped at the foot: the same for both solvers. */
#include <stdio.h>
#include <stdlib.h>

#include "../../core/frame.h"
#include "clock.h"

enum { NODES = 7, BARS = 6, PER_BAR = 24, LOADED = 4 };

static const double modulus_mpa = 110000.0, poisson = 0.33;
static const hf_vec3 node_mm[NODES] = {
    {0, 0, 0}, {0, 4, 0}, {0, 8, 0}, {12, 4, 0}, {12, 4, 6}, /* plate, arm, post */
    {0, 0, -2.95}, {0, 8, -2.95},                            /* feet of the screws */
};
static const hf_vec3 load_n = {0.0, -2.0, 0.5};
static const struct {
    size_t i, j;
    double width_mm, thickness_mm;
    hf_vec3 normal;
} bar_rows[BARS] = {
    {0, 1, 2.5, 1.0, {0, 0, 1}},
    {1, 2, 2.5, 1.0, {0, 0, 1}},
    {1, 3, 1.06, 1.06, {0, 0, 1}},
    {3, 4, 1.06, 1.06, {1, 0, 0}},
    {5, 0, 1.4017086998578763, 1.4017086998578763, {1, 0, 0}}, /* as stiff in bending as a core of 1.6 mm */
    {6, 2, 1.4017086998578763, 1.4017086998578763, {1, 0, 0}},
};

static hf_vec3 between(size_t bar, int step) {
    hf_vec3 a = node_mm[bar_rows[bar].i], b = node_mm[bar_rows[bar].j];
    return hf_add_scaled(a, hf_sub(b, a), (double)step / PER_BAR);
}

/* Number of the beam node at a step along a bar: the frame's own nodes first, then those inside the bars. */
static int beam_node(size_t bar, int step) {
    if (step == 0) return (int)bar_rows[bar].i + 1;
    if (step == PER_BAR) return (int)bar_rows[bar].j + 1;
    return NODES + (int)bar * (PER_BAR - 1) + step;
}

static void write_bar(FILE *f, size_t bar) {
    hf_vec3 n = bar_rows[bar].normal;
    fprintf(f, "*ELEMENT, TYPE=B31, ELSET=BAR%zu\n", bar);
    for (int step = 0; step < PER_BAR; step++)
        fprintf(
            f, "%d, %d, %d\n", (int)bar * PER_BAR + step + 1, beam_node(bar, step), beam_node(bar, step + 1));
    fprintf(f, "*BEAM SECTION, ELSET=BAR%zu, MATERIAL=M, SECTION=RECT\n%.17g, %.17g\n%g, %g, %g\n", bar,
        bar_rows[bar].thickness_mm, bar_rows[bar].width_mm, n.x, n.y, n.z);
}

static bool write_calculix(const char *path) {
    FILE *f = fopen(path, "w");
    if (!f) return false;
    fprintf(f, "*NODE, NSET=ALL\n");
    for (int i = 0; i < NODES; i++)
        fprintf(f, "%d, %.17g, %.17g, %.17g\n", i + 1, node_mm[i].x, node_mm[i].y, node_mm[i].z);
    for (size_t bar = 0; bar < BARS; bar++)
        for (int step = 1; step < PER_BAR; step++) {
            hf_vec3 p = between(bar, step);
            fprintf(f, "%d, %.17g, %.17g, %.17g\n", beam_node(bar, step), p.x, p.y, p.z);
        }
    fprintf(f, "*MATERIAL, NAME=M\n*ELASTIC\n%g, %g\n", modulus_mpa, poisson);
    for (size_t bar = 0; bar < BARS; bar++)
        write_bar(f, bar);
    fprintf(f, "*NSET, NSET=FEET\n6, 7\n*NSET, NSET=END\n%d\n*BOUNDARY\nFEET, 1, 6\n", LOADED + 1);
    fprintf(f, "*STEP\n*STATIC\n*CLOAD\n%d, 1, %g\n%d, 2, %g\n%d, 3, %g\n", LOADED + 1, load_n.x, LOADED + 1,
        load_n.y, LOADED + 1, load_n.z);
    fprintf(f, "*NODE PRINT, NSET=END\nU\n*END STEP\n");
    return fclose(f) == 0;
}

static hf_twist solve(hf_arena *arena, const hf_frame *frame) {
    hf_frame_result result;
    size_t culprit;
    hf_arena_reset(arena);
    if (hf_frame_solve(frame, arena, &result, &culprit) != HF_FRAME_OK) exit(2);
    return result.bodies[LOADED];
}

static double best_microseconds(hf_arena *arena, const hf_frame *frame) {
    double best = 1e9;
    for (int round = 0; round < 7; round++) {
        enum { COUNT = 5000 };
        double start = bench_cpu_seconds();
        for (int i = 0; i < COUNT; i++)
            solve(arena, frame);
        double us = 1e6 * (bench_cpu_seconds() - start) / COUNT;
        if (us < best) best = us;
    }
    return best;
}

int main(int argc, char **argv) {
    if (argc != 2 || !write_calculix(argv[1])) {
        fprintf(stderr, "usage: frame FILE.inp\n");
        return 2;
    }
    hf_frame_body bodies[NODES];
    hf_frame_bar bars[BARS];
    for (int i = 0; i < NODES; i++)
        bodies[i] = (hf_frame_body){.at_mm = node_mm[i], .fixed = i >= 5};
    for (size_t b = 0; b < BARS; b++) {
        hf_section_in section = {
            .kind = HF_SECTION_RECTANGLE, .rectangle_mm = {bar_rows[b].width_mm, bar_rows[b].thickness_mm}};
        bars[b] = (hf_frame_bar){.i = {bar_rows[b].i, node_mm[bar_rows[b].i]},
            .j = {bar_rows[b].j, node_mm[bar_rows[b].j]},
            .section = hf_section_of(&section, poisson),
            .modulus_mpa = modulus_mpa,
            .poisson = poisson,
            .normal = bar_rows[b].normal};
    }
    const hf_frame_load load = {.at = {LOADED, node_mm[LOADED]}, .load.force = load_n};
    const hf_frame frame = {.bodies = bodies,
        .body_count = NODES,
        .bars = bars,
        .bar_count = BARS,
        .loads = &load,
        .load_count = 1};
    hf_arena arena;
    hf_arena_init(&arena, 1 << 16, 0);
    hf_vec3 shift = solve(&arena, &frame).shift;
    printf("%.3f %.9g %.9g %.9g\n", best_microseconds(&arena, &frame), shift.x, shift.y, shift.z);
    hf_arena_fini(&arena);
    return 0;
}
