#include "evidence.h"

#include <math.h>
#include <string.h>

const hf_evidence hf_evidence_table[HF_EV_COUNT] = {
#define HF_EVIDENCE(NAME, key, value, low, high, unit, source, held, what)                                   \
    [HF_EV_##NAME] = {key, value, low, high, unit, source, held, what},
#define HF_CITATION(key, text)
#include "evidence/all.def"
#undef HF_CITATION
#undef HF_EVIDENCE
};

const hf_citation hf_citations[] = {
#define HF_EVIDENCE(NAME, key, value, low, high, unit, source, held, what)
#define HF_CITATION(key, text) {key, text},
#include "evidence/all.def"
#undef HF_CITATION
#undef HF_EVIDENCE
};

const size_t hf_citation_count = sizeof hf_citations / sizeof *hf_citations;

const char *const hf_held_names[HF_HELD_COUNT] = {
    [HF_READ] = "read in the source",
    [HF_FROM_MEMORY] = "value from memory",
    [HF_DERIVED] = "worked out from the source",
    [HF_COMMON_PRACTICE] = "common practice, no source",
    [HF_JUDGEMENT] = "judgement of this project",
};

const hf_evidence *hf_evidence_find(const char *key) {
    for (size_t i = 0; i < HF_EV_COUNT; i++) {
        if (strcmp(hf_evidence_table[i].key, key) == 0) return &hf_evidence_table[i];
    }
    return NULL;
}

const char *hf_citation_find(const char *key) {
    for (size_t i = 0; i < hf_citation_count; i++) {
        if (strcmp(hf_citations[i].key, key) == 0) return hf_citations[i].text;
    }
    return NULL;
}
