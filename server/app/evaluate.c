#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "../base/file.h"
#include "../json/document.h"
#include "app.h"

enum { REFUSED = 2 };

static int refuse(enum hfd_problem_kind kind, const char *detail, const struct hfd_errors *errors) {
    size_t length;
    const char *text = hfd_problem_text(kind, detail, NULL, errors, &length);
    fwrite(text, 1, length, stderr);
    fputc('\n', stderr);
    return REFUSED;
}

static int evaluate(const char *path, size_t most, hf_arena *arena) {
    size_t length;
    struct hfd_errors none;
    hfd_errors_init(&none, arena);
    const char *text = hfd_file_read(path, most, arena, &length);
    if (!text && errno == EFBIG) {
        const char *detail = hf_arena_printf(arena, "A document may have at most %zu bytes.", most);
        return refuse(HFD_PAYLOAD_TOO_LARGE, detail, &none);
    }
    if (!text) {
        fprintf(stderr, "holdfastd: %s cannot be read: %s\n", path, strerror(errno));
        return REFUSED;
    }
    struct hfd_evaluation evaluation;
    hfd_document_evaluate(text, length, true, HFD_ANSWER_WHOLE, arena, &evaluation);
    if (evaluation.kind != HFD_OK) return refuse(evaluation.kind, evaluation.detail, &evaluation.errors);
    if (fwrite(evaluation.body, 1, evaluation.body_len, stdout) != evaluation.body_len ||
        fflush(stdout) != 0) {
        fprintf(stderr, "holdfastd: the answer cannot be written: %s\n", strerror(errno));
        return REFUSED;
    }
    return 0;
}

int hfd_app_evaluate(const char *path) {
    /* The limit of the HTTP door, so that both take the same documents. */
    struct hfd_config standard;
    hfd_config_default(&standard);
    hf_arena arena;
    hf_arena_init(&arena, 65536, 0);
    int code = evaluate(path, (size_t)standard.max_body_bytes, &arena);
    hf_arena_fini(&arena);
    return code;
}
