/* A JSON schema of the public description in words and tables. */
#ifndef HFD_MEMBERS_H
#define HFD_MEMBERS_H

#include "../base/yaml.h"
#include "html.h"

/* In line: "number, 0.8 to 3, or Quantity_length". */
void hfd_put_kind(struct hfd_buf *out, const struct hfd_yaml *schema);
/* A table of all members that stand in it by themselves, nested ones by their way: "screws[].name". Writes
 * nothing where there are none. */
void hfd_put_members(struct hfd_buf *out, const struct hfd_yaml *schema, const char *caption);
/* Text with `code` in it. */
void hfd_put_prose(struct hfd_buf *out, const char *text);

#endif
