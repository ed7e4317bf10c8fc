/* SHA-256. */
#ifndef HFD_DIGEST_H
#define HFD_DIGEST_H

#include <stddef.h>

#define HFD_DIGEST_HEX 65 /* 64 hexadecimal digits and the NUL */

void hfd_digest_hex(const void *bytes, size_t count, char out[HFD_DIGEST_HEX]);

#endif
