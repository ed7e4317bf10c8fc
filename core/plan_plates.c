#include "plan.h"

#include <stdint.h>
#include <string.h>

#include "evidence.h"

/* Pointer to a member of an item of a plate. */
static const char *spot(hf_plan *plan, size_t plate, const char *list, size_t item, const char *member) {
    return hf_arena_printf(plan->arena, "/plates/%zu/%s/%zu/%s", plate, list, item, member);
}

bool hf_plan_material(hf_plan *plan, const hf_material_in *in, const char *pointer, hf_material *out) {
    if (in->name) {
        const hf_material *found = hf_material_find(in->name);
        if (!found) {
            hf_report_problem(plan->report, pointer, "'%s' is no material of the table", in->name);
            return false;
        }
        *out = *found;
        hf_report_cite(plan->report, found->source);
        return true;
    }
    *out = (hf_material){.name = "as given",
        .modulus_mpa = in->modulus_mpa,
        .poisson = in->poisson,
        .yield_mpa = in->yield_mpa};
    return !isnan(in->modulus_mpa);
}

static void place_nodes(hf_plan *plan, size_t p, hf_plan_plate *out) {
    const hf_plate_in *in = out->in;
    out->node_mm = HF_NEW_ARRAY(plan->arena, hf_vec3, in->node_count);
    for (size_t n = 0; n < in->node_count; n++) {
        if (hf_plan_name(in->nodes, n, sizeof *in->nodes, in->nodes[n].name) != SIZE_MAX)
            hf_report_problem(plan->report, spot(plan, p, "nodes", n, "name"),
                "the name '%s' is already taken by another node", in->nodes[n].name);
        hf_arches_point(&plan->arches, &in->nodes[n].at, spot(plan, p, "nodes", n, "at_mm"), plan->report,
            &out->node_mm[n], NULL);
    }
}

/* A member that names a node; its pointer is made only when there is none of that name. */
static size_t node_named(
    hf_plan *plan, size_t plate, const char *list, size_t item, const char *member, const char *name) {
    const hf_plate_in *in = plan->plates[plate].in;
    size_t node = hf_plan_name(in->nodes, in->node_count, sizeof *in->nodes, name);
    if (node == SIZE_MAX)
        hf_report_problem(
            plan->report, spot(plan, plate, list, item, member), "no node of this plate is named '%s'", name);
    return node;
}

static void place_seats(hf_plan *plan, size_t p, hf_plan_plate *out) {
    const hf_plate_in *in = out->in;
    out->seats = HF_NEW_ARRAY(plan->arena, hf_plan_seat, in->seat_count);
    for (size_t s = 0; s < in->seat_count; s++) {
        const hf_seat_in *seat = &in->seats[s];
        size_t node = node_named(plan, p, "seats", s, "node", seat->node);
        size_t screw =
            hf_plan_name(plan->in->screws, plan->in->screw_count, sizeof *plan->in->screws, seat->screw);
        if (screw == SIZE_MAX) {
            hf_report_problem(
                plan->report, spot(plan, p, "seats", s, "screw"), "no screw is named '%s'", seat->screw);
            continue;
        }
        if (plan->screws[screw].seat_count++ > 0)
            hf_report_problem(plan->report, spot(plan, p, "seats", s, "screw"),
                "screw '%s' already carries a seat", seat->screw);
        if (node != SIZE_MAX) out->seats[out->seat_count++] = (hf_plan_seat){node, screw};
    }
    for (size_t s = 0; s < out->seat_count; s++) {
        out->mean_axis = hf_add(out->mean_axis, plan->screws[out->seats[s].screw].axis);
    }
    out->mean_axis = hf_unit(out->mean_axis);
    if (in->seat_count == 0)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/plates/%zu/seats", p),
            "a plate rests on at least one screw");
}

/* Direction of the thickness. Without one: the screws' mean axis, or for a bar along that axis the global
 * axis that is most across it. */
