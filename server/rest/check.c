/* What every table in resources/ must tell; looked at before anything is served. */
#include <string.h>

#include "rest.h"
#include "texts.h"

/* One of those in roles.h, so that nobody's access is decided elsewhere. */
static bool is_audience(const char *roles) {
    static const char *const audiences[] = {HFD_CHART_READERS, HFD_CHART_WRITERS, HFD_CATALOGUE_READERS,
        HFD_CATALOGUE_WRITERS, HFD_AUDIT_READERS, HFD_ADMINISTRATORS, HFD_EVERYONE};
    if (roles == NULL || roles == HFD_PUBLIC) return roles != NULL;
    for (size_t i = 0; i < HFD_COUNT(audiences); i++)
        if (strcmp(audiences[i], roles) == 0) return true;
    return false;
}

static const char *column_fault(const struct hfd_resource *r, const struct hfd_column *c, hf_arena *arena) {
    bool never_null = c->flags & (HFD_REQUIRED | HFD_READ_ONLY) || c->initial != NULL;
    if ((c->flags & HFD_SORT) && !never_null)
        return hf_arena_printf(arena, "%s.%s sorts but may be null", r->table, c->name);
    if (c->kind == HFD_COLUMN_ENUM && c->names == NULL)
        return hf_arena_printf(arena, "%s.%s: no names", r->table, c->name);
    if (c->kind == HFD_COLUMN_PART && c->shape == NULL)
        return hf_arena_printf(arena, "%s.%s: no shape", r->table, c->name);
    if (c->what == NULL) return hf_arena_printf(arena, "%s.%s: not described", r->table, c->name);
    return NULL;
}

static const char *table_fault(const struct hfd_resource *r, hf_arena *arena) {
    if (r->table == NULL || r->verbs == 0 || r->column_count == 0)
        return hf_arena_printf(arena, "%s: no table, verbs or columns", r->path);
    bool reads = r->verbs & (HFD_LIST | HFD_READ), writes = r->verbs & (HFD_CREATE | HFD_CHANGE);
    if ((reads && !is_audience(r->read_roles)) || (writes && !is_audience(r->write_roles)))
        return hf_arena_printf(arena, "%s: no roles", r->path);
    if ((r->verbs & HFD_CREATE && r->example == NULL) || (r->verbs & HFD_CHANGE && r->change == NULL))
        return hf_arena_printf(arena, "%s: no example of a body", r->path);
    int sort = r->sort ? hfd_column_find(r, r->sort + (r->sort[0] == '-')) : -1;
    if (sort < 0 || !(r->columns[sort].flags & HFD_SORT))
        return hf_arena_printf(arena, "%s: no sort key", r->path);
    size_t etags = 0;
    for (size_t i = 0; i < r->column_count; i++) {
        const char *fault = column_fault(r, &r->columns[i], arena);
        if (fault != NULL) return fault;
        etags += (r->columns[i].flags & HFD_ETAG) != 0;
    }
    bool tagged = r->verbs & (HFD_READ | HFD_CREATE | HFD_CHANGE);
    if (etags != tagged || strcmp(r->columns[0].name, "id") != 0)
        return hf_arena_printf(arena, "%s: needs one tag, and id first", r->path);
    for (size_t i = 0; i < r->rule_count; i++)
        for (size_t k = 0; k < HFD_COUNT(r->rules[i].fills) && r->rules[i].fills[k] != NULL; k++)
            if (hfd_column_find(r, r->rules[i].fills[k]) < 0)
                return hf_arena_printf(arena, "%s: a rule fills no column", r->path);
    return NULL;
}

static const char *route_fault(const struct hfd_route *route, hf_arena *arena) {
    if (!is_audience(route->roles) || route->operation == NULL)
        return hf_arena_printf(arena, "%s: no roles or no operation", route->path);
    if (route->takes != NULL && route->example == NULL)
        return hf_arena_printf(arena, "%s: no example of a body", route->path);
    return NULL;
}

const char *hfd_rest_check(const struct hfd_resource *const *resources, hf_arena *arena) {
    for (; *resources != NULL; resources++) {
        const struct hfd_resource *r = *resources;
        const char *fault = r->path != NULL ? table_fault(r, arena) : NULL;
        for (size_t i = 0; fault == NULL && i < r->route_count; i++)
            fault = route_fault(&r->routes[i], arena);
        if (fault != NULL) return fault;
    }
    return NULL;
}
