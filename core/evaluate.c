#include "evaluate.h"

#include <stdint.h>
#include <string.h>

#include "assemble.h"
#include "evidence.h"
#include "stability.h"

static const char notice[] =
    "Decision support for licensed orthodontic professionals. It supports and never replaces the judgement of the "
    "licensed clinician in charge, nor local rules. Movements in micrometres are orders of magnitude; directions, "
    "centres and ratios are the reliable part. Each figure holds within the range and by the sources named with it.";

/* The sources of the decay's numbers, each once. */
static void tell_basis(const hf_plan *plan, const char *const *keys, hf_element_out *told) {
    size_t count = 0;
    while (keys && keys[count]) {
        count++;
    }
    const char **basis = HF_NEW_ARRAY(plan->arena, const char *, count);
    for (size_t k = 0; k < count; k++) {
        const char *key = hf_report_cite(plan->report, keys[k]);
        bool known = false;
        for (size_t i = 0; i < told->basis_count; i++) {
            known = known || strcmp(basis[i], key) == 0;
        }
        if (!known) basis[told->basis_count++] = key;
    }
    told->basis = basis;
}

static void describe_elements(const hf_plan *plan, hf_answer *out) {
    out->element_count = plan->in->element_count;
    out->elements = HF_NEW_ARRAY(plan->arena, hf_element_out, out->element_count);
    for (size_t e = 0; e < out->element_count; e++) {
        const hf_plan_element *element = &plan->elements[e];
        hf_element_out *told = &out->elements[e];
        bool pulls = !isnan(element->force_n);
        *told = (hf_element_out){.name = element->in->name,
            .kind = element->in->kind,
            .force_n = element->force_n,
            .direction = element->direction,
            .days_active = element->days,
            .retained_fraction = pulls ? element->retained : NAN};
        told->from_mm = element->has_from ? element->from.at_mm : hf_vec3_absent();
        told->to_mm = element->has_to ? element->to.at_mm : hf_vec3_absent();
        if (element->in->kind == HF_ELEMENT_APPLIED) {
            hf_vec3 force = element->in->applied_force_n;
            told->force_n = hf_vec3_is_given(force) ? hf_norm(force) : 0.0;
            if (told->force_n > 0.0) told->direction = hf_unit(force);
        }
        tell_basis(plan, element->basis, told);
    }
}

/* What acts on a segment: the loads themselves, or with a rigid bar what its ligament must carry. */
static hf_wrench segment_load(const hf_plan *plan, const hf_assembly *assembly, size_t s) {
    if (assembly->joined[s]) return assembly->result.springs[s];
    hf_wrench sum = {{0.0, 0.0, 0.0}, {0.0, 0.0, 0.0}};
    for (size_t l = 0; l < assembly->frame.load_count; l++) {
        const hf_frame_load *load = &assembly->frame.loads[l];
        if (load->at.body == assembly->body[s])
            sum = hf_wrench_add(sum, hf_wrench_move(load->load, load->at.at_mm, plan->segments[s].at_mm));
    }
    return sum;
}

static void describe_segments(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    out->segment_count = plan->segment_count;
    out->segments = HF_NEW_ARRAY(plan->arena, hf_segment_out, out->segment_count);
    for (size_t s = 0; s < out->segment_count; s++) {
        const hf_segment *segment = &plan->segments[s];
        hf_segment_describe(segment, segment_load(plan, assembly, s), segment->at_mm,
            hf_assembly_twist(assembly, s, segment->at_mm), plan->arena, &out->segments[s]);
    }
}

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
static void plate_stress(const hf_plan *plan, const hf_assembly *assembly, size_t first_bar,
    const hf_plan_plate *plate, hf_plate_out *told) {
    told->peak_stress_mpa = plate->bar_count ? 0.0 : NAN;
    told->yield_ratio = NAN;
    for (size_t f = 0; f < assembly->frame.bar_count; f++) {
        size_t b = assembly->bar_of[f] - first_bar;
        if (assembly->bar_of[f] < first_bar || b >= plate->bar_count) continue;
        const hf_plan_bar *bar = &plate->bars[b];
        const double *end = assembly->result.bars[f].end;
        double at_i = hf_section_stress(&bar->section, end[0], end[3], end[4], end[5]);
        double at_j = hf_section_stress(&bar->section, end[6], end[9], end[10], end[11]);
        double stress = fmax(at_i, at_j);
        if (stress > told->peak_stress_mpa) {
            told->peak_stress_mpa = stress;
            told->peak_from = plate->in->nodes[bar->from].name;
            told->peak_to = plate->in->nodes[bar->to].name;
        }
        if (!isnan(bar->material.yield_mpa))
            told->yield_ratio = fmax(told->yield_ratio, stress / bar->material.yield_mpa);
    }
    (void)plan;
}

