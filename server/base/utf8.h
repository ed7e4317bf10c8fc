/* Text from outside is UTF-8 or it is refused. */
#ifndef HFD_UTF8_H
#define HFD_UTF8_H

#include <stdbool.h>
#include <stddef.h>

/* Bytes of the character that begins at `text` (1 to 4), 0 when it is not valid UTF-8 (RFC 3629: no overlong
 * form, no surrogate, nothing above U+10FFFF). Reads no further than `size`. */
size_t hfd_utf8_character(const char *text, size_t size);
bool hfd_utf8_valid(const char *text, size_t size);

#endif
