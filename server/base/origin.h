/* Web origins (RFC 6454): where a page in a browser comes from. */
#ifndef HFD_ORIGIN_H
#define HFD_ORIGIN_H

#include <stdbool.h>

/* Is `list` empty or made of origins as browsers send them ("https://chart.example:8443", lower case), parted
 * by spaces? Neither "*" nor "null" is one. */
bool hfd_origins_valid(const char *list);
bool hfd_origins_have(const char *list, const char *origin);

#endif
