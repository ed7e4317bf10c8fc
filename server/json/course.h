/* The progress of a course: one decoder, one core call, one encoder. */
#ifndef HFD_COURSE_H
#define HFD_COURSE_H

#include "../../core/progress.h"
#include "../base/problem.h"

struct hfd_course_told {
    const char *body; /* the answer as JSON text */
    size_t body_len;
    hf_progress progress; /* the same before it was written, for who draws it */
};

/* `text` is a course (course_table.h). HFD_OK with the answer, HFD_MALFORMED_JSON or
 * HFD_VALIDATION with errors added. All memory from `arena`. */
enum hfd_problem_kind hfd_course_progress(const char *text, size_t length, hf_arena *arena,
    struct hfd_errors *errors, struct hfd_course_told *told);

#endif
