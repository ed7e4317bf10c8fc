#include "force_view.h"

#include "days.h"

enum { ALL, FRONTAL, SAGITTAL, OCCLUSAL, DAYS, VIEWS };

const char *const hfd_force_views[] = {[ALL] = "all",
    [FRONTAL] = "frontal",
    [SAGITTAL] = "sagittal",
    [OCCLUSAL] = "occlusal",
    [DAYS] = "days",
    [VIEWS] = NULL};

static const unsigned seen[VIEWS] = {[ALL] = HFD_ALL_VIEWS,
    [FRONTAL] = HFD_VIEW(HF_FRONTAL),
    [SAGITTAL] = HFD_VIEW(HF_SAGITTAL),
    [OCCLUSAL] = HFD_VIEW(HF_OCCLUSAL)};

void hfd_draw_force_view(struct hfd_buf *out, bool inside_a_page, const hf_case *in, const hf_answer *answer,
    size_t view, hf_arena *arena) {
    if (view == DAYS)
        hfd_draw_days(out, inside_a_page, answer, arena);
    else
        hfd_draw_free_body(out, inside_a_page, in, answer, seen[view], arena);
}
