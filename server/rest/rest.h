/* The door for requests, whatever brought them. */
#ifndef HFD_REST_H
#define HFD_REST_H

#include "../base/exchange.h"
#include "../base/limiter.h"
#include "resource.h"

struct hfd_hub;

hfd_handler hfd_rest_handle;

/* What all workers share; borrowed. */
struct hfd_rest_config {
    const char *conninfo;
    struct hfd_store_counters *counters;
    struct hfd_limiter *limiter;  /* NULL: no limit */
    struct hfd_limiter *sign_ins; /* failed ones, by address */
    bool secure;                  /* browsers reach us by HTTPS */
    struct hfd_hub *hub;          /* carries events on */
};

/* One per worker thread: its connection and the SQL of all resources. NULL when a resource is not fit to
 * serve; the reason is in the log. */
void *hfd_rest_worker_new(const struct hfd_rest_config *config);
void hfd_rest_worker_free(void *worker);

/* Is every resource complete, and does each route say who may use it? NULL, or what is wrong. */
const char *hfd_rest_check(const struct hfd_resource *const *resources, hf_arena *arena);

#endif
