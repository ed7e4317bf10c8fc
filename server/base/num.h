/* Numbers as text, the same everywhere: JSON, CSV, drawings. The form is that of RFC 8785 (canonical JSON),
 * which is ECMAScript's: 0.1, 42, 0.000001, 1e-7, 1e+21; never -0, never a trailing ".0". Independent of the
 * locale. */
#ifndef HFD_NUM_H
#define HFD_NUM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define HFD_NUM_MAX 40

/* The fewest digits that read back as the same double. Returns the length; "null" when not finite. */
size_t hfd_num_print(char out[HFD_NUM_MAX], double value);

/* At most 12 significant digits: what every computed output gets, so that last-bit differences between
 * processors do not show. */
size_t hfd_num_print12(char out[HFD_NUM_MAX], double value);

/* The double nearest to digits x 10^exponent where one rounded operation finds it (W. D. Clinger, "How to
 * read floating point numbers accurately", 1990): up to 2^53, and powers up to 22. False: strtod() has to. */
bool hfd_num_nearest(uint64_t digits, int64_t exponent, double *value);

#endif
