/* Whole small files. */
#ifndef HFD_FILE_H
#define HFD_FILE_H

#include <stddef.h>

#include "../../core/arena.h"

/* The content, NUL-ended behind `*length`; "-" is standard input. NULL when it cannot be read or has more
 * than `most` bytes: errno is then set (EFBIG for the latter). */
char *hfd_file_read(const char *path, size_t most, hf_arena *arena, size_t *length);

#endif
