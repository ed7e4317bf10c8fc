/* Any bytes as JSON: refused with a reason, or read; what was read and written in canonical form (RFC 8785)
 * is read again, and its canonical form is itself. */
#include <stdbool.h>

#include "../../server/json/canonical.h"
#include "../../server/json/parse.h"
#include "text.h"

static bool write_again(
    const char *text, size_t length, hf_arena *arena, struct hfd_buf *out, const char **detail) {
    json_t *json = hfd_json_parse(text, length, arena, detail);
    if (json) hfd_canonical_write(out, json);
    return json != NULL;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = fuzz_text(data, size);
    hf_arena arena;
    hf_arena_init(&arena, 1 << 12, 0);
    struct hfd_buf once, twice;
    hfd_buf_init(&once, &arena, 256);
    hfd_buf_init(&twice, &arena, 256);
    const char *detail = NULL;
    if (!write_again(text, size, &arena, &once, &detail)) {
        FUZZ_HOLDS(detail);
    } else {
        /* RFC 8785 writes 1e20 as an integer, and integers beyond 64 bits are refused. */
        bool again = write_again(once.text, once.length, &arena, &twice, &detail);
        FUZZ_HOLDS(again || strstr(detail, "too big"));
        FUZZ_HOLDS(
            !again || (once.length == twice.length && memcmp(once.text, twice.text, once.length) == 0));
    }
    hf_arena_fini(&arena);
    free(text);
    return 0;
}
