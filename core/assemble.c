#include "assemble.h"

#include <assert.h>
#include <stdint.h>
#include <string.h>

static size_t root_of(size_t *parent, size_t i) {
    while (parent[i] != i) {
        i = parent[i] = parent[parent[i]];
    }
    return i;
}

static void unite(size_t *parent, size_t i, size_t j) {
    size_t a = root_of(parent, i), b = root_of(parent, j);
    if (a < b)
        parent[b] = a;
    else
        parent[a] = b;
}

static size_t *singles(hf_plan *plan) {
    size_t *parent = HF_NEW_ARRAY(plan->arena, size_t, plan->body_count);
    for (size_t i = 0; i < plan->body_count; i++) {
        parent[i] = i;
    }
    return parent;
}

static void unite_rigid_bars(const hf_plan *plan, size_t *parent) {
    for (size_t e = 0; e < plan->in->element_count; e++) {
        const hf_plan_element *element = &plan->elements[e];
        if (element->in->kind != HF_ELEMENT_RIGID_BAR || !element->has_from || !element->has_to) continue;
        if (element->from.body != HF_GROUND && element->to.body != HF_GROUND)
            unite(parent, element->from.body, element->to.body);
    }
}

void hf_assemble_check_support(hf_plan *plan) {
    size_t *parent = singles(plan);
    bool *held = HF_NEW_ARRAY(plan->arena, bool, plan->body_count);
    unite_rigid_bars(plan, parent);
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        const hf_plate_in *in = plan->plates[p].in;
        for (size_t b = 0; b < in->bar_count; b++) {
            size_t from = hf_plan_name(in->nodes, in->node_count, sizeof *in->nodes, in->bars[b].from);
            size_t to = hf_plan_name(in->nodes, in->node_count, sizeof *in->nodes, in->bars[b].to);
            if (from != SIZE_MAX && to != SIZE_MAX)
                unite(parent, plan->plates[p].first_body + from, plan->plates[p].first_body + to);
        }
    }
    for (size_t w = 0; w < plan->span_count; w++) {
        unite(parent, plan->spans[w].from, plan->spans[w].to);
    }
    for (size_t u = 0; u < plan->unit_count; u++) {
        held[root_of(parent, u)] = true;
    }
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        for (size_t s = 0; s < plate->seat_count; s++) {
            held[root_of(parent, plate->first_body + plate->seats[s].node)] = true;
        }
    }
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        for (size_t n = 0; n < plate->in->node_count; n++) {
            if (!held[root_of(parent, plate->first_body + n)])
                hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/plates/%zu/nodes/%zu", p, n),
                    "nothing holds node '%s': no bar leads from it to a seat on a screw",
                    plate->in->nodes[n].name);
        }
    }
}

/* Where something is hung on a wire: the span that begins there. */
static const hf_plan_span *span_from(const hf_plan *plan, size_t body) {
    const hf_plan_span *span = plan->spans;
    while (span->from != body)
        span++;
    return span;
}

static const hf_plan_plate *plate_of(const hf_plan *plan, size_t body) {
    const hf_plan_plate *plate = &plan->plates[plan->in->plate_count - 1];
    while (body < plate->first_body)
        plate--;
    return plate;
}

static hf_vec3 body_place(const hf_plan *plan, size_t body) {
    if (body < plan->unit_count) return plan->units[body].at_mm;
    if (body >= plan->first_hung) return span_from(plan, body)->from_mm;
    const hf_plan_plate *plate = plate_of(plan, body);
    return plate->node_mm[body - plate->first_body];
}

static void make_bodies(hf_plan *plan, hf_assembly *out) {
    size_t *parent = singles(plan);
    unite_rigid_bars(plan, parent);
    hf_frame_body *bodies = HF_NEW_ARRAY(plan->arena, hf_frame_body, plan->body_count);
    out->body = HF_NEW_ARRAY(plan->arena, size_t, plan->body_count);
    out->joined = HF_NEW_ARRAY(plan->arena, bool, plan->unit_count);
    for (size_t i = 0; i < plan->body_count; i++) {
        size_t root = root_of(parent, i);
        if (root == i) {
            out->body[i] = out->frame.body_count;
            bodies[out->frame.body_count++] = (hf_frame_body){.at_mm = body_place(plan, i)};
            continue;
        }
        out->body[i] = out->body[root]; /* roots are the lowest of their group, so already numbered */
        if (root < plan->unit_count) out->joined[root] = true;
        if (i < plan->unit_count) out->joined[i] = true;
    }
    out->frame.bodies = bodies;
}

