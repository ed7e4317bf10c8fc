/* The input of a fuzzer as a text in a block of its own, so that reading past its end is seen. */
#ifndef FUZZ_TEXT_H
#define FUZZ_TEXT_H

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static inline char *fuzz_text(const uint8_t *data, size_t size) {
    char *text = malloc(size + 1);
    if (!text) abort();
    if (size > 0) memcpy(text, data, size);
    text[size] = '\0';
    return text;
}

/* What must hold whatever came in. */
#define FUZZ_HOLDS(condition)                                                                                \
    do {                                                                                                     \
        if (!(condition)) abort();                                                                           \
    } while (0)

#endif
