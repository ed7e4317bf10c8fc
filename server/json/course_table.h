/* A course of treatment and its progress as tables over hf_course_in, hf_progress and their parts. */
#ifndef HFD_COURSE_TABLE_H
#define HFD_COURSE_TABLE_H

#include "../../core/progress.h"
#include "field.h"

/* What is written: the core's answer and what it was made with. */
struct hfd_progress_view {
    const char *core, *parameters; /* versions */
    hf_progress progress;
};

extern const struct hfd_table hfd_course_table; /* over hf_course_in; its member `goals` is what cases keep */
extern const struct hfd_table hfd_progress_table; /* over struct hfd_progress_view */

#endif
