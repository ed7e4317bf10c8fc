/* How much room a text takes. Nobody knows the reader's font: widths are those of a wide sans-serif, so that
 * what fits here fits there. */
#ifndef HFD_TEXT_H
#define HFD_TEXT_H

#include "../../core/arena.h"

double hfd_text_width(const char *text, double size);
/* The text, or as much of it as fits `width`, with an ellipsis. Say the whole in a <title>. */
const char *hfd_text_fitted(hf_arena *arena, const char *text, double size, double width);
/* Lines of at most so wide, broken at spaces; a word that is wider by itself is fitted, with what follows it.
 */
const char *const *hfd_text_wrapped(
    hf_arena *arena, const char *text, double size, double width, size_t *count);

#endif
