/* C struct to JSON text by a table of fields, in the table's order. What is left out in C (NAN, NULL,
 * HF_ABSENT) is left out in JSON, and so is an object with nothing to say. */
#ifndef HFD_ENCODE_H
#define HFD_ENCODE_H

#include <stdbool.h>

#include "../base/buf.h"
#include "field.h"

struct hfd_encoding {
    unsigned without; /* fields with any of these flags are left out */
    bool as_given;    /* numbers exactly; otherwise to 12 significant digits and 1e-12 */
};

void hfd_encode_object(
    struct hfd_buf *buf, const struct hfd_table *table, const void *item, const struct hfd_encoding *how);

#endif
