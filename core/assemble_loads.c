#include "assemble.h"

static void push(hf_assembly *out, size_t element, const hf_plan_end *end, hf_wrench load, double times) {
    if (end->body == HF_GROUND) return;
    out->load_element[out->frame.load_count] = element;
    out->loads[out->frame.load_count++] = (hf_frame_load){
        {out->body[end->body], end->at_mm}, {hf_scale(load.force, times), hf_scale(load.moment, times)}};
}

void hf_assembly_load(const hf_plan *plan, hf_assembly *out, hf_load_set set) {
    out->frame.loads = out->loads;
    out->frame.load_count = 0;
    for (size_t e = 0; e < plan->in->element_count; e++) {
        const hf_plan_element *element = &plan->elements[e];
        if (element->in->kind == HF_ELEMENT_RIGID_BAR) continue;
        if (element->has_from) push(out, e, &element->from, element->on_from, element->times[set]);
        if (element->has_to) push(out, e, &element->to, element->on_to, element->times[set]);
    }
}
