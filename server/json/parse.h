/* Text to a JSON value, strictly: no duplicate member, nothing behind the end, nesting at most
 * HFD_JSON_DEPTH. */
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
