#include "change.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "canonical.h"
#include "parse.h"

/* The member or item of this name; NULL: none. */
static json_t *step(json_t *json, const char *name) {
    return json_is_array(json) ? json_array_get(json, strtoul(name, NULL, 10)) : json_object_get(json, name);
}

static json_t *value_of(const char *text, hf_arena *arena) {
    const char *detail;
    json_t *value = hfd_json_parse(text, strlen(text), arena, &detail);
    return value ? value : json_string(text);
}

static void apply(json_t *json, const struct hfd_change *change, hf_arena *arena) {
    char *name = hf_arena_strdup(arena, change->pointer) + 1;
    for (char *slash; (slash = strchr(name, '/')) != NULL; name = slash + 1) {
        *slash = '\0';
        json = step(json, name);
        assert(json != NULL);
    }
    const size_t place = strtoul(name, NULL, 10);
    if (change->value == NULL)
        json_is_array(json) ? json_array_remove(json, place) : json_object_del(json, name);
    else if (json_is_array(json))
        json_array_set_new(json, place, value_of(change->value, arena));
    else
        json_object_set_new(json, name, value_of(change->value, arena));
}

const char *hfd_document_change(
    const char *text, const struct hfd_change *changes, size_t count, hf_arena *arena) {
    const char *detail;
    json_t *json = hfd_json_parse(text, strlen(text), arena, &detail);
    assert(json_is_object(json));
    for (size_t i = 0; i < count; i++)
        apply(json, &changes[i], arena);
    struct hfd_buf out;
    hfd_buf_init(&out, arena, strlen(text) + 256);
    hfd_canonical_write(&out, json);
    return out.text;
}
