#include "plan.h"

#include <assert.h>
#include <stdint.h>

#include "evidence.h"
#include "wire.h"

bool hf_plan_is_wired(const hf_plan *plan, size_t segment) {
    return segment < plan->in->segment_count && plan->in->segments[segment].wired;
}

static size_t index_of(const hf_plan *plan, const hf_tooth *tooth) {
    return (size_t)(tooth - plan->teeth);
}

static void make_units(hf_plan *plan) {
    plan->units = HF_NEW_ARRAY(plan->arena, hf_plan_unit, plan->segment_count + plan->tooth_count);
    plan->segment_unit = HF_NEW_ARRAY(plan->arena, size_t, plan->segment_count);
    plan->tooth_unit = HF_NEW_ARRAY(plan->arena, size_t, plan->tooth_count);
    for (size_t s = 0; s < plan->segment_count; s++) {
        const hf_segment *segment = &plan->segments[s];
        bool wired = hf_plan_is_wired(plan, s);
        plan->segment_unit[s] = plan->unit_count;
        if (!wired) plan->units[plan->unit_count++] = (hf_plan_unit){s, segment->at_mm, &segment->k};
        for (size_t t = 0; t < segment->tooth_count; t++) {
            const hf_tooth *tooth = segment->teeth[t];
            if (wired) plan->units[plan->unit_count++] = (hf_plan_unit){s, tooth->place.crest_mm, &tooth->k};
            plan->tooth_unit[index_of(plan, tooth)] = plan->unit_count - 1;
        }
    }
}

/* What is called by a metal's plain name is drawn when it is a wire, and softer than plates of it. */
static bool wire_material(hf_plan *plan, const hf_material_in *in, const char *pointer, hf_material *out) {
    const hf_alloy *alloy = in->name ? hf_alloy_find(in->name) : NULL;
    if (in->name && !alloy) {
        alloy = hf_alloy_find(hf_arena_printf(plan->arena, "%s-wire", in->name));
        if (alloy) hf_report_assume_text(plan->report, pointer, alloy->name, "a wire is drawn");
    }
    if (!alloy) return hf_plan_material(plan, in, pointer, out);
    *out = hf_alloy_material(alloy);
    hf_report_cite(plan->report, out->source);
    return true;
}

/* Teeth in the order of the arch, as the wire passes them. */
static const hf_tooth **along_the_arch(hf_plan *plan, const hf_segment *segment) {
    const hf_tooth **order = HF_NEW_ARRAY(plan->arena, const hf_tooth *, segment->tooth_count);
    for (size_t n = 0; n < segment->tooth_count; n++) {
        const hf_tooth *tooth = segment->teeth[n];
        size_t at = n;
        for (; at > 0 && hf_tooth_slot(order[at - 1]->place.tooth) > hf_tooth_slot(tooth->place.tooth);
             at--) {
            order[at] = order[at - 1];
        }
        order[at] = tooth;
    }
    return order;
}

/* A wire's thickness stands along the teeth and its width faces them, as a slot cut across the crown holds
 * it. Where the wire itself runs along the teeth there is no such slot: then the first of a tooth's axes that
 * is across it. */
static hf_vec3 across_the_slot(const hf_tooth_place *a, const hf_tooth_place *b, hf_vec3 along) {
    const hf_vec3 candidates[] = {
        hf_scale(hf_add(a->coronal, b->coronal), 0.5), a->coronal, a->buccal, a->mesial};
    for (size_t i = 0;; i++) {
        assert(i < sizeof candidates / sizeof *candidates); /* no line runs along three axes at once */
        hf_vec3 across = hf_perpendicular(candidates[i], hf_unit(along));
        if (hf_norm(across) > 0.1) return across;
    }
}