static void describe_plates(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    size_t first_bar = 0;
    out->plate_count = plan->in->plate_count;
    out->plates = HF_NEW_ARRAY(plan->arena, hf_plate_out, out->plate_count);
    for (size_t p = 0; p < out->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        hf_plate_out *told = &out->plates[p];
        told->name = plate->in->name;
        plate_stress(plan, assembly, first_bar, plate, told);
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

static hf_vec3 in_axes(const hf_axes *axes, hf_vec3 v) {
    return hf_vec3_of(hf_dot(v, axes->x), hf_dot(v, axes->y), hf_dot(v, axes->z));
}

/* Bone and capacity figures are given only inside the range the recipe was calibrated on. */
static void screw_figures(const hf_plan_screw *screw, hf_wrench local, hf_screw_out *told) {
    bool inside = screw->outside == NULL;
    hf_cortex cortex = inside ? hf_screw_cortex(&screw->screw, local) : (hf_cortex){NAN, NAN, NAN};
    told->cortex_radial_mpa = cortex.radial_mpa;
    told->cortex_von_mises_mpa = cortex.von_mises_mpa;
    told->cortex_peak_mpa = inside ? fmax(cortex.radial_mpa, cortex.von_mises_mpa) : NAN;
    told->cortex_of_limit = told->cortex_peak_mpa / HF_EV(LIMIT_CORTEX);
    told->strain_microstrain = cortex.strain * 1e6;
    hf_jaw jaw = screw->has_site ? screw->site.jaw : HF_MAXILLA; /* the jaw that holds less */
    told->removal_ratio = fmax(told->axis_moment_nmm, 0.0) / hf_screw_removal_torque(jaw);
    told->pull_out_ratio = fmax(told->axial_n, 0.0) / hf_screw_pull_out(&screw->screw);
    told->core_torsion_ratio = fabs(told->axis_moment_nmm) /
                               hf_screw_core_torsion(screw->screw.core_mm, HF_EV(SCREW_CORE_SHEAR), true);
}

static void describe_screw(const hf_plan *plan, const hf_assembly *assembly, size_t s, hf_screw_out *told) {
    const hf_plan_screw *screw = &plan->screws[s];
    size_t spring = assembly->screw_spring[s];
    hf_axes axes = hf_screw_axes(screw->axis);
    told->name = screw->in->name;
    told->head_mm = screw->head_mm;
    told->head_displacement_mm = hf_vec3_of(0.0, 0.0, 0.0);
    if (spring != SIZE_MAX) {
        const hf_frame_point *at = &assembly->frame.springs[spring].at;
        told->head = assembly->result.springs[spring];
        told->head_displacement_mm = hf_twist_move(
            assembly->result.bodies[at->body], assembly->frame.bodies[at->body].at_mm, screw->head_mm)
                                         .shift;
    }
    hf_wrench local = {in_axes(&axes, told->head.force), in_axes(&axes, told->head.moment)};
    hf_vec3 at_bone = hf_screw_moment_at_bone(&screw->screw, local);
    told->axial_n = local.force.z;
    told->lateral_n = hypot(local.force.x, local.force.y);
    told->bending_at_bone_nmm = hypot(at_bone.x, at_bone.y);
    told->axis_moment_nmm = local.moment.z;
    told->unscrewing = local.moment.z > HF_EV(LIMIT_UNSCREW_NOTE);
    told->insertion_torque = screw->torque;
    screw_figures(screw, local, told);
}

static void screw_stability(const hf_plan *plan, size_t s, int horizon, hf_screw_out *told) {
    const hf_plan_screw *screw = &plan->screws[s];
    told->loss = (hf_range){NAN, NAN, NAN};
    if (!screw->has_site) return;
    hf_stability_input in = {.screw = screw->in,
        .site = &screw->site,
        .patient = &plan->in->patient,
        .diameter_mm = screw->screw.diameter_mm,
        .length_mm = screw->screw.length_mm,
        .cortex_mm = screw->screw.cortex_mm,
        .cortex_assumed = screw->cortex_assumed,
        .head_clears_tissue = screw->in->stand_off_mm >= HF_EV(PLAN_CLEAR_OF_TISSUE),
        .torque = screw->torque,
        .days_in_place = screw->in->placed_on == HF_ABSENT ? HF_ABSENT : plan->in->on - screw->in->placed_on,
        .horizon_days = horizon};
    hf_stability_screw(&in, plan->report, told);
}

static void describe_screws(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    out->screw_count = plan->in->screw_count;
    out->screws = HF_NEW_ARRAY(plan->arena, hf_screw_out, out->screw_count);
    for (size_t s = 0; s < out->screw_count; s++) {
        describe_screw(plan, assembly, s, &out->screws[s]);
        screw_stability(plan, s, out->horizon_days, &out->screws[s]);
    }
}

/* A plate's risk needs that of each of its screws. */
static void describe_risks(const hf_plan *plan, hf_answer *out) {
    out->plate_risks = HF_NEW_ARRAY(plan->arena, hf_plate_risk, out->plate_count);
    hf_range *loss = HF_NEW_ARRAY(plan->arena, hf_range, out->screw_count);
    for (size_t p = 0; p < out->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        bool known = plate->seat_count > 0;
        for (size_t s = 0; s < plate->seat_count; s++) {
            loss[s] = out->screws[plate->seats[s].screw].loss;
            known = known && !isnan(loss[s].mid);
        }
        if (!known) continue;
        hf_plate_risk *risk = &out->plate_risks[out->plate_risk_count++];
        hf_stability_plate(loss, plate->seat_count, risk);
        risk->plate = plate->in->name;
    }
}

static void describe(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    out->force_residual_n = assembly->result.force_residual_n;
    out->moment_residual_nmm = assembly->result.moment_residual_nmm;
    out->horizon_days = plan->in->horizon_days;
    if (out->horizon_days == HF_ABSENT) {
        out->horizon_days = (int)HF_EV(PLAN_HORIZON);
        hf_report_assume_real(plan->report, "/horizon_days", HF_EV(PLAN_HORIZON), "horizon");
    }
    describe_elements(plan, out);
    describe_segments(plan, assembly, out);
    describe_plates(plan, assembly, out);
    describe_screws(plan, assembly, out);
    describe_risks(plan, out);
    hf_judge(plan, out);
}

bool hf_evaluate(const hf_case *in, hf_arena *arena, hf_answer *out) {
    hf_report report = hf_report_on(arena);
    hf_plan plan = {.in = in, .arena = arena, .report = &report};
    *out = (hf_answer){.on = in->on, .notice = notice};
    hf_plan_teeth(&plan);
    hf_plan_screws(&plan);
    hf_plan_plates(&plan);
    hf_plan_elements(&plan);
    hf_assemble_check_support(&plan);
    hf_assembly assembly;
    bool solved = report.problem_count == 0 && hf_assemble_solve(&plan, &assembly);
    if (solved) describe(&plan, &assembly, out);
    hf_report_finish(&report, out);
    return solved;
}
