#include "parse.h"

#include <setjmp.h>
#include <stdlib.h>

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

json_t *hfd_json_parse(const char *text, size_t length, hf_arena *arena, const char **detail) {
    *detail = depth_error(text, length, arena);
    if (*detail) return NULL;
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

static void jump(void *ctx) {
    longjmp(*(jmp_buf *)ctx, 1);
}

/* False: the arena ran out. */
static bool use_until_exhausted(json_t *json, hf_arena *arena, hfd_json_use *use, void *ctx) {
    jmp_buf out;
    arena->exhausted = jump;
    arena->ctx = &out;
    if (setjmp(out) != 0) return false;
    use(json, ctx);
    return true;
}

bool hfd_json_with(
    const char *text, size_t length, hf_arena *arena, hfd_json_use *use, void *ctx, const char **detail) {
    json_t *json = hfd_json_parse(text, length, arena, detail);
    if (!json) return false;
    void (*exhausted)(void *) = arena->exhausted;
    void *exhausted_ctx = arena->ctx;
    bool finished = use_until_exhausted(json, arena, use, ctx);
    arena->exhausted = exhausted;
    arena->ctx = exhausted_ctx;
    json_decref(json);
    if (finished) return true;
    if (exhausted) exhausted(exhausted_ctx);
    abort(); /* as the arena would have done */
}
