#include "plan.h"

#include <stdint.h>
#include <string.h>

#include "evidence.h"

/* A default that is used when the case leaves the member out. */
static double or_assume(
    hf_plan *plan, size_t screw, const char *member, double given, double fallback, const char *source) {
    if (!isnan(given)) return given;
    hf_report_assume_real(
        plan->report, hf_arena_printf(plan->arena, "/screws/%zu/%s", screw, member), fallback, source);
    return fallback;
}

static void find_site(hf_plan *plan, size_t s, hf_plan_screw *out) {
    const hf_screw_in *in = out->in;
    if (!in->site) return;
    out->has_site = hf_site_resolve(plan->in, in->site, &out->site);
    if (!out->has_site)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/screws/%zu/site", s),
            "'%s' is no site of the table and none of the clinic's own", in->site);
}

static void bone_and_body(hf_plan *plan, size_t s, hf_plan_screw *out) {
    const hf_screw_in *in = out->in;
    const hf_site *site = out->has_site ? &out->site : hf_site_general;
    hf_screw *screw = &out->screw;

    screw->diameter_mm = in->diameter_mm;
    screw->core_mm = or_assume(plan, s, "core_mm", in->core_mm,
        HF_EV(SCREW_CORE_BY_DIAMETER) * in->diameter_mm, "screw-core-by-diameter");
    screw->length_mm = in->length_mm;
    screw->thread_pitch_mm = or_assume(
        plan, s, "thread_pitch_mm", in->thread_pitch_mm, HF_EV(SCREW_THREAD_PITCH), "screw-thread-pitch");
    double tissue = or_assume(plan, s, "tissue_mm", in->tissue_mm, site->tissue_mm, site->tissue_source);
    double stand_off =
        or_assume(plan, s, "stand_off_mm", in->stand_off_mm, HF_EV(PLAN_STAND_OFF), "head-stand-off");
    screw->neck_mm = tissue + stand_off;
    out->cortex_assumed = isnan(in->cortex_mm);
    screw->cortex_mm = or_assume(plan, s, "cortex_mm", in->cortex_mm, site->cortex_mm, site->cortex_source);
    screw->cortex_modulus_mpa = or_assume(
        plan, s, "cortex_modulus_mpa", in->cortex_modulus_mpa, site->cortex_modulus_mpa, "dental-fe-usual");
    screw->cancellous_modulus_mpa = or_assume(plan, s, "cancellous_modulus_mpa", in->cancellous_modulus_mpa,
        site->cancellous_modulus_mpa, "dental-fe-usual");
    screw->modulus_mpa =
        or_assume(plan, s, "modulus_mpa", in->modulus_mpa, HF_EV(SCREW_MODULUS), "screw-modulus");
    screw->poisson = or_assume(plan, s, "poisson", in->poisson, HF_EV(SCREW_POISSON), "screw-poisson");
    screw->interface_factor = or_assume(plan, s, "interface_factor", in->interface_factor,
        HF_EV(SCREW_INTERFACE_BONDED), "screw-interface-bonded");
    out->outside = hf_screw_outside_range(screw);
    if (screw->core_mm >= screw->diameter_mm)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/screws/%zu/core_mm", s),
            "the core (%g mm) must be thinner than the thread (%g mm)", screw->core_mm, screw->diameter_mm);
}

/* An axis perpendicular to the surface, leaning towards anterior by tilt_deg. */
static hf_vec3 leaning(hf_vec3 normal, double tilt_deg) {
    hf_vec3 anterior = hf_unit(hf_perpendicular(hf_vec3_of(0.0, -1.0, 0.0), normal));
    double angle = isnan(tilt_deg) ? 0.0 : tilt_deg * (acos(-1.0) / 180.0);
    return hf_add_scaled(hf_scale(normal, cos(angle)), anterior, sin(angle));
}

static void place(hf_plan *plan, size_t s, hf_plan_screw *out) {
    const hf_screw_in *in = out->in;
    hf_vec3 normal = hf_vec3_absent();
    const char *pointer = hf_arena_printf(plan->arena, "/screws/%zu/entry_mm", s);
    const char *axis_pointer = hf_arena_printf(plan->arena, "/screws/%zu/axis", s);
    out->entry_mm = out->axis = hf_vec3_of(0.0, 0.0, 0.0);
    if (!hf_arches_point(&plan->arches, &in->entry, pointer, plan->report, &out->entry_mm, &normal)) return;
    if (in->axis_perpendicular) {
        if (!hf_vec3_is_given(normal)) {
            hf_report_problem(plan->report, axis_pointer,
                "a perpendicular axis needs an entry on a surface (palate, vestibule or near a tooth), not bare coordinates");
            return;
        }
        out->axis = leaning(normal, in->tilt_deg);
        hf_report_assume_vec3(
            plan->report, axis_pointer, out->axis, "perpendicular to the surface at the entry");
    } else if (!(hf_norm(in->axis) > 0.0)) {
        hf_report_problem(
            plan->report, axis_pointer, "the axis has no length: it points from the tip to the head");
        return;
    } else {
        out->axis = hf_unit(in->axis);
    }
    out->head_mm = hf_add_scaled(out->entry_mm, out->axis, out->screw.neck_mm);
}

static void check_dates_and_names(hf_plan *plan, size_t s, const hf_plan_screw *out) {
    const hf_screw_in *in = out->in;
    if (hf_plan_name(plan->in->screws, s, sizeof *in, in->name) != SIZE_MAX)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/screws/%zu/name", s),
            "the name '%s' is already taken by another screw", in->name);
    if (in->placed_on != HF_ABSENT && in->placed_on > plan->in->on)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/screws/%zu/placed_on", s),
            "the screw was placed after the date of this evaluation");
}

/* Two screws whose bodies would overlap at the bone surface. */
static void check_apart(hf_plan *plan, size_t s) {
    const hf_plan_screw *one = &plan->screws[s];
    for (size_t t = 0; t < s; t++) {
        const hf_plan_screw *other = &plan->screws[t];
        double distance = hf_norm(hf_sub(one->entry_mm, other->entry_mm));
        double room = 0.5 * (one->screw.diameter_mm + other->screw.diameter_mm);
        if (distance < room && hf_norm(one->axis) > 0.0 && hf_norm(other->axis) > 0.0)
            hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/screws/%zu/entry_mm", s),
                "screws '%s' and '%s' stand at one place (%.3g mm apart, their bodies need %.3g mm)",
                one->in->name, other->in->name, distance, room);
    }
}

static void torque_window(hf_plan_screw *out) {
    out->torque = HF_WINDOW_UNKNOWN;
    out->has_window = out->has_site && hf_site_torque_window(&out->site, out->screw.diameter_mm,
                                           &out->torque_low_ncm, &out->torque_high_ncm, &out->torque_source);
    if (out->has_window && !isnan(out->in->insertion_torque_ncm))
        out->torque =
            hf_torque_class(out->in->insertion_torque_ncm, out->torque_low_ncm, out->torque_high_ncm);
}

void hf_plan_screws(hf_plan *plan) {
    plan->screws = HF_NEW_ARRAY(plan->arena, hf_plan_screw, plan->in->screw_count);
    for (size_t s = 0; s < plan->in->screw_count; s++) {
        hf_plan_screw *out = &plan->screws[s];
        out->in = &plan->in->screws[s];
        find_site(plan, s, out);
        bone_and_body(plan, s, out);
        place(plan, s, out);
        torque_window(out);
        check_dates_and_names(plan, s, out);
        check_apart(plan, s);
    }
}
