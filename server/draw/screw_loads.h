/* What each screw feels against what it can bear, and how likely it is lost. */
#ifndef HFD_DRAW_SCREW_LOADS_H
#define HFD_DRAW_SCREW_LOADS_H

#include <stdbool.h>

#include "../../core/answer.h"
#include "../base/buf.h"

/* One <svg>: a row for each screw, then the plates' risk. Ranges are drawn where the answer has draws. */
void hfd_draw_screw_loads(struct hfd_buf *out, bool inside, const hf_answer *answer);

#endif