static hf_vec3 bar_normal(
    hf_plan *plan, const hf_plan_plate *plate, const hf_bar_in *in, hf_vec3 along, const char *pointer) {
    if (hf_vec3_is_given(in->normal)) {
        if (hf_norm(hf_perpendicular(in->normal, along)) > 1e-6 * hf_norm(in->normal)) return in->normal;
        hf_report_problem(plan->report, pointer, "the normal has no length or runs along the bar");
        return in->normal;
    }
    hf_vec3 normal = hf_perpendicular(plate->mean_axis, along);
    if (hf_norm(normal) < 0.05) {
        double ax = fabs(along.x), ay = fabs(along.y), az = fabs(along.z);
        hf_vec3 across = ax <= ay && ax <= az ? hf_vec3_of(1, 0, 0)
                         : ay <= az           ? hf_vec3_of(0, 1, 0)
                                              : hf_vec3_of(0, 0, 1);
        normal = hf_perpendicular(across, along);
    }
    normal = hf_unit(normal);
    if (in->section.kind != HF_SECTION_ROUND)
        hf_report_assume_vec3(
            plan->report, pointer, normal, "mean axis of the plate's screws, made perpendicular to the bar");
    return normal;
}

static void place_bars(hf_plan *plan, size_t p, hf_plan_plate *out, const hf_material *material) {
    const hf_plate_in *in = out->in;
    out->bars = HF_NEW_ARRAY(plan->arena, hf_plan_bar, in->bar_count);
    for (size_t b = 0; b < in->bar_count; b++) {
        const hf_bar_in *bar = &in->bars[b];
        hf_plan_bar *made = &out->bars[out->bar_count];
        made->from = node_named(plan, p, "bars", b, "from", bar->from);
        made->to = node_named(plan, p, "bars", b, "to", bar->to);
        if (made->from == SIZE_MAX || made->to == SIZE_MAX) continue;
        hf_vec3 along = hf_sub(out->node_mm[made->to], out->node_mm[made->from]);
        if (!(hf_norm(along) > 1e-6)) {
            hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/plates/%zu/bars/%zu", p, b),
                "the bar from '%s' to '%s' has no length", bar->from, bar->to);
            continue;
        }
        if (bar->section.kind == HF_SECTION_NONE) {
            hf_report_problem(plan->report, spot(plan, p, "bars", b, "section"), "a bar needs its section");
            continue;
        }
        made->material = *material;
        bool own = bar->material.name || !isnan(bar->material.modulus_mpa);
        if (own &&
            !hf_plan_material(plan, &bar->material, spot(plan, p, "bars", b, "material"), &made->material))
            continue;
        made->section = hf_section_of(&bar->section, made->material.poisson);
        made->normal = bar_normal(plan, out, bar, hf_unit(along), spot(plan, p, "bars", b, "normal"));
        out->bar_count++;
    }
}

/* Fittings are named by their node, over all plates together. */
static void check_fittings(hf_plan *plan, size_t p, const hf_plan_plate *out) {
    const hf_plate_in *in = out->in;
    for (size_t f = 0; f < in->fitting_count; f++) {
        const char *name = in->fittings[f].node;
        node_named(plan, p, "fittings", f, "node", name);
        for (size_t q = 0; q < p; q++) {
            const hf_plate_in *other = &plan->in->plates[q];
            if (hf_plan_name(other->fittings, other->fitting_count, sizeof *other->fittings, name) !=
                SIZE_MAX)
                hf_report_problem(plan->report, spot(plan, p, "fittings", f, "node"),
                    "a fitting of another plate is also at a node named '%s'", name);
        }
    }
}

void hf_plan_plates(hf_plan *plan) {
    plan->plates = HF_NEW_ARRAY(plan->arena, hf_plan_plate, plan->in->plate_count);
    plan->body_count = plan->unit_count;
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        hf_plan_plate *out = &plan->plates[p];
        out->in = &plan->in->plates[p];
        out->first_body = plan->body_count;
        plan->body_count += out->in->node_count;
        if (hf_plan_name(plan->in->plates, p, sizeof *plan->in->plates, out->in->name) != SIZE_MAX)
            hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/plates/%zu/name", p),
                "the name '%s' is already taken by another plate", out->in->name);
        hf_material material = {0};
        const char *pointer = hf_arena_printf(plan->arena, "/plates/%zu/material", p);
        if (!out->in->material.name && isnan(out->in->material.modulus_mpa)) {
            material = *hf_material_find("titanium-grade-4");
            hf_report_assume_text(plan->report, pointer, material.name, material.source);
        } else {
            hf_plan_material(plan, &out->in->material, pointer, &material);
        }
        place_nodes(plan, p, out);
        place_seats(plan, p, out);
        place_bars(plan, p, out, &material);
        check_fittings(plan, p, out);
    }
}
