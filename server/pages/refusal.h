/* A refusal as a page, for people: what problem+json tells programs. */
#ifndef HFD_REFUSAL_H
#define HFD_REFUSAL_H

#include "../base/buf.h"
#include "../base/problem.h"

void hfd_refusal_page(struct hfd_buf *out, enum hfd_problem_kind kind, const char *detail,
    const struct hfd_request *request, const struct hfd_errors *errors);

#endif
