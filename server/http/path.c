#include "path.h"

#include <string.h>
#include <strings.h>

#include "../base/utf8.h"

static int hex_value(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
}

/* What is different in a path and in a query. */
struct part {
    bool slash_refused, plus_is_space;
};

static const struct part in_path = {.slash_refused = true}, in_query = {.plus_is_space = true};

/* Decodes `from` to `*to`, ends it with NUL and moves `*to` behind it. NULL, or what is wrong. */
static const char *decode(const char *from, size_t length, const struct part *part, char **to) {
    char *start = *to, *out = *to;
    for (size_t i = 0; i < length; i++) {
        char c = from[i];
        if (c == '%') {
            int high = length - i > 2 ? hex_value(from[i + 1]) : -1;
            int low = high >= 0 ? hex_value(from[i + 2]) : -1;
            if (low < 0) return "a % is not followed by two hexadecimal digits";
            c = (char)(high * 16 + low);
            i += 2;
            if ((unsigned char)c < 0x20 || c == 0x7f) return "it holds an escaped control character";
            if (c == '/' && part->slash_refused) return "a path segment holds an escaped slash";
        } else if (c == '+' && part->plus_is_space) {
            c = ' ';
        }
        *out++ = c;
    }
    if (!hfd_utf8_valid(start, (size_t)(out - start))) return "its escapes are not UTF-8 text";
    *out++ = '\0';
    *to = out;
    return NULL;
}

static const char *check_bytes(const char *target) {
    for (; *target; target++) {
        if (*target <= 0x20 || *target >= 0x7f) return "it holds a byte that must be percent-encoded";
        if (*target == '#') return "it holds a fragment (#)";
    }
    return NULL;
}

/* "/v1/visits?limit=5" of "http://host/v1/visits?limit=5" (RFC 9112 §3.2.2). */
static const char *origin_form(const char *target) {
    static const char *const schemes[] = {"http://", "https://"};
    for (size_t i = 0; i < sizeof schemes / sizeof schemes[0]; i++) {
        size_t length = strlen(schemes[i]);
        if (strncasecmp(target, schemes[i], length) != 0) continue;
        const char *path = target + length + strcspn(target + length, "/?");
        return *path ? path : "/";
    }
    return target;
}

size_t hfd_path_length(const char *target) {
    return strcspn(target, "?");
}

static enum hfd_problem_kind parse_segments(
    struct hfd_request *request, const char *path, const char *end, char **to, const char **detail) {
    if (end - path == 1) return HFD_OK; /* "/" has none */
    while (path < end) {
        const char *from = path + 1;
        const char *slash = memchr(from, '/', (size_t)(end - from));
        path = slash ? slash : end;
        const char *segment = *to;
        *detail = decode(from, (size_t)(path - from), &in_path, to);
        if (!*detail && (strcmp(segment, ".") == 0 || strcmp(segment, "..") == 0)) {
            *detail = "its path holds a dot segment";
        }
        if (*detail) return HFD_BAD_REQUEST;
        if (request->segment_count == HFD_SEGMENTS_MAX) return HFD_NOT_FOUND;
        request->segments[request->segment_count++] = segment;
    }
    return HFD_OK;
}

static const char *parse_query(struct hfd_request *request, const char *query, char **to) {
    struct hfd_pair *pairs = HF_NEW_ARRAY(request->arena, struct hfd_pair, HFD_QUERY_MAX);
    request->query = pairs;
    for (const char *next; query; query = next ? next + 1 : NULL) {
        size_t length = strcspn(query, "&");
        next = query[length] ? query + length : NULL;
        if (length == 0) continue;
        if (request->query_count == HFD_QUERY_MAX) return "its query has too many parameters";
        const char *equals = memchr(query, '=', length);
        size_t name_length = equals ? (size_t)(equals - query) : length;
        size_t skip = equals ? name_length + 1 : length;
        struct hfd_pair pair = {.name = *to};
        const char *wrong = decode(query, name_length, &in_query, to);
        pair.value = *to;
        if (!wrong) wrong = decode(query + skip, length - skip, &in_query, to);
        if (wrong) return wrong;
        pairs[request->query_count++] = pair;
    }
    return NULL;
}

enum hfd_problem_kind hfd_path_parse(struct hfd_request *request, const char **detail) {
    size_t length = strlen(request->target);
    if (length > HFD_TARGET_MAX_BYTES) {
        *detail = "The request target is longer than 4096 bytes.";
        return HFD_URI_TOO_LONG;
    }
    if (request->method == HFD_OPTIONS && strcmp(request->target, "*") == 0) return HFD_OK;
    const char *path = origin_form(request->target);
    const char *path_end = path + hfd_path_length(path);
    const char *wrong = check_bytes(request->target);
    enum hfd_problem_kind kind = HFD_OK;
    /* Decoded text is never longer, and no byte brings more than one NUL: "?a&b" is "a", "", "b", "". */
    char *to = hf_arena_alloc(request->arena, 2 * length + 3);
    if (!wrong && *path != '/' && *path != '?') wrong = "it does not begin with a slash";
    if (!wrong) kind = parse_segments(request, path, path_end, &to, &wrong);
    if (!wrong && kind == HFD_OK && *path_end == '?') wrong = parse_query(request, path_end + 1, &to);
    if (!wrong) return kind;
    *detail = hf_arena_printf(request->arena, "The request target cannot be used: %s.", wrong);
    return HFD_BAD_REQUEST;
}
