/* Marks that all charts share. */
#ifndef HFD_MARKS_H
#define HFD_MARKS_H

#include "../../core/findings.h"
#include "svg.h"

extern const char *const hfd_marks[HF_SEVERITY_COUNT]; /* ● ▲ ■: told by shape beside colour */

/* An estimate. */
void hfd_mark_diamond(struct hfd_svg *svg, struct hfd_at at);
/* A range: a line across or down, with a cap at each end. */
void hfd_mark_whisker(struct hfd_svg *svg, struct hfd_at from, struct hfd_at to);

#endif
