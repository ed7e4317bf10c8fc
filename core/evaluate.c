#include "evaluate.h"

#include "describe.h"
#include "evidence.h"
#include "uncertainty.h"

static const char notice[] =
    "Decision support for licensed orthodontic professionals. It supports and never replaces the judgement of the "
    "licensed clinician in charge, nor local rules. Movements in micrometres are orders of magnitude; directions, "
    "centres and ratios are the reliable part. Each figure holds within the range and by the sources named with it.";

static void describe(const hf_plan *plan, const hf_assembly *assembly, hf_answer *out) {
    out->force_residual_n = assembly->result.force_residual_n;
    out->moment_residual_nmm = assembly->result.moment_residual_nmm;
    out->horizon_days = plan->in->horizon_days;
    if (out->horizon_days == HF_ABSENT) {
        out->horizon_days = (int)HF_EV(PLAN_HORIZON);
        hf_report_assume_real(plan->report, "/horizon_days", HF_EV(PLAN_HORIZON), "horizon");
    }
    hf_describe_elements(plan, out);
    hf_describe_segments(plan, assembly, out);
    hf_describe_plates(plan, assembly, out);
    hf_describe_screws(plan, assembly, out);
    hf_describe_risks(plan, out);
    if (plan->in->uncertainty.samples != HF_ABSENT) hf_uncertainty_tell(plan, assembly, out);
    hf_describe_jaws(plan, assembly, out);
    hf_judge(plan, out);
}

bool hf_evaluate(const hf_case *in, hf_arena *arena, hf_answer *out) {
    hf_report report = hf_report_on(arena);
    hf_plan plan;
    *out = (hf_answer){.on = in->on, .notice = notice};
    hf_plan_make(in, arena, &report, &plan);
    hf_assemble_check_support(&plan);
    hf_assembly assembly;
    bool solved = report.problem_count == 0 && hf_assemble_solve(&plan, &assembly);
    if (solved) describe(&plan, &assembly, out);
    hf_report_finish(&report, out);
    return solved;
}
