#include "path.h"

#include <string.h>
#include <strings.h>

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
        *detail = hfd_percent_decode(from, (size_t)(path - from), HFD_IN_PATH, to);
        if (!*detail && (strcmp(segment, ".") == 0 || strcmp(segment, "..") == 0)) {
            *detail = "its path holds a dot segment";
        }
        if (*detail) return HFD_BAD_REQUEST;
        if (request->segment_count == HFD_SEGMENTS_MAX) return HFD_NOT_FOUND;
        request->segments[request->segment_count++] = segment;
    }
    return HFD_OK;
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
    char *to = hf_arena_alloc(request->arena, length + 1); /* decoded text is never longer */
    if (!wrong && *path != '/' && *path != '?') wrong = "it does not begin with a slash";
    if (!wrong) kind = parse_segments(request, path, path_end, &to, &wrong);
    if (!wrong && kind == HFD_OK && *path_end == '?')
        wrong = hfd_pairs_decode(
            path_end + 1, HFD_IN_QUERY, request->arena, &request->query, &request->query_count);
    if (!wrong) return kind;
    *detail = hf_arena_printf(request->arena, "The request target cannot be used: %s.", wrong);
    return HFD_BAD_REQUEST;
}
