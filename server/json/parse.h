/* Text to a JSON value, strictly (RFC 8259): UTF-8, no duplicate member, no \u0000, nothing behind the end,
 * nesting at most HFD_JSON_DEPTH. Numbers are the nearest doubles, whole ones of up to 18 digits integers. */
#ifndef HFD_PARSE_H
#define HFD_PARSE_H

#include <jansson.h>
#include <stddef.h>

#include "../../core/arena.h"

#define HFD_JSON_DEPTH 32

/* NULL: not well-formed; *detail (in the arena) says what and where. The value lives in the arena, as does
 * all that jansson makes on this thread until it parses with another: nothing needs json_decref. */
json_t *hfd_json_parse(const char *text, size_t length, hf_arena *arena, const char **detail);

#endif
