/* What an evaluation tells, in the words and tables of a sheet. */
#ifndef HFD_TOLD_H
#define HFD_TOLD_H

#include "../../core/answer.h"
#include "html.h"

/* A number with its unit: "1.47 N"; "–" when the model gives none. */
void hfd_told_number(struct hfd_buf *out, hf_arena *arena, double value, int digits, const char *unit);
/* A share with its range: "2.1 % (0.6–7.0)". */
void hfd_told_share(struct hfd_buf *out, hf_arena *arena, hf_range share);
/* Shape and word of a severity. */
void hfd_told_severity(struct hfd_buf *out, hf_severity severity);

void hfd_told_elements(struct hfd_buf *out, const hf_answer *answer, hf_arena *arena);
void hfd_told_groups(struct hfd_buf *out, const hf_answer *answer, hf_arena *arena);
void hfd_told_screws(struct hfd_buf *out, const hf_case *in, const hf_answer *answer, hf_arena *arena);
void hfd_told_risk(struct hfd_buf *out, const hf_answer *answer, hf_arena *arena);
/* Findings, the worst first. */
void hfd_told_findings(struct hfd_buf *out, const hf_finding *findings, size_t count, hf_arena *arena);
/* What to look at today, from the findings; each once. */
void hfd_told_checks(struct hfd_buf *out, const hf_answer *answer);
void hfd_told_basis(struct hfd_buf *out, const hf_answer *answer, const char *digest);

#endif
