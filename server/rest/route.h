/* From a method and a path to an operation. The routes stand in the resources' tables. */
#ifndef HFD_ROUTE_H
#define HFD_ROUTE_H

#include "resource.h"

struct hfd_match {
    const char *allow;        /* methods of this path; NULL: there is no such path */
    hfd_operation *operation; /* NULL: not by this method */
    hfd_operation *page;      /* instead of it when text/html is wanted; NULL: the operation does it */
    size_t resource;          /* index into the list */
    const char *path;         /* of the resource or the route, for the audit */
    const char *roles, *produces, *id;
    const char *route; /* the path's pattern */
    const char *const *query;
    const char *wanted; /* media type that a suffix asked for; NULL: ask the Accept field */
};

/* What a verb of a resource offers: media types, parted by commas. */
const char *hfd_route_produces(const struct hfd_resource *resource, enum hfd_verb verb);

/* A path may end in a suffix (".html") that stands for an Accept field. */
void hfd_route_match(const struct hfd_resource *const *resources, const struct hfd_request *request,
    hf_arena *arena, struct hfd_match *out);

#endif
