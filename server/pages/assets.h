/* Files that pages refer to, part of the program. */
#ifndef HFD_ASSETS_H
#define HFD_ASSETS_H

#include <stddef.h>

struct hfd_asset {
    const char *name; /* "style.css" */
    const char *text; /* NUL-ended */
};

extern const struct hfd_asset hfd_assets[]; /* ended by name NULL; generated from assets/ */

#endif
