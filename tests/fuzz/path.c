/* Any request target: refused, or split into segments and parameters that hold nothing a path could be led
 * astray with. */
#include "../../server/http/path.h"
#include "../../server/base/utf8.h"
#include "text.h"

static void check_text(const char *text) {
    FUZZ_HOLDS(hfd_utf8_valid(text, strlen(text)));
    for (; *text; text++)
        FUZZ_HOLDS((unsigned char)*text >= 0x20 && *text != 0x7f);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = fuzz_text(data, size);
    hf_arena arena;
    hf_arena_init(&arena, 1 << 12, 0);
    struct hfd_request request = {.arena = &arena, .target = text};
    const char *detail = NULL;
    if (hfd_path_parse(&request, &detail) == HFD_OK) {
        FUZZ_HOLDS(request.segment_count <= HFD_SEGMENTS_MAX && request.query_count <= HFD_PAIRS_MAX);
        for (size_t i = 0; i < request.segment_count; i++) {
            check_text(request.segments[i]);
            FUZZ_HOLDS(!strchr(request.segments[i], '/'));
            FUZZ_HOLDS(strcmp(request.segments[i], "..") != 0 && strcmp(request.segments[i], ".") != 0);
        }
        for (size_t i = 0; i < request.query_count; i++) {
            check_text(request.query[i].name);
            check_text(request.query[i].value);
        }
    }
    FUZZ_HOLDS(hfd_path_length(text) <= strlen(text));
    hf_arena_fini(&arena);
    free(text);
    return 0;
}
