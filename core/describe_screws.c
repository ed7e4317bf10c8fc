#include "describe.h"

#include <stdint.h>

#include "evidence.h"
#include "stability.h"

static hf_screw_load load_of(const hf_plan *plan, const hf_assembly *assembly, size_t s) {
    const hf_plan_screw *screw = &plan->screws[s];
    return hf_screw_load_of(
        &screw->screw, screw->outside == NULL, screw->axis, hf_assembly_head(assembly, s));
}

static hf_head_load head_load(const hf_plan_screw *screw, hf_wrench head) {
    hf_screw_load load = hf_screw_load_of(&screw->screw, screw->outside == NULL, screw->axis, head);
    hf_jaw jaw = screw->has_site ? screw->site.jaw : HF_MAXILLA; /* the jaw that holds less */
    double torsion = hf_screw_core_torsion(screw->screw.core_mm, HF_EV(SCREW_CORE_SHEAR), true);
    return (hf_head_load){.head = head,
        .axial_n = load.axial_n,
        .lateral_n = load.lateral_n,
        .bending_at_bone_nmm = load.bending_at_bone_nmm,
        .axis_moment_nmm = load.axis_moment_nmm,
        .cortex_radial_mpa = load.cortex.radial_mpa,
        .cortex_von_mises_mpa = load.cortex.von_mises_mpa,
        .cortex_peak_mpa = load.cortex_peak_mpa,
        .cortex_of_limit = load.cortex_peak_mpa / HF_EV(LIMIT_CORTEX),
        .strain_microstrain = load.cortex.strain * 1e6,
        .removal_ratio = fmax(load.axis_moment_nmm, 0.0) / hf_screw_removal_torque(jaw),
        .pull_out_ratio = fmax(load.axial_n, 0.0) / hf_screw_pull_out(&screw->screw),
        .core_torsion_ratio = fabs(load.axis_moment_nmm) / torsion};
}

static hf_screw_limits limits_of(const hf_plan_screw *screw) {
    double removal = hf_screw_removal_torque(screw->has_site ? screw->site.jaw : HF_MAXILLA);
    return (hf_screw_limits){.cortex_caution_mpa = HF_EV(LIMIT_RESORPTION),
        .cortex_stop_mpa = HF_EV(LIMIT_CORTEX),
        .unscrewing_note_nmm = HF_EV(LIMIT_UNSCREW_NOTE),
        .unscrewing_caution_nmm = HF_EV(LIMIT_UNSCREW_CAUTION) * removal,
        .unscrewing_stop_nmm = HF_EV(LIMIT_UNSCREW_STOP) * removal,
        .pull_out_caution = HF_EV(LIMIT_PULL_OUT),
        .core_torsion_caution = HF_EV(LIMIT_CORE_TORSION),
        .torque_low_ncm = screw->has_window ? screw->torque_low_ncm : (double)NAN,
        .torque_high_ncm = screw->has_window ? screw->torque_high_ncm : (double)NAN};
}

static void describe_screw(const hf_plan *plan, const hf_assembly *assembly, size_t s, hf_screw_out *told) {
    const hf_plan_screw *screw = &plan->screws[s];
    size_t spring = assembly->screw_spring[s];
    told->name = screw->in->name;
    told->head_mm = screw->head_mm;
    told->head_displacement_mm = hf_vec3_of(0.0, 0.0, 0.0);
    if (spring != SIZE_MAX) {
        const hf_frame_point *at = &assembly->frame.springs[spring].at;
        told->head_displacement_mm = hf_twist_move(
            assembly->result.bodies[at->body], assembly->frame.bodies[at->body].at_mm, screw->head_mm)
                                         .shift;
    }
    told->load = head_load(screw, hf_assembly_head(assembly, s));
    told->peak =
        plan->has_peak && spring != SIZE_MAX ? head_load(screw, assembly->peak.springs[spring]) : told->load;
    told->limits = limits_of(screw);
    told->unscrewing = told->load.axis_moment_nmm > told->limits.unscrewing_note_nmm;
    told->insertion_torque = screw->torque;
    told->insertion_torque_ncm = screw->in->insertion_torque_ncm;
}

/* ---- the other end of how bone may hold the screws */

static void put_ends(double out[2], double one, double other) {
    out[0] = fmin(one, other);
    out[1] = fmax(one, other);
}

static bool is_free(const hf_plan_screw *screw) {
    return isnan(screw->in->interface_factor);
}

/* The screws whose interface is not given, all soft at once; the figures above are those of the bonded end.
 */
static void describe_sharing(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    bool any = false;
    for (size_t s = 0; s < out->screw_count; s++) {
        hf_sharing *sharing = &out->screws[s].sharing;
        sharing->lateral_n[0] = sharing->axial_n[0] = NAN;
        sharing->bending_at_bone_nmm[0] = sharing->cortex_peak_mpa[0] = NAN;
        any |= is_free(&plan->screws[s]) && assembly->screw_spring[s] != SIZE_MAX;
    }
    if (!any) return;
    hf_assembly *soft = hf_assembly_copy(assembly, plan->arena);
    for (size_t s = 0; s < out->screw_count; s++) {
        if (!is_free(&plan->screws[s])) continue;
        hf_screw screw = plan->screws[s].screw;
        screw.interface_factor = HF_EV(SCREW_INTERFACE_FRESH);
        hf_assembly_put_screw(soft, s, &screw, plan->screws[s].axis, plan->screws[s].head_mm);
    }
    if (!hf_assembly_solve(soft)) return;
    for (size_t s = 0; s < out->screw_count; s++) {
        if (assembly->screw_spring[s] == SIZE_MAX) continue;
        hf_screw_out *told = &out->screws[s];
        hf_screw_load load = load_of(plan, soft, s);
        put_ends(told->sharing.lateral_n, told->load.lateral_n, load.lateral_n);
        put_ends(told->sharing.axial_n, told->load.axial_n, load.axial_n);
        put_ends(told->sharing.bending_at_bone_nmm, told->load.bending_at_bone_nmm, load.bending_at_bone_nmm);
        put_ends(told->sharing.cortex_peak_mpa, told->load.cortex_peak_mpa, load.cortex_peak_mpa);
    }
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
    describe_sharing(plan, assembly, out);
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
