#include "plan.h"

#include <stdint.h>
#include <string.h>

#include "element.h"

static bool end_on_fitting(hf_plan *plan, const hf_end_in *in, const char *pointer, hf_plan_end *out) {
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
    hf_report_problem(plan->report, hf_arena_printf(plan->arena, "%s/fitting", pointer),
        "no plate has a fitting at a node named '%s'", in->fitting);
    return false;
}

static bool end_on_tooth(hf_plan *plan, const hf_end_in *in, hf_plan_end *out) {
    int slot = hf_tooth_slot(in->tooth);
    if (slot < 0 || plan->slot_tooth[slot] == SIZE_MAX) return false; /* reported with the teeth */
    size_t tooth = plan->slot_tooth[slot];
    out->body = plan->tooth_segment[tooth];
    out->at_mm = plan->teeth[tooth].place.attachment_mm[in->at];
    if (hf_vec3_is_given(in->offset_mm)) out->at_mm = hf_add(out->at_mm, in->offset_mm);
    return true;
}

static bool end_on_segment(hf_plan *plan, const hf_end_in *in, const char *pointer, hf_plan_end *out) {
    out->body = hf_plan_name(plan->segments, plan->segment_count, sizeof *plan->segments, in->segment);
    if (out->body == SIZE_MAX) {
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "%s/segment", pointer),
            "no segment is named '%s'", in->segment);
        return false;
    }
    return hf_arches_point(&plan->arches, &in->at_mm, hf_arena_printf(plan->arena, "%s/at_mm", pointer),
        plan->report, &out->at_mm, NULL);
}

static bool resolve_end(hf_plan *plan, const hf_end_in *in, const char *pointer, hf_plan_end *out) {
    switch (in->kind) {
    case HF_END_FITTING:
        return end_on_fitting(plan, in, pointer, out);
    case HF_END_TOOTH:
        return end_on_tooth(plan, in, out);
    case HF_END_SEGMENT:
        return end_on_segment(plan, in, pointer, out);
    case HF_END_FIXED:
        out->body = HF_GROUND;
        return hf_arches_point(&plan->arches, &in->fixed_mm,
            hf_arena_printf(plan->arena, "%s/fixed_mm", pointer), plan->report, &out->at_mm, NULL);
    case HF_END_NONE:
        break;
    }
    return false;
}

static void check_common(hf_plan *plan, size_t e, const hf_element_in *in) {
    const char *wrong = hf_element_product_error(in->kind, in->product);
    if (wrong)
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/product", e),
            "'%s' is no decay class of this kind: %s", in->product, wrong);
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

static void pull(hf_plan *plan, size_t e, hf_plan_element *out) {
    const hf_element_in *in = out->in;
    if (isnan(in->force_n))
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu/force_n", e),
            "the force of the element when it was activated is needed");
    if (!out->has_from || !out->has_to) return;
    hf_vec3 line = hf_sub(out->to.at_mm, out->from.at_mm);
    if (!(hf_norm(line) > 1e-6))
        hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/elements/%zu", e),
            "both ends are at the same point: the force has no direction");
    out->direction = hf_unit(line);
    out->retained = hf_element_retained(in, (double)out->days, &out->basis);
    out->force_n = in->force_n * out->retained;
}

void hf_plan_elements(hf_plan *plan) {
    const hf_case *in = plan->in;
    plan->elements = HF_NEW_ARRAY(plan->arena, hf_plan_element, in->element_count);
    for (size_t e = 0; e < in->element_count; e++) {
        hf_plan_element *out = &plan->elements[e];
        out->in = &in->elements[e];
        out->retained = 1.0;
        out->force_n = NAN;
        out->direction = hf_vec3_absent();
        out->days = out->in->activated_on == HF_ABSENT ? 0 : in->on - out->in->activated_on;
        check_common(plan, e, out->in);
        const char *from = hf_arena_printf(plan->arena, "/elements/%zu/from", e);
        const char *to = hf_arena_printf(plan->arena, "/elements/%zu/to", e);
        out->has_from = resolve_end(plan, &out->in->from, from, &out->from);
        out->has_to = resolve_end(plan, &out->in->to, to, &out->to);
        if (out->in->kind == HF_ELEMENT_APPLIED) {
            check_applied(plan, e, out->in);
            continue;
        }
        check_both_ends(plan, e, out->in);
        if (out->in->kind == HF_ELEMENT_RIGID_BAR)
            check_rigid_bar(plan, e, out->in);
        else
            pull(plan, e, out);
    }
}
