/* The answer as tables over hf_answer and its parts. */
#ifndef HFD_ANSWER_TABLE_H
#define HFD_ANSWER_TABLE_H

#include "../../core/answer.h"
#include "field.h"

/* What is written: the core's answer and what it was made with. */
struct hfd_answer_view {
    const char *core, *parameters; /* versions */
    const char *digest;            /* of the canonical input */
    hf_answer answer;
};

/* Over struct hfd_answer_view; the parts flagged HFD_FIELD_WHOLE are the mechanics. */
extern const struct hfd_table hfd_answer_table;
/* Parts that other answers have too, over hf_range, hf_finding, hf_source. */
extern const struct hfd_table hfd_range_table, hfd_finding_table, hfd_source_table;

#endif
