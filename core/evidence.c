#include "evidence.h"

#include <limits.h>
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

/* Lengths of the keys (with the final zero): one memchr over these leaves few keys to compare. */
static const unsigned char row_key_bytes[HF_EV_COUNT] = {
#define HF_EVIDENCE(NAME, key, value, low, high, unit, source, held, what) [HF_EV_##NAME] = sizeof(key),
#define HF_CITATION(key, text)
#include "evidence/all.def"
#undef HF_CITATION
#undef HF_EVIDENCE
};

static const unsigned char citation_key_bytes[] = {
#define HF_EVIDENCE(NAME, key, value, low, high, unit, source, held, what)
#define HF_CITATION(key, text) sizeof(key),
#include "evidence/all.def"
#undef HF_CITATION
#undef HF_EVIDENCE
};

const char *const hf_held_names[HF_HELD_COUNT] = {
    [HF_READ] = "read in the source",
    [HF_FROM_MEMORY] = "value from memory",
    [HF_DERIVED] = "worked out from the source",
    [HF_COMMON_PRACTICE] = "common practice, no source",
    [HF_JUDGEMENT] = "judgement of this project",
};

/* Next index from `from` on whose key is as long as `key`; `count` when there is none. */
static size_t next_as_long(const unsigned char *key_bytes, size_t count, size_t from, size_t bytes) {
    const unsigned char *at = bytes <= UCHAR_MAX ? memchr(key_bytes + from, (int)bytes, count - from) : NULL;
    return at ? (size_t)(at - key_bytes) : count;
}

const hf_evidence *hf_evidence_find(const char *key) {
    size_t bytes = strlen(key) + 1, count = HF_EV_COUNT;
    for (size_t i = 0; (i = next_as_long(row_key_bytes, count, i, bytes)) < count; i++) {
        if (memcmp(hf_evidence_table[i].key, key, bytes) == 0) return &hf_evidence_table[i];
    }
    return NULL;
}

const char *hf_citation_find(const char *key) {
    size_t bytes = strlen(key) + 1, count = hf_citation_count;
    for (size_t i = 0; (i = next_as_long(citation_key_bytes, count, i, bytes)) < count; i++) {
        if (memcmp(hf_citations[i].key, key, bytes) == 0) return hf_citations[i].text;
    }
    return NULL;
}
