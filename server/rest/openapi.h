/* The public description of all that is served (OpenAPI 3.1, YAML), written from the same tables that serve
 * it. */
#ifndef HFD_OPENAPI_H
#define HFD_OPENAPI_H

#include "../base/buf.h"
#include "resource.h"

void hfd_openapi_write(struct hfd_buf *out, const struct hfd_resource *const *resources);

#endif
