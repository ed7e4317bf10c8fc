/* Goals against what the visits measured, goal by goal over the days. */
#ifndef HFD_DRAW_PROGRESS_H
#define HFD_DRAW_PROGRESS_H

#include <stdbool.h>

#include "../../core/progress.h"
#include "../base/buf.h"

/* One <svg>. */
void hfd_draw_progress(struct hfd_buf *out, bool inside, const hf_progress *progress);

#endif
