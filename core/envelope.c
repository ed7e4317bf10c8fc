#include "envelope.h"

#include <string.h>

/* A pivot this much smaller than the stiffness it was left of is rounding, not support. */
static const double LEAST_PIVOT = 1e-13;

hf_graph hf_graph_of(size_t count, const size_t *pairs, size_t pair_count, hf_arena *arena) {
    hf_graph g = {.count = count,
        .start = HF_NEW_ARRAY(arena, size_t, count + 2),
        .neighbour = HF_NEW_ARRAY(arena, size_t, 2 * pair_count)};
    /* Counted two places up, so that filling moves every start to where it belongs. */
    for (size_t p = 0; p < 2 * pair_count; p++)
        if (pairs[p] != pairs[p ^ 1]) g.start[pairs[p] + 2]++;
    for (size_t v = 2; v < count + 2; v++)
        g.start[v] += g.start[v - 1];
    for (size_t p = 0; p < 2 * pair_count; p++)
        if (pairs[p] != pairs[p ^ 1]) g.neighbour[g.start[pairs[p] + 1]++] = pairs[p ^ 1];
    return g;
}

static size_t degree(const hf_graph *g, size_t v) {
    return g->start[v + 1] - g->start[v];
}

void hf_graph_spread(const hf_graph *graph, bool *reached, hf_arena *arena) {
    size_t *queue = HF_NEW_ARRAY(arena, size_t, graph->count);
    size_t tail = 0;
    for (size_t v = 0; v < graph->count; v++)
        if (reached[v]) queue[tail++] = v;
    for (size_t head = 0; head < tail; head++)
        for (size_t n = graph->start[queue[head]]; n < graph->start[queue[head] + 1]; n++) {
            size_t v = graph->neighbour[n];
            if (reached[v]) continue;
            reached[v] = true;
            queue[tail++] = v;
        }
}

/* Breadth first from `from`, of the neighbours of one vertex the one with fewest edges first. Returns how
 * many. */
static size_t walk(const hf_graph *g, size_t from, bool *seen, size_t *out) {
    size_t tail = 0;
    out[tail++] = from;
    seen[from] = true;
    for (size_t head = 0; head < tail; head++) {
        size_t level = tail;
        for (size_t n = g->start[out[head]]; n < g->start[out[head] + 1]; n++) {
            size_t v = g->neighbour[n], at = tail;
            if (seen[v]) continue;
            seen[v] = true;
            for (; at > level; at--) {
                size_t before = out[at - 1];
                if (degree(g, before) < degree(g, v) || (degree(g, before) == degree(g, v) && before < v))
                    break;
                out[at] = before;
            }
            out[at] = v;
            tail++;
        }
    }
    return tail;
}

size_t hf_graph_order(const hf_graph *graph, const bool *left_out, size_t *order, hf_arena *arena) {
    bool *seen = HF_NEW_ARRAY(arena, bool, graph->count);
    size_t rows = 0;
    for (size_t v = 0; v < graph->count; v++)
        seen[v] = left_out[v];
    for (size_t v = 0; v < graph->count; v++) {
        if (seen[v]) continue;
        /* The last vertex of a first walk lies at one end of its component: start there. */
        size_t n = walk(graph, v, seen, order + rows);
        size_t end = order[rows + n - 1];
        for (size_t i = rows; i < rows + n; i++)
            seen[order[i]] = false;
        rows += walk(graph, end, seen, order + rows);
    }
    for (size_t i = 0; i < rows / 2; i++) {
        size_t swapped = order[i];
        order[i] = order[rows - 1 - i];
        order[rows - 1 - i] = swapped;
    }
    return rows;
}

hf_envelope hf_envelope_of(size_t count, size_t *first, hf_arena *arena) {
    hf_envelope e = {.count = count, .first = first, .start = HF_NEW_ARRAY(arena, size_t, count)};
    size_t blocks = 0;
    for (size_t c = 0; c < count; c++) {
        e.start[c] = blocks;
        blocks += c - first[c] + 1;
    }
    e.block = HF_NEW_ARRAY(arena, hf_mat6, blocks);
    return e;
}