static void make_bars(hf_plan *plan, hf_assembly *out) {
    size_t room = plan->span_count, all = 0;
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        room += plan->plates[p].bar_count;
    }
    hf_frame_bar *bars = HF_NEW_ARRAY(plan->arena, hf_frame_bar, room);
    out->bar_of = HF_NEW_ARRAY(plan->arena, size_t, room);
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        for (size_t b = 0; b < plate->bar_count; b++, all++) {
            const hf_plan_bar *bar = &plate->bars[b];
            hf_frame_point i = {out->body[plate->first_body + bar->from], plate->node_mm[bar->from]};
            hf_frame_point j = {out->body[plate->first_body + bar->to], plate->node_mm[bar->to]};
            if (i.body == j.body) continue; /* inside one rigid body: cannot deform */
            out->bar_of[out->frame.bar_count] = all;
            bars[out->frame.bar_count++] = (hf_frame_bar){.i = i,
                .j = j,
                .section = bar->section,
                .modulus_mpa = bar->material.modulus_mpa,
                .poisson = bar->material.poisson,
                .normal = bar->normal};
        }
    }
    for (size_t w = 0; w < plan->span_count; w++) {
        const hf_plan_span *span = &plan->spans[w];
        hf_frame_point i = {out->body[span->from], span->from_mm}, j = {out->body[span->to], span->to_mm};
        if (i.body == j.body) continue; /* a rigid bar to one plate from each tooth */
        out->bar_of[out->frame.bar_count] = all + w;
        bars[out->frame.bar_count++] = (hf_frame_bar){.i = i,
            .j = j,
            .section = span->section,
            .modulus_mpa = span->material.modulus_mpa,
            .poisson = span->material.poisson,
            .normal = span->normal};
    }
    out->frame.bars = bars;
}

static hf_mat6 head_stiffness(const hf_screw *screw, hf_vec3 axis) {
    hf_screw_compliance compliance = hf_screw_compliance_of(screw);
    hf_mat6 local = hf_screw_stiffness(&compliance);
    hf_axes axes = hf_screw_axes(axis);
    return hf_mat6_to_global(&local, &axes);
}

static void make_springs(hf_plan *plan, hf_assembly *out) {
    out->springs = HF_NEW_ARRAY(plan->arena, hf_frame_spring, plan->unit_count + plan->in->screw_count);
    out->frame.springs = out->springs;
    out->screw_spring = HF_NEW_ARRAY(plan->arena, size_t, plan->in->screw_count);
    for (size_t s = 0; s < plan->in->screw_count; s++) {
        out->screw_spring[s] = SIZE_MAX;
    }
    for (size_t u = 0; u < plan->unit_count; u++) {
        out->springs[out->frame.spring_count++] =
            (hf_frame_spring){{out->body[u], plan->units[u].at_mm}, *plan->units[u].k};
    }
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        for (size_t s = 0; s < plate->seat_count; s++) {
            const hf_plan_screw *screw = &plan->screws[plate->seats[s].screw];
            out->screw_spring[plate->seats[s].screw] = out->frame.spring_count;
            out->springs[out->frame.spring_count++] =
                (hf_frame_spring){{out->body[plate->first_body + plate->seats[s].node], screw->head_mm},
                    head_stiffness(&screw->screw, screw->axis)};
        }
    }
}

static bool is_finite(const hf_assembly *assembly, const hf_frame_result *result) {
    for (size_t b = 0; b < assembly->frame.body_count; b++) {
        const hf_twist *twist = &result->bodies[b];
        if (!hf_is_finite(hf_add(twist->shift, twist->turn))) return false; /* only when both are */
    }
    return true;
}

static void report_culprit(const hf_plan *plan, const hf_assembly *assembly, size_t culprit) {
    size_t i = 0;
    while (assembly->body[i] != culprit)
        i++;
    if (i >= plan->unit_count && i < plan->first_hung) {
        hf_report_problem(plan->report, "/plates",
            "plate '%s' is not held in every direction: check its bars and the bone under its screws",
            plate_of(plan, i)->in->name);
        return;
    }
    size_t s = i < plan->unit_count ? plan->units[i].segment : span_from(plan, i)->segment;
    hf_report_problem(plan->report, "/segments",
        "the support of segment '%s' is not stiff in every direction", plan->segments[s].name);
}

