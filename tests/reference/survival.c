/* Reads what survival.R printed and tells the same by the core; see there for the lines. Last line: `N
 * passed, N failed`. */
#include "../../core/survival.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { most_rows = 1000 };

static const double exact = 1e-9, by_quadrature = 1e-7; /* of each number */

struct tally {
    int passed, failed;
};

static void mark(struct tally *tally, const char *what, double got, double want, double limit) {
    bool same = isnan(want) ? isnan(got) : fabs(got - want) <= limit * fmax(fabs(want), 1.0);
    tally->passed += same;
    tally->failed += !same;
    if (!same) printf("  %s: %.15g instead of %.15g\n", what, got, want);
}

static void must(bool right) {
    if (right) return;
    fprintf(stderr, "survival.R printed something else\n");
    exit(2);
}

static void compare_set(struct tally *tally, hf_arena *arena) {
    static hf_followed rows[most_rows];
    char name[40], what[80];
    size_t row_count, step_count;
    double low, mid, high, worst = 0.0;
    must(scanf("%39s %zu %zu %lf %lf %lf", name, &row_count, &step_count, &mid, &low, &high) == 6);
    must(row_count <= most_rows);
    for (size_t i = 0; i < row_count; i++) {
        int lost;
        must(scanf(" row %d %d", &rows[i].days, &lost) == 2);
        rows[i].lost = lost;
        rows[i].kept = !lost;
    }
    hf_survival got = hf_survival_estimate(rows, row_count, arena);
    must(got.step_count == step_count);
    for (size_t i = 0; i < step_count; i++) {
        const hf_survival_step *step = &got.steps[i];
        double want[7], told[7] = {step->days, step->at_risk, step->lost, step->survival,
                            step->standard_error, step->low, step->high};
        must(scanf(" step %lf %lf %lf %lf %lf %lf %lf", &want[0], &want[1], &want[2], &want[3], &want[4],
                 &want[5], &want[6]) == 7);
        for (int k = 0; k < 7; k++) {
            snprintf(what, sizeof what, "%s, day %d, figure %d", name, step->days, k);
            mark(tally, what, told[k], want[k], exact);
            if (!isnan(want[k])) worst = fmax(worst, fabs(told[k] - want[k]));
        }
    }
    mark(tally, name, got.median_days.mid, mid, exact);
    mark(tally, name, got.median_days.low, low, exact);
    mark(tally, name, got.median_days.high, high, exact);
    printf("%-18s %4zu rows %4zu steps, largest difference %.1e\n", name, row_count, step_count, worst);
}

/* A prior so wide that the data stand alone. */
static void compare_beta(struct tally *tally) {
    double lost, screws, low, mid, high;
    must(scanf("%lf %lf %lf %lf %lf", &lost, &screws, &low, &mid, &high) == 5);
    hf_range got = hf_survival_pool((hf_range){0.05, 0.05, 0.05}, 1e5, (hf_own_losses){screws, lost}).result;
    mark(tally, "beta, low", got.low, low, by_quadrature);
    mark(tally, "beta, middle", got.mid, mid, by_quadrature);
    mark(tally, "beta, high", got.high, high, by_quadrature);
    printf("beta %6.0f of %6.0f, largest difference %.1e\n", lost, screws,
        fmax(fabs(got.low - low), fmax(fabs(got.mid - mid), fabs(got.high - high))));
}

int main(void) {
    struct tally tally = {0, 0};
    char kind[8];
    hf_arena arena;
    hf_arena_init(&arena, 1 << 16, 0);
    while (scanf("%7s", kind) == 1) {
        if (strcmp(kind, "set") == 0)
            compare_set(&tally, &arena);
        else
            compare_beta(&tally);
        hf_arena_reset(&arena);
    }
    hf_arena_fini(&arena);
    printf("%d passed, %d failed\n", tally.passed, tally.failed);
    return tally.failed == 0 && tally.passed > 1000 ? 0 : 1;
}
