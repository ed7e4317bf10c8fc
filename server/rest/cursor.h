/* The place between two rows of a list, as an opaque text. It holds the last row's sort value and id, and a
 * digest of both and of everything that decides the order and choice of rows, so that it can neither be
 * carried over to another question or clinic nor be altered by accident. It is no secret and gives no right:
 * rows are still chosen inside the caller's clinic. */
#ifndef HFD_CURSOR_H
#define HFD_CURSOR_H

#include <stdbool.h>

#include "../../core/arena.h"

struct hfd_cursor {
    const char *sort_value, *id, *digest;
};

/* `question`: clinic, path, sort key and filters as text. */
const char *hfd_cursor_write(const char *question, const char *sort_value, const char *id, hf_arena *arena);
/* False: not of our form. */
bool hfd_cursor_read(const char *text, hf_arena *arena, struct hfd_cursor *out);
/* False: of another question, or altered. */
bool hfd_cursor_answers(const struct hfd_cursor *cursor, const char *question, hf_arena *arena);

#endif