static void string_wire(hf_plan *plan, size_t s) {
    const hf_segment *segment = &plan->segments[s];
    const hf_segment_in *in = &plan->in->segments[s];
    const char *pointer = hf_arena_printf(plan->arena, "/segments/%zu/joined/wire", s);
    const hf_tooth **order = along_the_arch(plan, segment);
    hf_material material;
    if (!wire_material(
            plan, &in->wire_material, hf_arena_printf(plan->arena, "%s/material", pointer), &material))
        return;
    hf_section section = hf_section_of(&in->wire_section, material.poisson);
    hf_report_assume_text(plan->report, pointer,
        "passive, straight from tooth to tooth, gripped without play",
        "slot play, friction and the attachments' width are left out");
    for (size_t n = 1; n < segment->tooth_count; n++) {
        const hf_tooth *a = order[n - 1], *b = order[n];
        hf_vec3 from = a->place.attachment_mm[in->wire_at], to = b->place.attachment_mm[in->wire_at];
        hf_vec3 along = hf_sub(to, from);
        if (hf_tooth_jaw(a->place.tooth) != hf_tooth_jaw(b->place.tooth)) {
            hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/segments/%zu/teeth", s),
                "one wire cannot join teeth of both jaws");
            return;
        }
        if (!(hf_norm(along) > 0.1)) {
            hf_report_problem(plan->report, hf_arena_printf(plan->arena, "/segments/%zu/teeth", s),
                "the wire has no length between teeth %d and %d: they stand at the same place",
                a->place.tooth, b->place.tooth);
            return;
        }
        plan->spans[plan->span_count++] = (hf_plan_span){.segment = s,
            .from = plan->tooth_unit[index_of(plan, a)],
            .to = plan->tooth_unit[index_of(plan, b)],
            .from_mm = from,
            .to_mm = to,
            .section = section,
            .material = material,
            .normal = across_the_slot(&a->place, &b->place, along)};
    }
}

void hf_plan_wires(hf_plan *plan) {
    make_units(plan);
    plan->spans = HF_NEW_ARRAY(plan->arena, hf_plan_span, plan->tooth_count + 2 * plan->in->element_count);
    for (size_t s = 0; s < plan->in->segment_count; s++) {
        if (hf_plan_is_wired(plan, s)) string_wire(plan, s);
    }
}

/* Point of a span nearest to `at_mm`, as a share of the span. */
static double share_along(const hf_plan_span *span, hf_vec3 at_mm) {
    hf_vec3 along = hf_sub(span->to_mm, span->from_mm);
    double share = hf_dot(hf_sub(at_mm, span->from_mm), along) / hf_dot(along, along);
    return fmin(fmax(share, 0.0), 1.0);
}

static hf_vec3 point_of(const hf_plan_span *span, double share) {
    return hf_add_scaled(span->from_mm, hf_sub(span->to_mm, span->from_mm), share);
}

size_t hf_plan_carrier(hf_plan *plan, size_t segment, hf_vec3 at_mm, bool *wire) {
    hf_plan_span *nearest = NULL;
    double least = INFINITY, share = 0.0;
    *wire = false;
    for (size_t w = 0; w < plan->span_count; w++) {
        hf_plan_span *span = &plan->spans[w];
        if (span->segment != segment) continue;
        double here = share_along(span, at_mm), apart = hf_norm(hf_sub(point_of(span, here), at_mm));
        if (apart >= least) continue;
        least = apart;
        share = here;
        nearest = span;
    }
    if (!nearest) return plan->segment_unit[segment];
    hf_vec3 at = point_of(nearest, share);
    if (hf_norm(hf_sub(at, nearest->from_mm)) < HF_EV(WIRE_HELD)) return nearest->from;
    if (hf_norm(hf_sub(at, nearest->to_mm)) < HF_EV(WIRE_HELD)) return nearest->to;
    *wire = true;
    hf_plan_span *rest = &plan->spans[plan->span_count++];
    *rest = *nearest;
    rest->from = nearest->to = plan->body_count++;
    rest->from_mm = nearest->to_mm = at;
    return rest->from;
}
