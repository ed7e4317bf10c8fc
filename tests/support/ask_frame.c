/* Frames, asked as plain data:
 *   bodies   [{"name", "at_mm", "fixed"}]
 *            -> shift_mm, turn_rad; of a fixed body also what the ground gives it for its bars
 *   bars     [{"from", "to", "section", "modulus_mpa", "poisson", "normal", "without_shear"}]
 *            -> forces on their ends, see core/frame.h
 *   springs  [{"name", "body", "at_mm", "axis", "k" or "diagonal"}]
 *            -> what the body puts on them; `axis` is where the spring's own z points
 *   loads    [{"body", "at_mm", "force_n", "moment_nmm"}]
 * `at_mm` left out is the body's. `balance`: all loads and supports together about the origin. */
#include "ask.h"

#include <string.h>

#include "../../core/screw.h"

static hf_mat6 take_matrix(json_t *rows) {
    hf_mat6 k;
    for (int i = 0; i < 6; i++) {
        double *r = k.m[i];
        ask_take(json_array_get(rows, (size_t)i), "[FFFFFF!]", &r[0], &r[1], &r[2], &r[3], &r[4], &r[5]);
    }
    return k;
}

typedef struct asked_frame {
    hf_arena *arena;
    json_t *bodies, *springs;
    hf_frame_body *body;
    hf_frame_bar *bar;
    hf_frame_spring *spring;
    hf_frame_load *load;
    hf_frame frame;
} asked_frame;

static hf_frame_point take_point(const asked_frame *a, const char *body, hf_vec3 at_mm) {
    for (size_t b = 0; b < a->frame.body_count; b++) {
        const char *name = json_string_value(json_object_get(json_array_get(a->bodies, b), "name"));
        if (strcmp(name, body) != 0) continue;
        return (hf_frame_point){b, hf_vec3_is_given(at_mm) ? at_mm : a->body[b].at_mm};
    }
    ask_refuse("no body has the name", body);
}

static void take_bodies(asked_frame *a) {
    a->frame.body_count = json_array_size(a->bodies);
    a->frame.bodies = a->body = HF_NEW_ARRAY(a->arena, hf_frame_body, a->frame.body_count);
    for (size_t b = 0; b < a->frame.body_count; b++) {
        const char *name;
        int fixed = 0;
        hf_vec3 *at = &a->body[b].at_mm;
        ask_take(json_array_get(a->bodies, b), "{s:s, s:" VEC3 ", s?b}", "name", &name, "at_mm", &at->x,
            &at->y, &at->z, "fixed", &fixed);
        a->body[b].fixed = fixed;
    }
}

static void take_bars(asked_frame *a, json_t *bars) {
    a->frame.bar_count = json_array_size(bars);
    a->frame.bars = a->bar = HF_NEW_ARRAY(a->arena, hf_frame_bar, a->frame.bar_count);
    for (size_t b = 0; b < a->frame.bar_count; b++) {
        const char *from, *to;
        json_t *told;
        int without_shear = 0;
        hf_frame_bar *bar = &a->bar[b];
        ask_take(json_array_get(bars, b), "{s:s, s:s, s:o, s:F, s:F, s:" VEC3 ", s?b}", "from", &from, "to",
            &to, "section", &told, "modulus_mpa", &bar->modulus_mpa, "poisson", &bar->poisson, "normal",
            &bar->normal.x, &bar->normal.y, &bar->normal.z, "without_shear", &without_shear);
        bar->i = take_point(a, from, hf_vec3_absent());
        bar->j = take_point(a, to, hf_vec3_absent());
        bar->section = ask_section(told, bar->poisson);
        bar->without_shear = without_shear;
    }
}

