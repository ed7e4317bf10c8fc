/* The force of each element over the days: how it has faded and how it will, up to the next visit. */
#ifndef HFD_DAYS_H
#define HFD_DAYS_H

#include <stdbool.h>

#include "../../core/answer.h"
#include "../base/buf.h"

/* One <svg>, of an evaluated case. */
void hfd_draw_days(struct hfd_buf *out, bool inside_a_page, const hf_answer *answer, hf_arena *arena);

#endif
