/* Any bytes as JSON: refused with a reason, or read, both as jansson's own reader does; what was read and
 * written in canonical form (RFC 8785) is read again, and its canonical form is itself. */
#include <stdbool.h>

#include "../../server/json/canonical.h"
#include "../../server/json/parse.h"
#include "text.h"

static bool same(const struct hfd_buf *one, const struct hfd_buf *other) {
    return one->length == other->length && memcmp(one->text, other->text, one->length) == 0;
}

static bool write_again(const char *text, size_t length, hf_arena *arena, struct hfd_buf *out) {
    const char *detail;
    json_t *json = hfd_json_parse(text, length, arena, &detail);
    if (json) hfd_canonical_write(out, json);
    FUZZ_HOLDS(!json == (detail != NULL));
    return json != NULL;
}

/* Where jansson has no whole numbers for it any more, it is asked to take all as reals; it takes deeper ones.
 */
static json_t *read_by_jansson(const char *text, size_t length, json_error_t *error) {
    const size_t strict = JSON_REJECT_DUPLICATES | JSON_DECODE_ANY;
    json_t *json = json_loadb(text, length, strict, error);
    return json || json_error_code(error) != json_error_numeric_overflow
               ? json
               : json_loadb(text, length, strict | JSON_DECODE_INT_AS_REAL, error);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = fuzz_text(data, size);
    hf_arena arena;
    hf_arena_init(&arena, 1 << 12, 0);
    struct hfd_buf once, twice, theirs;
    hfd_buf_init(&once, &arena, 256);
    hfd_buf_init(&twice, &arena, 256);
    hfd_buf_init(&theirs, &arena, 256);
    const char *detail;
    const bool well_formed = write_again(text, size, &arena, &once);
    if (well_formed) FUZZ_HOLDS(write_again(once.text, once.length, &arena, &twice) && same(&once, &twice));
    const bool too_deep =
        !well_formed && !hfd_json_parse(text, size, &arena, &detail) && strstr(detail, "nested deeper");
    json_error_t error;
    json_t *json = read_by_jansson(text, size, &error);
    /* RFC 8259 has no place for a NUL; jansson 2.14 overlooks one behind a number. */
    const bool nul = memchr(text, '\0', size) != NULL;
    FUZZ_HOLDS(nul ? !well_formed : well_formed == (json != NULL) || too_deep);
    if (well_formed) {
        hfd_canonical_write(&theirs, json);
        FUZZ_HOLDS(same(&once, &theirs));
    }
    hf_arena_fini(&arena);
    free(text);
    return 0;
}
