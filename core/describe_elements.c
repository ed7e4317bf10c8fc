#include "describe.h"

#include <string.h>

#include "element.h"

/* The sources behind the force and its decay, each once. */
static void tell_basis(const hf_plan *plan, const hf_plan_element *element, hf_element_out *told) {
    const char *const *lists[] = {element->force.basis, element->basis};
    size_t room = 0;
    for (size_t l = 0; l < 2; l++)
        for (const char *const *key = lists[l]; key && *key; key++)
            room++;
    const char **basis = HF_NEW_ARRAY(plan->arena, const char *, room);
    for (size_t l = 0; l < 2; l++) {
        for (const char *const *key = lists[l]; key && *key; key++) {
            const char *source = hf_report_cite(plan->report, *key);
            size_t i = 0;
            while (i < told->basis_count && strcmp(basis[i], source) != 0)
                i++;
            if (i == told->basis_count) basis[told->basis_count++] = source;
        }
    }
    told->basis = basis;
}

/* As the element stands now, from its activation up to the horizon. */
static void tell_course(const hf_plan *plan, const hf_plan_element *element, int last, hf_element_out *told) {
    static const int days[] = {0, 1, 7, 14, 21, 28, 42};
    const size_t count = sizeof days / sizeof *days;
    const char *const *basis;
    told->over_time = HF_NEW_ARRAY(plan->arena, hf_force_at, count + 1);
    for (size_t i = 0;; i++) {
        int day = i < count && days[i] < last ? days[i] : last;
        double left = hf_element_retained(element->in, (double)day, &basis);
        told->over_time[told->over_time_count++] = (hf_force_at){day, element->force.fresh_n * left};
        if (day == last) return;
    }
}

static hf_range range_of(const hf_plan_element *element) {
    const hf_force *force = &element->force;
    hf_range left = hf_element_retained_range(element->in, (double)element->days);
    return (hf_range){force->fresh_n * (1.0 - force->below) * left.low, element->force_n,
        force->fresh_n * (1.0 + force->above) * left.high};
}

void hf_describe_elements(const hf_plan *plan, hf_answer *out) {
    out->element_count = plan->in->element_count;
    out->elements = HF_NEW_ARRAY(plan->arena, hf_element_out, out->element_count);
    for (size_t e = 0; e < out->element_count; e++) {
        const hf_plan_element *element = &plan->elements[e];
        hf_element_out *told = &out->elements[e];
        *told = (hf_element_out){.name = element->in->name,
            .kind = element->in->kind,
            .force_n = element->force_n,
            .peak_force_n = element->force_n,
            .range_n = {NAN, NAN, NAN},
            .direction = element->direction,
            .days_active = element->days,
            .retained_fraction = NAN,
            .cantilever = element->cantilever ? *element->cantilever : hf_cantilever_absent(),
            .bending = HF_BENDING_UNKNOWN};
        told->from_mm = element->has_from ? element->from.at_mm : hf_vec3_absent();
        told->to_mm = element->has_to ? element->to.at_mm : hf_vec3_absent();
        if (!isnan(told->cantilever.couple_nmm))
            told->bending = told->cantilever.large ? HF_BENDING_ELASTICA : HF_BENDING_LINEAR;
        if (!isnan(element->force.fresh_n)) {
            told->peak_force_n = fmax(element->force.peak_n, element->force_n);
            told->retained_fraction = element->retained;
            told->range_n = range_of(element);
            tell_course(plan, element, element->days + out->horizon_days, told);
        }
        if (e > 0 && element->basis == element[-1].basis && element->force.basis == element[-1].force.basis) {
            told->basis = told[-1].basis;
            told->basis_count = told[-1].basis_count;
        } else {
            tell_basis(plan, element, told);
        }
    }
}