/* The largest forces on the same factors, then the loads of the date are put back. */
static void solve_peak(const hf_plan *plan, hf_assembly *out, hf_frame_solver *solver) {
    out->peak = out->result;
    if (!plan->has_peak) return;
    out->peak = hf_frame_result_of(&out->frame, plan->arena);
    hf_assembly_load(plan, out, HF_LOADS_AT_PEAK);
    hf_frame_solve_loads(solver, &out->peak);
    hf_assembly_load(plan, out, HF_LOADS_AT_DATE);
}

bool hf_assemble_solve(hf_plan *plan, hf_assembly *out) {
    *out = (hf_assembly){.loads = HF_NEW_ARRAY(plan->arena, hf_frame_load, 2 * plan->in->element_count),
        .load_element = HF_NEW_ARRAY(plan->arena, size_t, 2 * plan->in->element_count)};
    make_bodies(plan, out);
    make_bars(plan, out);
    make_springs(plan, out);
    hf_assembly_load(plan, out, HF_LOADS_AT_DATE);
    size_t culprit = 0;
    hf_frame_solver *solver = hf_frame_prepare(&out->frame, plan->arena, &out->result, &culprit);
    assert(solver); /* what nothing holds was told by hf_assemble_check_support */
    if (hf_frame_solve_prepared(solver, &out->result, &culprit) != HF_FRAME_OK) {
        report_culprit(plan, out, culprit);
        return false;
    }
    solve_peak(plan, out, solver);
    if (is_finite(out, &out->result) && is_finite(out, &out->peak)) return true;
    hf_report_problem(
        plan->report, "", "the numbers leave the range of the arithmetic: check moduli, sizes and loads");
    return false;
}

static void *copied(hf_arena *arena, const void *items, size_t count, size_t size) {
    void *copy = hf_arena_array(arena, count, size);
    if (count > 0) memcpy(copy, items, count * size);
    return copy;
}

hf_assembly *hf_assembly_copy(const hf_assembly *assembly, hf_arena *arena) {
    const hf_frame *frame = &assembly->frame;
    hf_assembly *copy = copied(arena, assembly, 1, sizeof *assembly);
    copy->springs = copied(arena, assembly->springs, frame->spring_count, sizeof *assembly->springs);
    copy->loads = copied(arena, assembly->loads, frame->load_count, sizeof *assembly->loads);
    copy->frame.springs = copy->springs;
    copy->frame.loads = copy->loads;
    size_t culprit; /* what was solved once is supported */
    copy->solver = hf_frame_prepare(&copy->frame, arena, &copy->result, &culprit);
    return copy;
}

void hf_assembly_put_screw(
    hf_assembly *copy, size_t s, const hf_screw *screw, hf_vec3 axis, hf_vec3 head_mm) {
    if (copy->screw_spring[s] == SIZE_MAX) return;
    hf_frame_spring *spring = &copy->springs[copy->screw_spring[s]];
    spring->at.at_mm = head_mm;
    spring->k = head_stiffness(screw, axis);
}

bool hf_assembly_solve(hf_assembly *copy) {
    size_t culprit;
    return hf_frame_solve_prepared(copy->solver, &copy->result, &culprit) == HF_FRAME_OK &&
           is_finite(copy, &copy->result);
}

hf_wrench hf_assembly_head(const hf_assembly *assembly, size_t s) {
    size_t spring = assembly->screw_spring[s];
    return spring == SIZE_MAX ? (hf_wrench){0} : assembly->result.springs[spring];
}

hf_twist hf_assembly_twist(const hf_assembly *assembly, size_t plan_body, hf_vec3 at_mm) {
    size_t body = assembly->body[plan_body];
    return hf_twist_move(assembly->result.bodies[body], assembly->frame.bodies[body].at_mm, at_mm);
}

hf_twist hf_segment_twist(const hf_plan *plan, const hf_assembly *assembly, size_t s) {
    const hf_segment *segment = &plan->segments[s];
    size_t first = plan->segment_unit[s];
    if (!hf_plan_is_wired(plan, s)) return hf_assembly_twist(assembly, first, segment->at_mm);
    hf_wrench carried = {{0.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
    for (size_t u = first; u < first + segment->tooth_count; u++) {
        const hf_plan_unit *unit = &plan->units[u];
        hf_wrench load = hf_mat6_apply(unit->k, hf_assembly_twist(assembly, u, unit->at_mm));
        carried = hf_wrench_add(carried, hf_wrench_move(load, unit->at_mm, segment->at_mm));
    }
    hf_twist mean;
    if (!hf_mat6_solve(&segment->k, carried, &mean)) mean = (hf_twist){hf_vec3_absent(), hf_vec3_absent()};
    return mean;
}
