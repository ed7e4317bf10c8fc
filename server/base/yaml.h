/* Reads YAML as this program writes its own description: maps and lists by indentation or in one line, text
 * bare, in JSON's quotes or behind a "|". For that and nothing else: what others write is none of its
 * business, and text that is not of this form fails an assertion. */
#ifndef HFD_YAML_H
#define HFD_YAML_H

#include <stdbool.h>
#include <stddef.h>

#include "../../core/arena.h"

struct hfd_yaml {
    const char *key;        /* of a member of a map */
    const char *text;       /* of a scalar; NULL: map or list */
    const char *source;     /* where a value of one line stands in the text … */
    size_t source_length;   /* … and how far it goes */
    struct hfd_yaml *first; /* members or items */
    const struct hfd_yaml *next;
};

/* Refers to `text`, which has to stay. */
const struct hfd_yaml *hfd_yaml_read(const char *text, hf_arena *arena);

/* A member; NULL when it is not there, or `node` is NULL. */
const struct hfd_yaml *hfd_yaml_at(const struct hfd_yaml *node, const char *key);
/* Its text; NULL when it is not there or has none. */
const char *hfd_yaml_text(const struct hfd_yaml *node, const char *key);
/* Is it there and says this? */
bool hfd_yaml_says(const struct hfd_yaml *node, const char *key, const char *text);

#endif
