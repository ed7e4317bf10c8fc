/* From a method and a path to an operation. The routes stand in the resources' tables. */
#ifndef HFD_ROUTE_H
#define HFD_ROUTE_H

#include "resource.h"

struct hfd_match {
    const char *allow;        /* methods of this path; NULL: there is no such path */
    hfd_operation *operation; /* NULL: not by this method */
    size_t resource;          /* index into the list */
    const char *path;         /* of the resource or the route, for the audit */
    const char *roles, *produces, *id;
    const char *route; /* the path's pattern */
    const char *const *query;
};

void hfd_route_match(const struct hfd_resource *const *resources, const struct hfd_request *request,
    hf_arena *arena, struct hfd_match *out);

#endif
