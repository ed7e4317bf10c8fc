/* Collects what an evaluation says beside its numbers: findings, assumptions, problems, cited sources.
 * A `pointer` is finished text (hf_arena_printf). Reports never fail; memory comes from the arena. */
#ifndef HF_REPORT_H
#define HF_REPORT_H

#include "answer.h"
#include "arena.h"

struct hf_cited {
    const char *asked, *key, *text; /* `asked`: as the caller named it, the same pointer each time */
    bool from_memory;               /* the number taken from it is a value from memory */
};

typedef struct hf_report {
    hf_arena *arena;
    hf_finding *findings;
    size_t finding_count, finding_room;
    hf_assumption *assumed;
    size_t assumed_count, assumed_room;
    hf_problem *problems;
    size_t problem_count, problem_room;
    struct hf_cited *cited; /* unsorted, may repeat */
    size_t cited_count, cited_room;
} hf_report;

hf_report hf_report_on(hf_arena *arena);
void hf_report_find(hf_report *report, hf_finding finding); /* cites finding.source when it is not NULL */
void hf_report_problem(hf_report *report, const char *pointer, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* `source` is an evidence or citation key (then it is cited too) or plain words. */
void hf_report_assume_real(hf_report *report, const char *pointer, double value, const char *source);
void hf_report_assume_vec3(hf_report *report, const char *pointer, hf_vec3 value, const char *source);
void hf_report_assume_text(hf_report *report, const char *pointer, const char *value, const char *source);
/* Cites what stands behind an evidence or citation key and returns the citation's key, the one that the
 * answer's `sources` is told by. Plain words are returned as they are. NULL stays NULL. `key` stays where and
 * as it is until the report is finished: what is asked for by the same pointer again is looked up once. */
const char *hf_report_cite(hf_report *report, const char *key);
/* Moves everything into the answer: sources looked up in the evidence table, sorted, each once. */
void hf_report_finish(const hf_report *report, hf_answer *out);

#endif
