#include "evidence.h"
#include "plan.h"

static void find(const hf_plan *plan, const hf_plan_element *element, hf_finding finding) {
    finding.subject = HF_ABOUT_ELEMENT;
    finding.name = element->in->name;
    hf_report_find(plan->report, finding);
}

static void judge_slack(const hf_plan *plan, const hf_plan_element *element) {
    if (element->force.fresh_n > 0.0 || element->force.basis == NULL)
        return; /* also NAN: no force of its own */
    find(plan, element,
        (hf_finding){.code = "element-slack",
            .severity = HF_CAUTION,
            .value = element->force.fresh_n,
            .limit = NAN,
            .message = "By its length at rest the element is slack between its ends: it gives no force."});
}

static void judge_wire(const hf_plan *plan, const hf_plan_element *element) {
    const hf_cantilever *wire = element->cantilever;
    if (wire->permanent_set)
        find(plan, element,
            (hf_finding){.code = "wire-yield",
                .severity = HF_CAUTION,
                .value = wire->yield_ratio,
                .limit = 1.0,
                .source = "handbook-wires",
                .message =
                    "The wire is bent past its yield at the tube: it takes a set and gives less than is told "
                    "here. A helix, a longer or a thinner wire stays under it."});
    if (isnan(wire->couple_nmm))
        find(plan, element,
            (hf_finding){.code = "outside-studied-range",
                .severity = HF_NOTE,
                .value = NAN,
                .limit = NAN,
                .source = "bisshopp-1945",
                .message =
                    "Under this force the wire bends farther than was studied: how it bends is not told. The "
                    "force system holds, by the measured force and the place of the end."});
    double off = element->lever_mm / wire->reach_mm - 1.0;
    if (fabs(off) >= HF_EV(CANTILEVER_REACH_OFF))
        find(plan, element,
            (hf_finding){.code = "cantilever-reach",
                .severity = HF_NOTE,
                .value = element->lever_mm,
                .limit = wire->reach_mm,
                .source = "holdfast-judgement",
                .message =
                    "The end is not tied where a straight wire of this length reaches. The force system is that "
                    "of the end's place; the bending is that of the straight wire."});
}

void hf_judge_elements(const hf_plan *plan) {
    for (size_t e = 0; e < plan->in->element_count; e++) {
        judge_slack(plan, &plan->elements[e]);
        if (plan->elements[e].cantilever) judge_wire(plan, &plan->elements[e]);
    }
}
