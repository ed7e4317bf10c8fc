#include "plan_force.h"

#include <stdint.h>
#include <string.h>

#include "element.h"
#include "evidence.h"

/* Which end of which element. Pointers are made only when one is told. */
typedef struct end_spot {
    size_t element;
    const char *end;
} end_spot;

static const char *member_of(const hf_plan *plan, end_spot spot, const char *member) {
    return hf_arena_printf(plan->arena, "/elements/%zu/%s/%s", spot.element, spot.end, member);
}

static bool end_on_fitting(hf_plan *plan, const hf_end_in *in, end_spot spot, hf_plan_end *out) {
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        const hf_plan_plate *plate = &plan->plates[p];
        if (hf_plan_name(plate->in->fittings, plate->in->fitting_count, sizeof *plate->in->fittings,
                in->fitting) == SIZE_MAX)
            continue;
        size_t node =
            hf_plan_name(plate->in->nodes, plate->in->node_count, sizeof *plate->in->nodes, in->fitting);
        if (node == SIZE_MAX) return false; /* the fitting itself was reported */
        *out = (hf_plan_end){plate->first_body + node, plate->node_mm[node]};
        return true;
    }
    hf_report_problem(plan->report, member_of(plan, spot, "fitting"),
        "no plate has a fitting at a node named '%s'", in->fitting);
    return false;
}

static bool end_on_tooth(hf_plan *plan, const hf_end_in *in, hf_plan_end *out) {
    int slot = hf_tooth_slot(in->tooth);
    if (slot < 0) return false; /* reported with the teeth */
    size_t tooth = plan->slot_tooth[slot];
    out->body = plan->tooth_unit[tooth];
    out->at_mm = plan->teeth[tooth].place.attachment_mm[in->at];
    if (hf_vec3_is_given(in->offset_mm)) out->at_mm = hf_add(out->at_mm, in->offset_mm);
    return true;
}

static bool end_on_segment(hf_plan *plan, const hf_end_in *in, end_spot spot, hf_plan_end *out) {
    size_t segment = hf_plan_name(plan->segments, plan->segment_count, sizeof *plan->segments, in->segment);
    if (segment == SIZE_MAX) {
        hf_report_problem(
            plan->report, member_of(plan, spot, "segment"), "no segment is named '%s'", in->segment);
        return false;
    }
    if (!hf_arches_point(
            &plan->arches, &in->at_mm, member_of(plan, spot, "at_mm"), plan->report, &out->at_mm, NULL))
        return false;
    bool wire;
    out->body = hf_plan_carrier(plan, segment, out->at_mm, &wire);
    if (wire)
        hf_report_assume_text(plan->report, member_of(plan, spot, "segment"),
            "a rigid arm from the nearest point of the wire", "no tooth's attachment is as near");
    return true;
}

static bool resolve_end(hf_plan *plan, const hf_end_in *in, end_spot spot, hf_plan_end *out) {
    switch (in->kind) {
    case HF_END_FITTING:
        return end_on_fitting(plan, in, spot, out);
    case HF_END_TOOTH:
        return end_on_tooth(plan, in, out);
    case HF_END_SEGMENT:
        return end_on_segment(plan, in, spot, out);
    case HF_END_FIXED:
        out->body = HF_GROUND;
        return hf_arches_point(
            &plan->arches, &in->fixed_mm, member_of(plan, spot, "fixed_mm"), plan->report, &out->at_mm, NULL);
    default: /* HF_END_NONE */
        return false;
    }
}

static void check_common(hf_plan *plan, size_t e, const hf_element_in *in) {
    const char *wrong = hf_element_product_error(in->kind, in->product);
    if (wrong)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/product", e),
            "'%s' is no decay class of this kind: %s", in->product, wrong);
    if (!isnan(in->reading_after_s) && !hf_element_traits[in->kind].decays)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/reading_after_s", e),
            "the force of this kind of element does not fade");
    hf_plan_check_supply(plan, e);
    if (in->activated_on != HF_ABSENT && in->activated_on > plan->in->on)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/activated_on", e),
            "the element was activated after the date of this evaluation");
    if (hf_plan_name(plan->in->elements, e, sizeof *in, in->name) != SIZE_MAX)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/name", e),
            "the name '%s' is already taken by another element", in->name);
}

static void check_applied(hf_plan *plan, size_t e, const hf_element_in *in) {
    if ((in->from.kind == HF_END_NONE) == (in->to.kind == HF_END_NONE))
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu", e),
            "an applied load acts on exactly one end: give `to` (or `from`), not both");
    if (!hf_vec3_is_given(in->applied_force_n) && !hf_vec3_is_given(in->applied_moment_nmm))
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/force_n", e),
            "an applied load has a force, a moment or both");
}

