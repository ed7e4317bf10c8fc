/* Every constant of the models, with where it comes from. The rows stand in evidence/<topic>.def, one X-list
 * per topic; a model reads its constant as HF_EV(NAME). A test walks the table; GET /v1/evidence serves it.
 *
 * Row:  HF_EVIDENCE(NAME, "key", value, low, high, "unit", "source-key", HELD, "what it is, in plain words")
 * Citation, in the same files:  HF_CITATION("source-key", "Authors, journal year;volume:page") */
#ifndef HF_EVIDENCE_H
#define HF_EVIDENCE_H

#include <stddef.h>

/* How a number is held. */
typedef enum hf_held {
    HF_READ,            /* read in the published source */
    HF_FROM_MEMORY,     /* "value from memory": recalled, not verified against the source */
    HF_DERIVED,         /* worked out for this project from the numbers named */
    HF_COMMON_PRACTICE, /* common practice, no source */
    HF_JUDGEMENT,       /* chosen for this project; no source gives it */
    HF_HELD_COUNT
} hf_held;

typedef struct hf_evidence {
    const char *key;
    double value, low, high; /* low <= value <= high; both NAN: a definition or an exact number */
    const char *unit;        /* "mm", "N", "N mm", "MPa", "GPa", "1", "N cm", "day" … */
    const char *source;      /* citation key */
    hf_held held;
    const char *what;
} hf_evidence;

typedef struct hf_citation {
    const char *key, *text;
} hf_citation;

typedef enum hf_ev {
#define HF_EVIDENCE(NAME, key, value, low, high, unit, source, held, what) HF_EV_##NAME,
#define HF_CITATION(key, text)
#include "evidence/all.def"
#undef HF_CITATION
#undef HF_EVIDENCE
    HF_EV_COUNT
} hf_ev;

extern const hf_evidence hf_evidence_table[HF_EV_COUNT];
extern const hf_citation hf_citations[];
extern const size_t hf_citation_count;
extern const char *const hf_held_names[HF_HELD_COUNT];

#define HF_EV(NAME) (hf_evidence_table[HF_EV_##NAME].value)

/* NULL when there is none. */
const hf_evidence *hf_evidence_find(const char *key);
const char *hf_citation_find(const char *key);

#endif
