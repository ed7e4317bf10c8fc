/* The single entry: a case in, an answer out. Pure and deterministic: same input, same bytes. */
#ifndef HF_EVALUATE_H
#define HF_EVALUATE_H

#include "answer.h"
#include "arena.h"
#include "case.h"

#define HF_CORE_VERSION "0.1.0"
#define HF_PARAMETERS_VERSION "2026.11"

/* True: *out is complete. False: the input was refused and out->problems says why (every reason at once).
 * All memory from `arena`; strings of the input are borrowed, so the input must live as long as the answer.
 */
bool hf_evaluate(const hf_case *in, hf_arena *arena, hf_answer *out);

#endif