static void take_springs(asked_frame *a) {
    a->frame.spring_count = json_array_size(a->springs);
    a->frame.springs = a->spring = HF_NEW_ARRAY(a->arena, hf_frame_spring, a->frame.spring_count);
    for (size_t s = 0; s < a->frame.spring_count; s++) {
        const char *name, *body;
        json_t *k = NULL;
        hf_vec3 at = hf_vec3_absent(), axis = hf_vec3_absent();
        double d[6] = {0};
        ask_take(json_array_get(a->springs, s), "{s:s, s:s, s?" VEC3 ", s?" VEC3 ", s?o, s?[FFFFFF!]}",
            "name", &name, "body", &body, "at_mm", &at.x, &at.y, &at.z, "axis", &axis.x, &axis.y, &axis.z,
            "k", &k, "diagonal", &d[0], &d[1], &d[2], &d[3], &d[4], &d[5]);
        hf_mat6 local = {0};
        for (int i = 0; i < 6; i++) {
            local.m[i][i] = d[i];
        }
        if (k) local = take_matrix(k);
        hf_axes axes = hf_vec3_is_given(axis) ? hf_screw_axes(hf_unit(axis))
                                              : (hf_axes){{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
        a->spring[s] = (hf_frame_spring){take_point(a, body, at), hf_mat6_to_global(&local, &axes)};
    }
}

static void take_loads(asked_frame *a, json_t *loads) {
    a->frame.load_count = json_array_size(loads);
    a->frame.loads = a->load = HF_NEW_ARRAY(a->arena, hf_frame_load, a->frame.load_count);
    for (size_t l = 0; l < a->frame.load_count; l++) {
        const char *body;
        hf_vec3 at = hf_vec3_absent(), force = {0, 0, 0}, moment = {0, 0, 0};
        ask_take(json_array_get(loads, l), "{s:s, s?" VEC3 ", s?" VEC3 ", s?" VEC3 "}", "body", &body,
            "at_mm", &at.x, &at.y, &at.z, "force_n", &force.x, &force.y, &force.z, "moment_nmm", &moment.x,
            &moment.y, &moment.z);
        a->load[l] = (hf_frame_load){take_point(a, body, at), {force, moment}};
    }
}

/* What the ground gives a fixed body so that it can give it to its bars. */
static hf_wrench ground_on(const hf_frame *f, const hf_frame_result *r, size_t body) {
    hf_vec3 at = f->bodies[body].at_mm;
    hf_wrench sum = {{0, 0, 0}, {0, 0, 0}};
    for (size_t b = 0; b < f->bar_count; b++) {
        const hf_frame_bar *bar = &f->bars[b];
        hf_axes axes = {.x = hf_unit(hf_sub(bar->j.at_mm, bar->i.at_mm))};
        axes.z = hf_unit(hf_perpendicular(bar->normal, axes.x));
        axes.y = hf_cross(axes.z, axes.x);
        for (int end = 0; end < 2; end++) {
            const hf_frame_point *point = end ? &bar->j : &bar->i;
            const double *e = r->bars[b].end + 6 * end;
            hf_wrench w = {
                hf_add_scaled(hf_add_scaled(hf_scale(axes.x, e[0]), axes.y, e[1]), axes.z, e[2]),
                hf_add_scaled(hf_add_scaled(hf_scale(axes.x, e[3]), axes.y, e[4]), axes.z, e[5]),
            };
            if (point->body == body) sum = hf_wrench_add(sum, hf_wrench_move(w, point->at_mm, at));
        }
    }
    return sum;
}

static json_t *body_answers(const asked_frame *a, const hf_frame_result *r, hf_wrench *balance) {
    const hf_vec3 origin = {0.0, 0.0, 0.0};
    json_t *list = json_array();
    for (size_t b = 0; b < a->frame.body_count; b++) {
        json_t *name = json_object_get(json_array_get(a->bodies, b), "name");
        json_t *told = json_pack("{s:O, s:o, s:o}", "name", name, "shift_mm", ask_vector(r->bodies[b].shift),
            "turn_rad", ask_vector(r->bodies[b].turn));
        if (a->body[b].fixed) {
            hf_wrench ground = ground_on(&a->frame, r, b);
            *balance = hf_wrench_add(*balance, hf_wrench_move(ground, a->body[b].at_mm, origin));
            json_object_set_new(told, "force_n", ask_vector(ground.force));
            json_object_set_new(told, "moment_nmm", ask_vector(ground.moment));
        }
        json_array_append_new(list, told);
    }
    return list;
}

static json_t *spring_answers(const asked_frame *a, const hf_frame_result *r, hf_wrench *balance) {
    const hf_vec3 origin = {0.0, 0.0, 0.0};
    json_t *list = json_array();
    for (size_t s = 0; s < a->frame.spring_count; s++) {
        json_t *name = json_object_get(json_array_get(a->springs, s), "name");
        hf_wrench given = hf_wrench_move(r->springs[s], a->spring[s].at.at_mm, origin);
        balance->force = hf_sub(balance->force, given.force);
        balance->moment = hf_sub(balance->moment, given.moment);
        json_array_append_new(
            list, json_pack("{s:O, s:o, s:o}", "name", name, "force_n", ask_vector(r->springs[s].force),
                      "moment_nmm", ask_vector(r->springs[s].moment)));
    }
    return list;
}

static json_t *frame_answer(const asked_frame *a, const hf_frame_result *r) {
    const hf_vec3 origin = {0.0, 0.0, 0.0};
    hf_wrench balance = {origin, origin};
    json_t *bars = json_array();
    for (size_t b = 0; b < a->frame.bar_count; b++) {
        json_t *ends = json_array();
        for (int i = 0; i < 12; i++) {
            json_array_append_new(ends, ask_number(r->bars[b].end[i]));
        }
        json_array_append_new(bars, ends);
    }
    for (size_t l = 0; l < a->frame.load_count; l++) {
        balance = hf_wrench_add(balance, hf_wrench_move(a->load[l].load, a->load[l].at.at_mm, origin));
    }
    json_t *bodies = body_answers(a, r, &balance), *springs = spring_answers(a, r, &balance);
    return json_pack("{s:o, s:o, s:o, s:{s:o, s:o}}", "bodies", bodies, "springs", springs, "bars", bars,
        "balance", "force_n", ask_vector(balance.force), "moment_nmm", ask_vector(balance.moment));
}

json_t *ask_frame(json_t *in) {
    hf_arena arena;
    hf_arena_init(&arena, 65536, 0);
    asked_frame a = {.arena = &arena};
    json_t *bars = NULL, *loads;
    ask_take(in, "{s:o, s?o, s?o, s:o}", "bodies", &a.bodies, "bars", &bars, "springs", &a.springs, "loads",
        &loads);
    take_bodies(&a);
    take_bars(&a, bars);
    take_springs(&a);
    take_loads(&a, loads);
    hf_frame_result result;
    size_t culprit = 0;
    if (hf_frame_solve(&a.frame, &arena, &result, &culprit) != HF_FRAME_OK)
        ask_refuse("frame", "a body hangs free");
    json_t *answer = frame_answer(&a, &result);
    hf_arena_fini(&arena);
    return answer;
}
