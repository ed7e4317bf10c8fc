/* evaluate FILE: microseconds of one evaluation of a mechanics document, decoded once, and of one that also
 * tells ranges by 2000 draws; one core, arena reused. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../server/json/document.h"
#include "clock.h"

static char *read_file(const char *path, size_t *length) {
    FILE *f = fopen(path, "rb");
    if (!f) return NULL;
    char *text = malloc(1 << 20);
    *length = text ? fread(text, 1, 1 << 20, f) : 0;
    fclose(f);
    return text;
}

/* Best of several runs: what the code costs, not what else the machine did. */
static double best_microseconds(const hf_case *in, int at_once, hf_arena *arena) {
    double best = 1e9;
    for (int round = 0; round < 7; round++) {
        int count = 0;
        double start = bench_cpu_seconds(), spent = 0.0;
        while (spent < 0.2) {
            for (int i = 0; i < at_once; i++, count++) {
                hf_answer answer;
                hf_arena_reset(arena);
                if (!hf_evaluate(in, arena, &answer)) return -1.0;
            }
            spent = bench_cpu_seconds() - start;
        }
        if (1e6 * spent / count < best) best = 1e6 * spent / count;
    }
    return best;
}

int main(int argc, char **argv) {
    size_t length = 0;
    char *text = argc == 2 ? read_file(argv[1], &length) : NULL;
    if (!text) {
        fprintf(stderr, "usage: evaluate FILE\n");
        return 2;
    }
    hf_arena input, work;
    hf_arena_init(&input, 1 << 16, 0);
    hf_arena_init(&work, 1 << 18, 0);
    struct hfd_errors errors;
    hfd_errors_init(&errors, &input);
    hf_case in;
    const char *digest;
    if (!hfd_document_decode(text, length, &input, &errors, &in, &digest)) {
        fprintf(stderr, "%s: %s\n", errors.first->pointer ? errors.first->pointer : "", errors.first->detail);
        return 2;
    }
    double us = best_microseconds(&in, 100, &work);
    in.uncertainty.samples = 2000;
    double drawn_us = best_microseconds(&in, 1, &work);
    hf_arena_fini(&work);
    hf_arena_fini(&input);
    free(text);
    if (us < 0.0) {
        fprintf(stderr, "the document is refused\n");
        return 2;
    }
    printf("%.3f %.3f\n", us, drawn_us);
    return 0;
}
