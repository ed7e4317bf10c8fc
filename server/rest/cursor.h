/* The place between two rows of a list, as an opaque text. It holds the last row's sort value and id, and a
 * digest of everything that decides the order and choice of rows, so that it cannot be carried over to
 * another question. It is no secret and gives no right: rows are still chosen inside the caller's clinic. */
#ifndef HFD_CURSOR_H
#define HFD_CURSOR_H

#include <stdbool.h>

#include "../../core/arena.h"

/* `question`: sort key and filters as text. */
const char *hfd_cursor_write(const char *question, const char *sort_value, const char *id, hf_arena *arena);
/* False: not ours, or of another question. */
bool hfd_cursor_read(
    const char *cursor, const char *question, hf_arena *arena, const char **sort_value, const char **id);

#endif
