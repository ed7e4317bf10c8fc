/* A plate on screws, solved by the core. Reads lines on standard input, prints one JSON object:
 *   node x y z
 *   bar i j width thickness normal-x -y -z torsion-constant
 *   screw node axis-x -y -z u_f u_m th_m w_n phi_t
 *   load node x y z
 * All bars of 110 GPa, 0.33. `disp`: per node; `head`: per screw, force and moment on its head in its own
 * axes. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../core/frame.h"
#include "../../core/screw.h"

enum { ROOM = 32 };

typedef struct plate {
    hf_frame_body body[ROOM];
    hf_frame_bar bar[ROOM];
    hf_frame_spring screw[ROOM];
    hf_axes axes[ROOM];
    hf_frame_load load[ROOM];
    size_t bodies, bars, screws, loads;
} plate;

static hf_frame_point point(const plate *p, double node) {
    size_t body = (size_t)node;
    if (body >= p->bodies) exit(2);
    return (hf_frame_point){body, p->body[body].at_mm};
}

static void read_bar(plate *p, const double v[9]) {
    hf_section_in section = {.kind = HF_SECTION_RECTANGLE, .rectangle_mm = {v[2], v[3]}};
    hf_frame_bar *bar = &p->bar[p->bars++];
    *bar = (hf_frame_bar){.i = point(p, v[0]),
        .j = point(p, v[1]),
        .section = hf_section_of(&section, 0.33),
        .modulus_mpa = 110000.0,
        .poisson = 0.33,
        .normal = hf_vec3_of(v[4], v[5], v[6])};
    bar->section.j_mm4 = v[7];
}

static void read_screw(plate *p, const double v[9]) {
    hf_screw_compliance c = {.u_f = v[4], .u_m = v[5], .th_m = v[6], .w_n = v[7], .phi_t = v[8]};
    hf_mat6 local = hf_screw_stiffness(&c);
    hf_axes axes = hf_screw_axes(hf_vec3_of(v[1], v[2], v[3]));
    p->axes[p->screws] = axes;
    p->screw[p->screws++] = (hf_frame_spring){point(p, v[0]), hf_mat6_to_global(&local, &axes)};
}

static void read_plate(plate *p) {
    char line[512], word[16];
    while (fgets(line, sizeof line, stdin)) {
        double v[9] = {0};
        sscanf(line, "%15s %lf %lf %lf %lf %lf %lf %lf %lf %lf", word, &v[0], &v[1], &v[2], &v[3], &v[4],
            &v[5], &v[6], &v[7], &v[8]);
        if (p->bodies == ROOM || p->bars == ROOM || p->screws == ROOM || p->loads == ROOM) exit(2);
        if (strcmp(word, "node") == 0)
            p->body[p->bodies++].at_mm = hf_vec3_of(v[0], v[1], v[2]);
        else if (strcmp(word, "bar") == 0)
            read_bar(p, v);
        else if (strcmp(word, "screw") == 0)
            read_screw(p, v);
        else
            p->load[p->loads++] = (hf_frame_load){point(p, v[0]), {hf_vec3_of(v[1], v[2], v[3]), {0, 0, 0}}};
    }
}

int main(void) {
    static plate p;
    read_plate(&p);
    hf_frame frame = {p.body, p.bodies, p.bar, p.bars, p.screw, p.screws, p.load, p.loads};
    hf_arena arena;
    hf_arena_init(&arena, 1 << 16, 0);
    hf_frame_result r;
    size_t culprit;
    if (hf_frame_solve(&frame, &arena, &r, &culprit) != HF_FRAME_OK) return 1;
    printf("{\"disp\": [");
    for (size_t i = 0; i < p.bodies; i++)
        printf("%s[%.12g, %.12g, %.12g]", i ? ", " : "", r.bodies[i].shift.x, r.bodies[i].shift.y,
            r.bodies[i].shift.z);
    printf("], \"head\": [");
    for (size_t i = 0; i < p.screws; i++) {
        const hf_axes *a = &p.axes[i];
        hf_wrench w = r.springs[i];
        printf("%s[%.12g, %.12g, %.12g, %.12g, %.12g, %.12g]", i ? ", " : "", hf_dot(a->x, w.force),
            hf_dot(a->y, w.force), hf_dot(a->z, w.force), hf_dot(a->x, w.moment), hf_dot(a->y, w.moment),
            hf_dot(a->z, w.moment));
    }
    printf("]}\n");
    hf_arena_fini(&arena);
    return 0;
}
