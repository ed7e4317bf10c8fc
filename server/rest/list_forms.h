/* The rows of a list as text: JSON, or a table for spreadsheets and pipes. */
#ifndef HFD_LIST_FORMS_H
#define HFD_LIST_FORMS_H

#include "resource.h"

struct hfd_list_form {
    const char *media_type, *content_type;
    const char *ending; /* of a file's name */
    bool has_header;
    void (*row)(
        struct hfd_buf *out, const struct hfd_resource *resource, const char *const *cells, char separator);
};

/* NULL: JSON, of which a page is one value. */
const struct hfd_list_form *hfd_list_form(const struct hfd_op *op);
/* The columns' names; their units are part of them. */
void hfd_list_header(struct hfd_buf *out, const struct hfd_resource *resource, char separator);

#endif
