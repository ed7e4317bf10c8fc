#include "plan.h"

bool hf_plan_make(const hf_case *in, hf_arena *arena, hf_report *report, hf_plan *out) {
    *out = (hf_plan){.in = in, .arena = arena, .report = report};
    hf_plan_teeth(out);
    hf_plan_wires(out);
    hf_plan_screws(out);
    hf_plan_plates(out);
    hf_plan_elements(out);
    return report->problem_count == 0;
}
