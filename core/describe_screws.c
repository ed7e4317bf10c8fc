#include "describe.h"

#include <stdint.h>

#include "evidence.h"
#include "stability.h"

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

void hf_describe_screws(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    out->screw_count = plan->in->screw_count;
    out->screws = HF_NEW_ARRAY(plan->arena, hf_screw_out, out->screw_count);
    for (size_t s = 0; s < out->screw_count; s++) {
        describe_screw(plan, assembly, s, &out->screws[s]);
        screw_stability(plan, s, out->horizon_days, &out->screws[s]);
    }
}

/* A plate's risk needs that of each of its screws. */
void hf_describe_risks(const hf_plan *plan, hf_answer *out) {
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
