/* One text for one meaning, whatever the order of members, white space or spelling of numbers: RFC 8785. */
#ifndef HFD_CANONICAL_H
#define HFD_CANONICAL_H

#include <jansson.h>

#include "../base/buf.h"

/* Names are ordered by bytes, which is RFC 8785's order for all names below U+E000. */
void hfd_canonical_write(struct hfd_buf *buf, json_t *json);

/* "sha256:" and 64 hexadecimal digits, of the canonical text. */
const char *hfd_canonical_digest(json_t *json, hf_arena *arena);

#endif
