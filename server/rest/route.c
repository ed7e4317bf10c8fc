#include "route.h"

#include <string.h>

#include "../base/uuid.h"
#include "negotiate.h"
#include "op.h"

static const struct {
    enum hfd_verb verb;
    enum hfd_method method;
    bool one; /* of one row: /{id} follows */
    hfd_operation *operation;
} verbs[] = {
    {HFD_LIST, HFD_GET, false, hfd_op_list},
    {HFD_CREATE, HFD_POST, false, hfd_op_create},
    {HFD_READ, HFD_GET, true, hfd_op_read},
    {HFD_CHANGE, HFD_PATCH, true, hfd_op_change},
};

/* What may be put behind a path instead of an Accept field. */
static const struct {
    const char *ending, *media_type;
} suffixes[] = {
    {".json", "application/json"},
    {".html", "text/html"},
    {".svg", "image/svg+xml"},
    {".csv", "text/csv"},
    {".ndjson", "application/x-ndjson"},
    {".pdf", "application/pdf"},
};

static const char *const method_names[HFD_METHOD_COUNT] = {[HFD_GET] = "GET, HEAD",
    [HFD_POST] = "POST",
    [HFD_PATCH] = "PATCH",
    [HFD_PUT] = "PUT",
    [HFD_DELETE] = "DELETE"};

const char *hfd_route_produces(const struct hfd_resource *resource, enum hfd_verb verb) {
    if (verb == HFD_LIST)
        return resource->list_page ? "application/json, text/html, text/csv, application/x-ndjson"
                                   : "application/json, text/csv, application/x-ndjson";
    return verb == HFD_READ && resource->read_page ? "application/json, text/html" : "application/json";
}

/* Compares a path pattern with the segments of a request. {id} takes a UUID, any other {word} any segment. */
static bool path_matches(const char *pattern, bool one, const struct hfd_request *request, const char **id) {
    size_t n = 0;
    if (strcmp(pattern, "/") == 0) return request->segment_count == 0;
    for (const char *p = pattern; *p == '/'; n++) {
        size_t length = strcspn(++p, "/");
        if (n == request->segment_count) return false;
        const char *segment = request->segments[n];
        if (*p == '{') {
            if (strncmp(p, "{id}", 4) == 0 && !hfd_uuid_valid(segment)) return false;
            *id = segment;
        } else if (strlen(segment) != length || memcmp(p, segment, length) != 0) {
            return false;
        }
        p += length;
    }
    if (one && n < request->segment_count) {
        *id = request->segments[n++];
        if (!hfd_uuid_valid(*id)) return false;
    } else if (one) {
        return false;
    }
    return n == request->segment_count;
}

static void note(struct hfd_match *match, enum hfd_method method, const struct hfd_request *request,
    hf_arena *arena, struct hfd_match found) {
    const char *before = match->allow ? match->allow : "OPTIONS";
    const char *allow = hf_arena_printf(arena, "%s, %s", before, method_names[method]);
    enum hfd_method asked = request->method == HFD_HEAD ? HFD_GET : request->method;
    const char *route = found.route;
    if (asked == method) *match = found;
    match->allow = allow;
    match->route = route;
}

static void match_resource(const struct hfd_resource *r, size_t index, const struct hfd_request *request,
    hf_arena *arena, struct hfd_match *match) {
    const char *id = NULL;
    for (size_t i = 0; r->path != NULL && i < HFD_COUNT(verbs); i++) {
        if (!(r->verbs & verbs[i].verb) || !path_matches(r->path, verbs[i].one, request, &id)) continue;
        bool writes = verbs[i].verb == HFD_CREATE || verbs[i].verb == HFD_CHANGE;
        /* hfd_op_list does its page itself. */
        hfd_operation *page = verbs[i].verb == HFD_READ ? r->read_page : NULL;
        note(match, verbs[i].method, request, arena,
            (struct hfd_match){.operation = verbs[i].operation,
                .page = page,
                .resource = index,
                .path = r->path,
                .roles = writes ? r->write_roles : r->read_roles,
                .produces = hfd_route_produces(r, verbs[i].verb),
                .id = id,
                .route = verbs[i].one ? hf_arena_printf(arena, "%s/{id}", r->path) : r->path});
    }
    for (size_t i = 0; i < r->route_count; i++) {
        const struct hfd_route *route = &r->routes[i];
        if (!path_matches(route->path, false, request, &id)) continue;
        note(match, route->method, request, arena,
            (struct hfd_match){.operation = route->operation,
                .resource = index,
                .path = route->path,
                .roles = route->roles,
                .produces = route->produces ? route->produces : "application/json",
                .id = id,
                .route = route->path,
                .query = route->query});
    }
}

static void match_all(const struct hfd_resource *const *resources, const struct hfd_request *request,
    hf_arena *arena, struct hfd_match *out) {
    *out = (struct hfd_match){0};
    for (size_t i = 0; resources[i] != NULL; i++)
        match_resource(resources[i], i, request, arena, out);
}

/* The request without its suffix, and the type that it stands for; NULL: it has none. */
static const char *cut_suffix(
    const struct hfd_request *request, hf_arena *arena, struct hfd_request *without) {
    if (request->segment_count == 0) return NULL;
    const char *last = request->segments[request->segment_count - 1], *dot = strrchr(last, '.');
    for (size_t i = 0; dot != NULL && dot > last && i < HFD_COUNT(suffixes); i++) {
        if (strcmp(dot, suffixes[i].ending) != 0) continue;
        *without = *request;
        without->segments[request->segment_count - 1] =
            hf_arena_printf(arena, "%.*s", (int)(dot - last), last);
        return suffixes[i].media_type;
    }
    return NULL;
}

/* Is this one of the offers? */
static bool is_offered(const char *offers, const char *media_type, hf_arena *arena) {
    return offers != NULL && hfd_accept_best(media_type, offers, arena) != NULL;
}

void hfd_route_match(const struct hfd_resource *const *resources, const struct hfd_request *request,
    hf_arena *arena, struct hfd_match *out) {
    struct hfd_request without;
    const char *media_type = cut_suffix(request, arena, &without);
    if (media_type != NULL) {
        match_all(resources, &without, arena, out);
        out->wanted = media_type;
        if (is_offered(out->produces, media_type, arena)) return;
    }
    match_all(resources, request, arena, out);
}
