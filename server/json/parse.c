#include "parse.h"

#include <threads.h>

/* Before parsing, so that depth never costs stack. Brackets inside strings do not count; what is no JSON at
 * all is left to the parser. NULL when shallow enough. */
static const char *depth_error(const char *text, size_t length, hf_arena *arena) {
    int line = 1, column = 0, depth = 0;
    int in_string = 0;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        column++;
        if (c == '\n') line++, column = 0;
        if (in_string) {
            if (c == '\\')
                i++, column++;
            else if (c == '"')
                in_string = 0;
        } else if (c == '"') {
            in_string = 1;
        } else if (c == '{' || c == '[') {
            if (++depth > HFD_JSON_DEPTH)
                return hf_arena_printf(
                    arena, "line %d, column %d: nested deeper than %d levels", line, column, HFD_JSON_DEPTH);
        } else if (c == '}' || c == ']') {
            depth--;
        }
    }
    return NULL;
}

/* Where jansson's memory comes from on this thread. It dies with the arena: nothing is freed singly, also
 * when the arena runs out in the middle. */
static _Thread_local hf_arena *memory;

static void *take(size_t size) {
    return hf_arena_room(memory, size);
}

static void keep(void *block) {
    (void)block;
}

static void use_arenas(void) {
    json_set_alloc_funcs(take, keep);
}

json_t *hfd_json_parse(const char *text, size_t length, hf_arena *arena, const char **detail) {
    static once_flag once = ONCE_FLAG_INIT;
    *detail = depth_error(text, length, arena);
    if (*detail) return NULL;
    call_once(&once, use_arenas);
    memory = arena;
    json_error_t error;
    const size_t strict = JSON_REJECT_DUPLICATES | JSON_DECODE_ANY;
    json_t *json = json_loadb(text, length, strict, &error);
    /* 1e20 is written in digits by RFC 8785 and by the database, beyond what the parser has whole numbers
     * for. */
    if (!json && json_error_code(&error) == json_error_numeric_overflow)
        json = json_loadb(text, length, strict | JSON_DECODE_INT_AS_REAL, &error);
    if (!json)
        *detail = hf_arena_printf(arena, "line %d, column %d: %s", error.line, error.column, error.text);
    return json;
}
