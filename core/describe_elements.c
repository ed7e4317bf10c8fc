#include "describe.h"

#include <string.h>

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

void hf_describe_elements(const hf_plan *plan, hf_answer *out) {
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
