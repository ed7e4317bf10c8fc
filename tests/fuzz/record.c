/* Any body for any resource, which the first byte chooses: refused with its faults, or a row that is written,
 * and that a patch without members then leaves as it is. */
#include "../../server/json/record.h"
#include "../../server/rest/resource.h"
#include "text.h"

static const struct hfd_resource *resource_of(uint8_t choice) {
    size_t count = 0, seen = 0;
    for (size_t i = 0; hfd_resources[i]; i++)
        count += hfd_resources[i]->column_count > 0;
    for (size_t i = 0; hfd_resources[i]; i++) {
        if (hfd_resources[i]->column_count > 0 && seen++ == choice % count) return hfd_resources[i];
    }
    abort();
}

static void create(const struct hfd_resource *r, const char *body, hf_arena *arena) {
    const char **cells = HF_NEW_ARRAY(arena, const char *, r->column_count);
    struct hfd_errors errors;
    hfd_errors_init(&errors, arena);
    const char *detail = NULL;
    bool changed = false;
    enum hfd_problem_kind kind = hfd_record_merge(
        r->columns, r->column_count, NULL, body, strlen(body), arena, cells, &changed, &errors, &detail);
    if (kind == HFD_MALFORMED_JSON) FUZZ_HOLDS(detail);
    if (kind == HFD_VALIDATION) FUZZ_HOLDS(errors.count > 0);
    if (kind != HFD_OK) return;
    struct hfd_buf out;
    hfd_buf_init(&out, arena, 256);
    hfd_record_write(&out, r->columns, r->column_count, cells);
    kind = hfd_record_merge(
        r->columns, r->column_count, out.text, "{}", 2, arena, cells, &changed, &errors, &detail);
    FUZZ_HOLDS(kind == HFD_OK && !changed);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (size == 0) return 0;
    char *text = fuzz_text(data + 1, size - 1);
    hf_arena arena;
    hf_arena_init(&arena, 1 << 14, 0);
    create(resource_of(data[0]), text, &arena);
    hf_arena_fini(&arena);
    free(text);
    return 0;
}
