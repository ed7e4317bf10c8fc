/* The mechanics document: one decoder, one core call, one encoder, whichever door it came through. */
#ifndef HFD_DOCUMENT_H
#define HFD_DOCUMENT_H

#include "../../core/evaluate.h"
#include "../base/problem.h"

struct hfd_evaluation {
    enum hfd_problem_kind kind; /* HFD_OK, HFD_MALFORMED_JSON or HFD_VALIDATION */
    const char *detail;         /* of a refusal */
    struct hfd_errors errors;
    const char *body; /* the answer as JSON text when HFD_OK */
    size_t body_len;
    const char *digest; /* "sha256:…" of the canonical input */
    /* The same before it was written, for who draws it; NULL: variants, or refused. */
    const hf_case *input;
    const hf_answer *answer;
};

/* Which part of the answer to write. */
enum hfd_answer_part { HFD_ANSWER_WHOLE, HFD_ANSWER_STABILITY };

/* `text` is one document, or {"variants": [document, …]} when `variants` is allowed. All memory from `arena`.
 */
void hfd_document_evaluate(const char *text, size_t length, bool variants, enum hfd_answer_part part,
    hf_arena *arena, struct hfd_evaluation *out);

/* Decode only (tests, benchmarks, validation of stored parts). False: errors were added. */
bool hfd_document_decode(const char *text, size_t length, hf_arena *arena, struct hfd_errors *errors,
    hf_case *out, const char **digest);

#endif
