/* Any bytes at the door of the mechanics document: refused or evaluated, never anything else. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "../../server/json/document.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    /* A copy in a block of its own, so that reading past the text is seen. */
    char *text = malloc(size + 1);
    if (!text) return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    hf_arena arena;
    hf_arena_init(&arena, 1 << 16, 0);
    struct hfd_evaluation evaluation;
    hfd_document_evaluate(text, size, true, HFD_ANSWER_WHOLE, &arena, &evaluation);
    if (evaluation.kind == HFD_OK ? evaluation.body_len == 0 : !evaluation.detail && !evaluation.errors.count)
        abort();
    hf_arena_fini(&arena);
    free(text);
    return 0;
}
