/* The drawings of a force system, by the words that choose among them. */
#ifndef HFD_FORCE_VIEW_H
#define HFD_FORCE_VIEW_H

#include "free_body.h"

/* "all", "frontal", "sagittal", "occlusal", "days"; NULL-ended. */
extern const char *const hfd_force_views[];

/* `view`: index into the words. */
void hfd_draw_force_view(struct hfd_buf *out, bool inside_a_page, const hf_case *in, const hf_answer *answer,
    size_t view, hf_arena *arena);

#endif
