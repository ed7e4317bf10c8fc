/* The progress of a course: one decoder, one core call, one encoder. */
#ifndef HFD_COURSE_H
#define HFD_COURSE_H

#include "../../core/arena.h"
#include "../base/problem.h"

/* `text` is a course (course_table.h). HFD_OK with the answer as JSON text, HFD_MALFORMED_JSON or
 * HFD_VALIDATION with errors added. All memory from `arena`. */
enum hfd_problem_kind hfd_course_progress(const char *text, size_t length, hf_arena *arena,
    struct hfd_errors *errors, const char **body, size_t *body_len);

#endif
