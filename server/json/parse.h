/* Text to a JSON value, strictly: no duplicate member, nothing behind the end, nesting at most
 * HFD_JSON_DEPTH. */
#ifndef HFD_PARSE_H
#define HFD_PARSE_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "../../core/arena.h"

#define HFD_JSON_DEPTH 32

/* NULL: not well-formed; *detail (in the arena) says what and where. Free with json_decref. */
json_t *hfd_json_parse(const char *text, size_t length, hf_arena *arena, const char **detail);

/* Parses, calls `use`, frees: also when the arena runs out inside `use` and its handler never comes back.
 * False: not well-formed, nothing called. */
typedef void hfd_json_use(json_t *json, void *ctx);
bool hfd_json_with(
    const char *text, size_t length, hf_arena *arena, hfd_json_use *use, void *ctx, const char **detail);

#endif
