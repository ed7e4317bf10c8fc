#include <stdint.h>

#include "evidence.h"
#include "plan_force.h"

static const char *pointer_to(const hf_plan *plan, size_t e, const char *member) {
    return hf_arena_printf(plan->arena, "/elements/%zu/%s", e, member);
}

/* The tube's axis; absent when a problem was reported. */
static hf_vec3 tube_axis(hf_plan *plan, size_t e, const hf_element_in *in) {
    if (in->from.kind != HF_END_FITTING) {
        hf_report_problem(plan->report, pointer_to(plan, e, "from"), "a cantilever leaves a tube of a plate");
        return hf_vec3_absent();
    }
    for (size_t p = 0; p < plan->in->plate_count; p++) {
        const hf_plate_in *plate = plan->plates[p].in;
        size_t f =
            hf_plan_name(plate->fittings, plate->fitting_count, sizeof *plate->fittings, in->from.fitting);
        if (f == SIZE_MAX) continue;
        hf_vec3 axis = plate->fittings[f].axis;
        if (plate->fittings[f].kind == HF_FITTING_TUBE && hf_norm(axis) > 0.0) return axis;
        hf_report_problem(plan->report, pointer_to(plan, e, "from/fitting"),
            "a cantilever needs a fitting of kind \"tube\" with its `axis` at node '%s'", in->from.fitting);
        break;
    }
    return hf_vec3_absent(); /* an unknown fitting was reported with the ends */
}

/* Material of the wire, and how far its modulus may be off. */
static bool wire_material(
    hf_plan *plan, size_t e, const hf_material_in *in, hf_material *out, const hf_evidence **modulus) {
    *modulus = NULL;
    if (!in->name) {
        *out = (hf_material){.name = "as given",
            .modulus_mpa = in->modulus_mpa,
            .poisson = in->poisson,
            .yield_mpa = in->yield_mpa};
        return !isnan(in->modulus_mpa);
    }
    const hf_alloy *alloy = hf_alloy_find(in->name);
    if (!alloy) {
        const char *known = "";
        for (size_t i = 0; i < hf_alloy_count; i++)
            known = hf_arena_printf(plan->arena, "%s%s%s", known, i ? ", " : "", hf_alloys[i].name);
        hf_report_problem(plan->report, pointer_to(plan, e, "wire/material"), "'%s' is no alloy of wires: %s",
            in->name, known);
        return false;
    }
    *out = hf_alloy_material(alloy);
    *modulus = &hf_evidence_table[alloy->modulus];
    return true;
}

/* The wire with its real edges; the band of its stiffness as shares below and above, and what is behind it.
 */
static bool make_wire(hf_plan *plan, size_t e, const hf_element_in *in, hf_wire *out, hf_force *force) {
    hf_material material;
    const hf_evidence *modulus;
    if (in->wire_section.kind == HF_SECTION_NONE ||
        !wire_material(plan, e, &in->wire_material, &material, &modulus))
        return false;
    hf_wire nominal =
        hf_wire_of(&in->wire_section, in->edgewise == 1 ? HF_WIRE_EDGE : HF_WIRE_FLAT, &material);
    hf_wire_band band = hf_wire_bevelled(&nominal);
    double low = modulus ? modulus->low / modulus->value : 1.0;
    double high = modulus ? modulus->high / modulus->value : 1.0;
    force->below = 1.0 - low * band.low / band.mid;
    force->above = high * band.high / band.mid - 1.0;
    const char **basis = HF_NEW_ARRAY(plan->arena, const char *, 4);
    force->basis = basis;
    *basis++ = "wire-linear-slope";
    if (!nominal.section.round) *basis++ = "wire-bevel";
    if (modulus) *basis++ = modulus->key;
    *out = hf_wire_with_ei(&nominal, band.mid);
    return true;
}

static void report_missing(hf_plan *plan, size_t e, const hf_element_in *in) {
    if (!isnan(in->force_n)) return;
    if (isnan(in->activation_mm)) {
        hf_report_problem(plan->report, pointer_to(plan, e, "force_n"),
            "nothing tells the force: give what was measured, or `activation_mm` with `wire` and `length_mm`");
        return;
    }
    if (in->wire_section.kind == HF_SECTION_NONE)
        hf_report_problem(
            plan->report, pointer_to(plan, e, "wire"), "is needed for the force of a cantilever");
    if (isnan(in->length_mm))
        hf_report_problem(
            plan->report, pointer_to(plan, e, "length_mm"), "is needed for the force of a cantilever");
}

/* Bends the wire. A measured force stands without one, or with one that the model cannot bend so far. */
static bool bend(hf_plan *plan, size_t e, const hf_element_in *in, hf_plan_element *out) {
    bool measured = !isnan(in->force_n);
    hf_cantilever_in ask = hf_cantilever_default();
    hf_cantilever *bent = HF_NEW(plan->arena, hf_cantilever);
    bool told = make_wire(plan, e, in, &ask.wire, &out->force) && !isnan(in->length_mm);
    if (told) {
        ask.length_mm = in->length_mm;
        ask.helix_mm = in->helix_mm;
        ask.force_n = in->force_n;
        ask.activation_mm = measured ? (double)NAN : in->activation_mm;
        hf_cantilever_of(&ask, bent);
        out->cantilever = bent;
    }
    if (measured) {
        out->force = (hf_force){.fresh_n = in->force_n,
            .below = HF_EV(FORCE_MEASURED_SPREAD),
            .above = HF_EV(FORCE_MEASURED_SPREAD)};
    } else if (told && !isnan(bent->force_n)) {
        out->force.fresh_n = bent->force_n;
    } else {
        if (told && !isnan(in->activation_mm))
            hf_report_problem(plan->report, pointer_to(plan, e, "activation_mm"),
                "a wire of this length does not reach so far, or bends farther than was studied");
        return false;
    }
    out->force.peak_n = out->force.fresh_n;
    return true;
}

void hf_plan_cantilever(hf_plan *plan, size_t e, hf_plan_element *out) {
    const hf_element_in *in = out->in;
    report_missing(plan, e, in);
    hf_vec3 axis = tube_axis(plan, e, in);
    if (!bend(plan, e, in, out) || !hf_vec3_is_given(axis) || !out->has_from || !out->has_to) return;
    hf_vec3 mouth = out->from.at_mm, end = out->to.at_mm;
    /* A straight wire rests on the tube's axis; its end was moved from there to where it is tied. */
    hf_vec3 moved = hf_vec3_is_given(in->pull) ? hf_scale(in->pull, -1.0) : hf_sub(end, mouth);
    hf_cantilever one = {.force_n = 1.0};
    hf_cantilever_pull placed;
    if (!hf_cantilever_place(&one, mouth, axis, end, moved, &placed)) {
        hf_report_problem(plan->report, pointer_to(plan, e, "pull"),
            hf_vec3_is_given(in->pull) ? "runs along the tube: a cantilever pulls across it"
                                       : "the end lies on the tube's axis: say which way the wire pulls it");
        return;
    }
    out->on_from = placed.on_tube;
    out->on_to = placed.on_end;
    out->direction = placed.on_tube.force;
    out->lever_mm = placed.lever_mm;
}