void hf_envelope_clear(hf_envelope *e) {
    if (e->count == 0) return;
    size_t last = e->count - 1;
    memset(e->block, 0, (e->start[last] + last - e->first[last] + 1) * sizeof *e->block);
}

hf_mat6 *hf_envelope_block(const hf_envelope *e, size_t row, size_t column) {
    return &e->block[e->start[column] + row - e->first[column]];
}

/* c -= a' b. The inner loop runs along rows, so that it can be done several at a time. */
static void subtract_product(hf_mat6 *restrict c, const hf_mat6 *a, const hf_mat6 *b) {
    for (int i = 0; i < 6; i++)
        for (int k = 0; k < 6; k++)
            for (int j = 0; j < 6; j++)
                c->m[i][j] -= a->m[k][i] * b->m[k][j];
}

/* b = u^-T b, with the reciprocals of the diagonal on the diagonal of u. */
static void substitute_block(const hf_mat6 *u, hf_mat6 *b) {
    for (int i = 0; i < 6; i++) {
        for (int k = 0; k < i; k++)
            for (int j = 0; j < 6; j++)
                b->m[i][j] -= u->m[k][i] * b->m[k][j];
        for (int j = 0; j < 6; j++)
            b->m[i][j] *= u->m[i][i];
    }
}

/* Upper factor in place; `whole` is the diagonal before anything was taken from it. */
static bool factor_block(hf_mat6 *a, const double whole[6]) {
    for (int i = 0; i < 6; i++) {
        if (!(a->m[i][i] > LEAST_PIVOT * whole[i])) return false;
        double reciprocal = 1.0 / sqrt(a->m[i][i]);
        a->m[i][i] = reciprocal;
        for (int j = i + 1; j < 6; j++)
            a->m[i][j] *= reciprocal;
        for (int k = i + 1; k < 6; k++)
            for (int j = k; j < 6; j++)
                a->m[k][j] -= a->m[i][k] * a->m[i][j];
    }
    return true;
}

bool hf_envelope_factor(hf_envelope *e, size_t *row) {
    for (size_t c = 0; c < e->count; c++) {
        hf_mat6 *diagonal = hf_envelope_block(e, c, c);
        double whole[6];
        for (int i = 0; i < 6; i++)
            whole[i] = diagonal->m[i][i];
        for (size_t r = e->first[c]; r < c; r++) {
            hf_mat6 *block = hf_envelope_block(e, r, c);
            size_t from = e->first[r] > e->first[c] ? e->first[r] : e->first[c];
            for (size_t k = from; k < r; k++)
                subtract_product(block, hf_envelope_block(e, k, r), hf_envelope_block(e, k, c));
            substitute_block(hf_envelope_block(e, r, r), block);
            subtract_product(diagonal, block, block);
        }
        *row = c;
        if (!factor_block(diagonal, whole)) return false;
    }
    return true;
}

void hf_envelope_solve(const hf_envelope *e, double (*x)[6]) {
    for (size_t c = 0; c < e->count; c++) {
        for (size_t k = e->first[c]; k < c; k++) {
            const hf_mat6 *u = hf_envelope_block(e, k, c);
            for (int i = 0; i < 6; i++)
                for (int j = 0; j < 6; j++)
                    x[c][j] -= u->m[i][j] * x[k][i];
        }
        const hf_mat6 *u = hf_envelope_block(e, c, c);
        for (int i = 0; i < 6; i++) {
            x[c][i] *= u->m[i][i];
            for (int j = i + 1; j < 6; j++)
                x[c][j] -= u->m[i][j] * x[c][i];
        }
    }
    for (size_t c = e->count; c-- > 0;) {
        const hf_mat6 *u = hf_envelope_block(e, c, c);
        for (int i = 5; i >= 0; i--) {
            for (int j = i + 1; j < 6; j++)
                x[c][i] -= u->m[i][j] * x[c][j];
            x[c][i] *= u->m[i][i];
        }
        for (size_t k = e->first[c]; k < c; k++) {
            const hf_mat6 *above = hf_envelope_block(e, k, c);
            for (int i = 0; i < 6; i++)
                for (int j = 0; j < 6; j++)
                    x[k][i] -= above->m[i][j] * x[c][j];
        }
    }
}
