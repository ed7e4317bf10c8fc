#include "describe.h"

static void least_gap(const hf_plate_in *in, hf_plate_out *told) {
    told->least_gap_mm = NAN;
    for (size_t n = 0; n < in->node_count; n++) {
        double gap = in->nodes[n].tissue_gap_mm;
        if (isnan(gap) || gap >= told->least_gap_mm) continue;
        told->least_gap_mm = gap;
        told->least_gap_node = in->nodes[n].name;
    }
}

/* Bending varies linearly along a bar without loads between its ends, so the largest stress is at an end. */
static hf_plate_load plate_load(const hf_assembly *assembly, const hf_frame_result *result, size_t first_bar,
    const hf_plan_plate *plate) {
    hf_plate_load told = {.peak_stress_mpa = plate->bar_count ? 0.0 : NAN, .yield_ratio = NAN};
    for (size_t f = 0; f < assembly->frame.bar_count; f++) {
        size_t b = assembly->bar_of[f] - first_bar;
        if (assembly->bar_of[f] < first_bar || b >= plate->bar_count) continue;
        const hf_plan_bar *bar = &plate->bars[b];
        const double *end = result->bars[f].end;
        double at_i = hf_section_stress(&bar->section, end[0], end[3], end[4], end[5]);
        double at_j = hf_section_stress(&bar->section, end[6], end[9], end[10], end[11]);
        double stress = fmax(at_i, at_j);
        if (stress > told.peak_stress_mpa) {
            told.peak_stress_mpa = stress;
            told.peak_from = plate->in->nodes[bar->from].name;
            told.peak_to = plate->in->nodes[bar->to].name;
        }
        if (!isnan(bar->material.yield_mpa))
            told.yield_ratio = fmax(told.yield_ratio, stress / bar->material.yield_mpa);
    }
    return told;
}

void hf_describe_plates(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    size_t first_bar = 0;
    out->plate_count = plan->in->plate_count;
    out->plates = HF_NEW_ARRAY(plan->arena, hf_plate_out, out->plate_count);
    for (size_t p = 0; p < out->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        hf_plate_out *told = &out->plates[p];
        told->name = plate->in->name;
        told->load = plate_load(assembly, &assembly->result, first_bar, plate);
        told->peak = plan->has_peak ? plate_load(assembly, &assembly->peak, first_bar, plate) : told->load;
        first_bar += plate->bar_count;
        least_gap(plate->in, told);
        told->fitting_count = plate->in->fitting_count;
        told->fittings = HF_NEW_ARRAY(plan->arena, hf_fitting_out, told->fitting_count);
        for (size_t f = 0; f < told->fitting_count; f++) {
            const char *name = plate->in->fittings[f].node;
            size_t node =
                hf_plan_name(plate->in->nodes, plate->in->node_count, sizeof *plate->in->nodes, name);
            hf_twist twist = hf_assembly_twist(assembly, plate->first_body + node, plate->node_mm[node]);
            told->fittings[f] = (hf_fitting_out){name, twist.shift, hf_scale(twist.turn, 1000.0)};
        }
    }
}
