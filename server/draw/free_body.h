/* The free-body diagram of a case: what pulls, what each group of teeth gets and how it turns, what each
 * screw feels, as seen from below or above, from the front and from the side. */
#ifndef HFD_FREE_BODY_H
#define HFD_FREE_BODY_H

#include "../../core/answer.h"
#include "svg.h"

#define HFD_VIEW(view) (1u << (view)) /* HF_FRONTAL … */
#define HFD_ALL_VIEWS (HFD_VIEW(HF_FRONTAL) | HFD_VIEW(HF_SAGITTAL) | HFD_VIEW(HF_OCCLUSAL))

/* Of an evaluated case. `views`: a sum of HFD_VIEW(). */
void hfd_draw_free_body(struct hfd_buf *out, bool inside_a_page, const hf_case *in, const hf_answer *answer,
    unsigned views, hf_arena *arena);

/* The same in a page that has several: its ids begin with `prefix`. Returns the scale of forces, mm for 1 N;
 * 0: nothing is drawn, the case is refused. */
double hfd_draw_free_body_of(struct hfd_buf *out, const char *prefix, const hf_case *in,
    const hf_answer *answer, unsigned views, hf_arena *arena);

/* All views for a printed sheet, where height is dear: three beside one another. */
void hfd_draw_free_body_flat(
    struct hfd_buf *out, const char *prefix, const hf_case *in, const hf_answer *answer, hf_arena *arena);
/* The same with all in one row, where even less height is left. False: they are not so many that it would
 * differ, and nothing was drawn. */
bool hfd_draw_free_body_row(
    struct hfd_buf *out, const char *prefix, const hf_case *in, const hf_answer *answer, hf_arena *arena);

#endif
