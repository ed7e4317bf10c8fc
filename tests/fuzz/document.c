/* Any bytes at the door of the mechanics document: refused or evaluated, never anything else. */
#include "../../server/json/document.h"
#include "text.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = fuzz_text(data, size);
    hf_arena arena;
    hf_arena_init(&arena, 1 << 16, 0);
    struct hfd_evaluation evaluation;
    hfd_document_evaluate(text, size, true, HFD_ANSWER_WHOLE, &arena, &evaluation);
    FUZZ_HOLDS(evaluation.kind == HFD_OK ? evaluation.body_len > 0
                                         : evaluation.detail || evaluation.errors.count > 0);
    hf_arena_fini(&arena);
    free(text);
    return 0;
}
