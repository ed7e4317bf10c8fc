/* FNV-1a, 64 bits: tells texts apart, guards nothing. */
#ifndef HFD_FNV_H
#define HFD_FNV_H

#include <stdint.h>

static inline uint64_t hfd_fnv1a(const char *text) {
    uint64_t h = UINT64_C(0xcbf29ce484222325);
    for (; *text != '\0'; text++)
        h = (h ^ (unsigned char)*text) * UINT64_C(0x100000001b3);
    return h;
}

#endif
