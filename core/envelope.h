/* Symmetric positive definite systems of 6x6 blocks, stored by columns from the first block that is not zero
 * down to the diagonal (skyline), and factored in place as U'U. An order of the blocks that keeps the columns
 * short. */
#ifndef HF_ENVELOPE_H
#define HF_ENVELOPE_H

#include "arena.h"
#include "spatial.h"

/* Undirected graph; the neighbours of v are neighbour[start[v]] … neighbour[start[v + 1] - 1]. */
typedef struct hf_graph {
    size_t count;
    size_t *start, *neighbour;
} hf_graph;

/* `pairs`: 2 * pair_count vertices. A pair of a vertex with itself is no edge; a repeated pair does no harm.
 */
hf_graph hf_graph_of(size_t count, const size_t *pairs, size_t pair_count, hf_arena *arena);
/* Spreads `reached` from the vertices already marked along the edges. */
void hf_graph_spread(const hf_graph *graph, bool *reached, hf_arena *arena);
/* Reverse Cuthill-McKee over the vertices that are not `left_out`; ties go to the lower index. Fills order
 * (row -> vertex) and returns the number of rows. */
size_t hf_graph_order(const hf_graph *graph, const bool *left_out, size_t *order, hf_arena *arena);

typedef struct hf_envelope {
    size_t count;
    size_t *first; /* first row of each column */
    size_t *start; /* its place in `block` */
    hf_mat6 *block;
} hf_envelope;

/* All blocks zero; `first` (column -> first row) is kept. */
hf_envelope hf_envelope_of(size_t count, size_t *first, hf_arena *arena);
/* All blocks zero again. */
void hf_envelope_clear(hf_envelope *e);
/* row <= column, row >= first[column]; the diagonal blocks are whole, not triangles. */
hf_mat6 *hf_envelope_block(const hf_envelope *e, size_t row, size_t column);
/* False: not positive definite to working precision; *row is where it showed. */
bool hf_envelope_factor(hf_envelope *e, size_t *row);
/* After hf_envelope_factor. x: right-hand side in, solution out. */
void hf_envelope_solve(const hf_envelope *e, double (*x)[6]);

#endif
