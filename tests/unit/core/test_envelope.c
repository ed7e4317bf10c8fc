#include "../../../core/envelope.h"

#include <criterion/criterion.h>

static hf_arena arena;

static void open_arena(void) {
    hf_arena_init(&arena, 1 << 14, 0);
}
static void close_arena(void) {
    hf_arena_fini(&arena);
}
TestSuite(envelope, .init = open_arena, .fini = close_arena);

/* Widest distance of two neighbours in the order found. */
static size_t bandwidth(const hf_graph *g) {
    bool *none = HF_NEW_ARRAY(&arena, bool, g->count);
    size_t *order = HF_NEW_ARRAY(&arena, size_t, g->count), *row = HF_NEW_ARRAY(&arena, size_t, g->count);
    cr_assert_eq(hf_graph_order(g, none, order, &arena), g->count);
    for (size_t r = 0; r < g->count; r++)
        row[order[r]] = r;
    size_t widest = 0;
    for (size_t v = 0; v < g->count; v++)
        for (size_t n = g->start[v]; n < g->start[v + 1]; n++) {
            size_t a = row[v], b = row[g->neighbour[n]];
            cr_expect_neq(a, b);
            if (a > b && a - b > widest) widest = a - b;
        }
    return widest;
}

/* A chain numbered by steps of 7 modulo 30 lies in a line again: bandwidth 1, the least there is. */
Test(envelope, order_of_a_shuffled_chain) {
    size_t pairs[58];
    for (size_t i = 0; i < 29; i++) {
        pairs[2 * i] = i * 7 % 30;
        pairs[2 * i + 1] = (i + 1) * 7 % 30;
    }
    hf_graph g = hf_graph_of(30, pairs, 29, &arena);
    cr_expect_eq(bandwidth(&g), 1);
}

/* A 3 x 8 grid can be laid out with bandwidth 3 (its shorter side; Chvátalová 1975) and no less. */
Test(envelope, order_of_a_grid) {
    size_t pairs[2 * 37], n = 0;
    for (size_t i = 0; i < 8; i++)
        for (size_t j = 0; j < 3; j++) {
            if (i < 7) pairs[n++] = j * 8 + i, pairs[n++] = j * 8 + i + 1;
            if (j < 2) pairs[n++] = j * 8 + i, pairs[n++] = (j + 1) * 8 + i;
        }
    hf_graph g = hf_graph_of(24, pairs, n / 2, &arena);
    size_t width = bandwidth(&g);
    cr_expect(width == 3 || width == 4, "bandwidth %zu", width);
}

Test(envelope, order_leaves_out_and_covers_the_rest) {
    const size_t pairs[] = {0, 1, 1, 2, 3, 4, 4, 4, 3, 4};
    hf_graph g = hf_graph_of(6, pairs, 5, &arena);
    size_t order[6], times[6] = {0};
    const bool left_out[6] = {false, true, false, false, false, false};
    cr_assert_eq(hf_graph_order(&g, left_out, order, &arena), 5);
    for (size_t i = 0; i < 5; i++)
        times[order[i]]++;
    for (size_t v = 0; v < 6; v++)
        cr_expect_eq(times[v], v == 1 ? 0 : 1, "vertex %zu", v);
}

Test(envelope, spread_stays_in_the_component) {
    const size_t pairs[] = {0, 1, 1, 2, 3, 4};
    hf_graph g = hf_graph_of(5, pairs, 3, &arena);
    bool reached[5] = {false, false, true, false, false};
    hf_graph_spread(&g, reached, &arena);
    cr_expect(reached[0] && reached[1] && reached[2] && !reached[3] && !reached[4]);
}

/* A = G'G + I with G of small whole numbers in the pattern, x of whole numbers, b = A x: the solve must give
 * x back. */
Test(envelope, solves_what_it_was_made_from) {
    enum { N = 5 };
    size_t first[N] = {0, 0, 1, 0, 2};
    double a[6 * N][6 * N] = {0}, x[N][6], b[N][6] = {0};
    for (size_t c = 0; c < N; c++)
        for (size_t r = first[c]; r < c; r++)
            for (size_t i = 0; i < 6; i++)
                for (size_t j = 0; j < 6; j++)
                    a[6 * r + i][6 * c + j] = a[6 * c + j][6 * r + i] =
                        (double)((3 * i + 5 * j + 7 * r + 11 * c) % 9) - 4.0;
    for (size_t i = 0; i < 6 * N; i++) {
        double sum = 1.0;
        for (size_t j = 0; j < 6 * N; j++)
            sum += i == j ? 0.0 : fabs(a[i][j]);
        a[i][i] = sum; /* diagonally dominant: positive definite */
        x[i / 6][i % 6] = (double)(i % 7) - 3.0;
    }
    hf_envelope e = hf_envelope_of(N, first, &arena);
    for (size_t c = 0; c < N; c++)
        for (size_t r = first[c]; r <= c; r++)
            for (size_t i = 0; i < 6; i++)
                for (size_t j = 0; j < 6; j++)
                    hf_envelope_block(&e, r, c)->m[i][j] = a[6 * r + i][6 * c + j];
    for (size_t i = 0; i < 6 * N; i++)
        for (size_t j = 0; j < 6 * N; j++)
            b[i / 6][i % 6] += a[i][j] * x[j / 6][j % 6];
    size_t row;
    cr_assert(hf_envelope_factor(&e, &row));
    hf_envelope_solve(&e, b);
    for (size_t i = 0; i < 6 * N; i++)
        cr_expect_float_eq(b[i / 6][i % 6], x[i / 6][i % 6], 1e-12);
}

Test(envelope, refuses_what_is_not_positive_definite) {
    size_t first[2] = {0, 0}, row = 9;
    hf_envelope e = hf_envelope_of(2, first, &arena);
    for (int i = 0; i < 6; i++)
        for (size_t c = 0; c < 2; c++)
            hf_envelope_block(&e, c, c)->m[i][i] = 1e6;
    for (int i = 0; i < 6; i++)
        hf_envelope_block(&e, 0, 1)->m[i][i] =
            i == 4 ? -1e6 : 1.0; /* the two move as one about y, on nothing */
    cr_expect_not(hf_envelope_factor(&e, &row));
    cr_expect_eq(row, 1);
}