static void check_both_ends(hf_plan *plan, size_t e, const hf_element_in *in) {
    if (in->from.kind == HF_END_NONE)
        hf_report_problem(
            plan->report, hf_arena_printf(plan->arena, "/elements/%zu/from", e), "this end is missing");
    if (in->to.kind == HF_END_NONE)
        hf_report_problem(
            plan->report, hf_arena_printf(plan->arena, "/elements/%zu/to", e), "this end is missing");
}

static void check_rigid_bar(hf_plan *plan, size_t e, const hf_element_in *in) {
    bool from_plate = in->from.kind == HF_END_FITTING, to_plate = in->to.kind == HF_END_FITTING;
    bool from_teeth = in->from.kind == HF_END_TOOTH || in->from.kind == HF_END_SEGMENT;
    bool to_teeth = in->to.kind == HF_END_TOOTH || in->to.kind == HF_END_SEGMENT;
    if (!(from_plate && to_teeth) && !(to_plate && from_teeth))
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu", e),
            "a rigid bar joins a fitting of a plate to a tooth or a segment");
}

/* Measured, or by the product's data. */
static bool find_force(hf_plan *plan, size_t e, hf_plan_element *out) {
    const hf_element_in *in = out->in;
    double distance = out->has_from && out->has_to ? hf_norm(hf_sub(out->to.at_mm, out->from.at_mm)) : NAN;
    bool supplied = hf_plan_supply(plan, e, distance, &out->force);
    bool late = !isnan(in->reading_after_s);
    if (isnan(in->force_n)) return supplied;
    double fresh = late ? in->force_n / hf_element_retained_after(in, in->reading_after_s) : in->force_n;
    out->force = (hf_force){.fresh_n = fresh,
        .peak_n = fresh,
        .below = HF_EV(FORCE_MEASURED_SPREAD),
        .above = HF_EV(FORCE_MEASURED_SPREAD)};
    return true;
}

/* Along the line between the ends; an open coil pushes. */
static void pull(hf_plan *plan, size_t e, hf_plan_element *out) {
    if (!find_force(plan, e, out) || !out->has_from || !out->has_to) return;
    hf_vec3 line = hf_sub(out->to.at_mm, out->from.at_mm);
    if (!(hf_norm(line) > 1e-6))
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu", e),
            "both ends are at the same point: the force has no direction");
    out->direction = hf_unit(out->in->kind == HF_ELEMENT_OPEN_COIL ? hf_scale(line, -1.0) : line);
    out->on_from.force = out->direction;
    out->on_to.force = hf_scale(out->direction, -1.0);
}

/* What is left of the force at the date. */
static void fade(hf_plan *plan, hf_plan_element *out) {
    if (isnan(out->force.fresh_n)) return;
    out->retained = hf_element_retained(out->in, (double)out->days, &out->basis);
    out->force_n = out->force.fresh_n * out->retained;
    out->times[HF_LOADS_AT_DATE] = out->force_n;
    out->times[HF_LOADS_AT_PEAK] = out->force.peak_n;
    if (out->force.peak_n > out->force_n) plan->has_peak = true;
}

static hf_vec3 or_zero(hf_vec3 v) {
    return hf_vec3_is_given(v) ? v : hf_vec3_of(0.0, 0.0, 0.0);
}

static void apply(hf_plan *plan, size_t e, hf_plan_element *out) {
    hf_wrench load = {or_zero(out->in->applied_force_n), or_zero(out->in->applied_moment_nmm)};
    check_applied(plan, e, out->in);
    out->times[HF_LOADS_AT_DATE] = out->times[HF_LOADS_AT_PEAK] = 1.0;
    *(out->has_from ? &out->on_from : &out->on_to) = load;
    out->force_n = hf_norm(load.force);
    if (out->force_n > 0.0) out->direction = hf_unit(load.force);
}

void hf_plan_elements(hf_plan *plan) {
    plan->first_hung = plan->body_count;
    const hf_case *in = plan->in;
    plan->elements = HF_NEW_ARRAY(plan->arena, hf_plan_element, in->element_count);
    for (size_t e = 0; e < in->element_count; e++) {
        hf_plan_element *out = &plan->elements[e];
        out->in = &in->elements[e];
        out->retained = 1.0;
        out->force.fresh_n = out->force_n = NAN;
        out->direction = hf_vec3_absent();
        out->days = out->in->activated_on == HF_ABSENT ? 0 : in->on - out->in->activated_on;
        check_common(plan, e, out->in);
        out->has_from = resolve_end(plan, &out->in->from, (end_spot){e, "from"}, &out->from);
        out->has_to = resolve_end(plan, &out->in->to, (end_spot){e, "to"}, &out->to);
        if (out->in->kind == HF_ELEMENT_APPLIED) {
            apply(plan, e, out);
            continue;
        }
        check_both_ends(plan, e, out->in);
        if (out->in->kind == HF_ELEMENT_RIGID_BAR)
            check_rigid_bar(plan, e, out->in);
        else if (out->in->kind == HF_ELEMENT_CANTILEVER)
            hf_plan_cantilever(plan, e, out);
        else
            pull(plan, e, out);
        fade(plan, out);
    }
}
