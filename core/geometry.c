#include "geometry.h"

#include <stdint.h>

#include "plan.h"

static hf_jaw jaw_of_screw(const hf_plan_screw *screw) {
    if (screw->has_site) return screw->site.jaw;
    return screw->entry_mm.z < 0.0 ? HF_MANDIBLE : HF_MAXILLA;
}

static void place_screws(const hf_plan *plan, hf_geometry *out) {
    out->screw_count = plan->in->screw_count;
    out->screws = HF_NEW_ARRAY(plan->arena, hf_geometry_screw, out->screw_count);
    for (size_t s = 0; s < out->screw_count; s++) {
        const hf_plan_screw *screw = &plan->screws[s];
        out->screws[s] = (hf_geometry_screw){.name = screw->in->name,
            .jaw = jaw_of_screw(screw),
            .entry_mm = screw->entry_mm,
            .axis = screw->axis,
            .head_mm = screw->head_mm,
            .diameter_mm = screw->screw.diameter_mm,
            .length_mm = screw->screw.length_mm};
        out->jaw[out->screws[s].jaw] = true;
    }
}

static hf_geometry_bar bar_between(hf_vec3 from, hf_vec3 to, hf_vec3 normal, const hf_section *section) {
    return (hf_geometry_bar){from, to, normal, section->round, section->width_mm, section->thickness_mm};
}

static void place_plate(const hf_plan *plan, const hf_plan_plate *plate, hf_geometry_plate *out) {
    const hf_plate_in *in = plate->in;
    *out = (hf_geometry_plate){.name = in->name,
        .bars = HF_NEW_ARRAY(plan->arena, hf_geometry_bar, plate->bar_count),
        .bar_count = plate->bar_count,
        .fittings = HF_NEW_ARRAY(plan->arena, hf_geometry_fitting, in->fitting_count),
        .fitting_count = in->fitting_count,
        .seats = HF_NEW_ARRAY(plan->arena, hf_geometry_seat, plate->seat_count),
        .seat_count = plate->seat_count};
    for (size_t b = 0; b < plate->bar_count; b++) {
        const hf_plan_bar *bar = &plate->bars[b];
        out->bars[b] =
            bar_between(plate->node_mm[bar->from], plate->node_mm[bar->to], bar->normal, &bar->section);
    }
    for (size_t f = 0; f < in->fitting_count; f++) {
        const hf_fitting_in *fitting = &in->fittings[f];
        size_t node = hf_plan_name(in->nodes, in->node_count, sizeof *in->nodes, fitting->node);
        out->fittings[f] =
            (hf_geometry_fitting){fitting->node, fitting->kind, plate->node_mm[node], fitting->axis};
    }
    for (size_t s = 0; s < plate->seat_count; s++) {
        const hf_plan_seat *seat = &plate->seats[s];
        out->seats[s] = (hf_geometry_seat){plate->node_mm[seat->node], seat->screw};
    }
}

static void place_hardware(const hf_plan *plan, hf_geometry *out) {
    out->plate_count = plan->in->plate_count;
    out->plates = HF_NEW_ARRAY(plan->arena, hf_geometry_plate, out->plate_count);
    for (size_t p = 0; p < out->plate_count; p++) {
        place_plate(plan, &plan->plates[p], &out->plates[p]);
    }
    out->wire_count = plan->span_count;
    out->wires = HF_NEW_ARRAY(plan->arena, hf_geometry_wire, out->wire_count);
    for (size_t w = 0; w < out->wire_count; w++) {
        const hf_plan_span *span = &plan->spans[w];
        int tooth = plan->segments[span->segment].teeth[0]->place.tooth;
        out->wires[w] = (hf_geometry_wire){
            hf_tooth_jaw(tooth), bar_between(span->from_mm, span->to_mm, span->normal, &span->section)};
    }
}

/* Teeth that the case does not name stand where the arch has them. */
static void place_teeth(const hf_plan *plan, hf_geometry *out) {
    hf_tooth *rest = HF_NEW_ARRAY(plan->arena, hf_tooth, HF_TOOTH_SLOTS);
    size_t rest_count = 0;
    out->teeth = HF_NEW_ARRAY(plan->arena, hf_geometry_tooth, HF_TOOTH_SLOTS);
    for (size_t i = 0; i < plan->tooth_count; i++) {
        out->jaw[hf_tooth_jaw(plan->teeth[i].place.tooth)] = true;
    }
    for (size_t slot = 0; slot < HF_TOOTH_SLOTS; slot++) {
        const hf_tooth_place *place = &plan->arches.place[slot];
        const hf_morphology *shape = hf_morphology_of(place->tooth);
        size_t named = plan->slot_tooth[slot];
        hf_geometry_tooth tooth = {.shape = shape, .segment = SIZE_MAX};
        if (named != SIZE_MAX) {
            tooth.tooth = &plan->teeth[named];
            tooth.segment = plan->tooth_segment[named];
        } else if (out->jaw[shape->jaw] && shape->position < 8) {
            hf_tooth_like(NULL, place, rest, rest_count, &rest[rest_count]);
            tooth.tooth = &rest[rest_count++];
        } else {
            continue;
        }
        out->teeth[out->tooth_count++] = tooth;
    }
}

bool hf_geometry_of(const hf_case *in, hf_arena *arena, hf_geometry *out) {
    hf_report report = hf_report_on(arena);
    hf_plan plan;
    *out = (hf_geometry){.teeth = NULL};
    if (!hf_plan_make(in, arena, &report, &plan)) return false;
    place_screws(&plan, out);
    place_hardware(&plan, out);
    place_teeth(&plan, out);
    return true;
}
