/* Tells events to webhooks: one thread, one database connection, some requests at a time. It follows no
 * redirect, asks no proxy, and calls no address that is not public but those of networks that the settings
 * name. */
#ifndef HFD_COURIER_H
#define HFD_COURIER_H

#include <stdint.h>

struct hfd_courier;

/* Both texts are borrowed. NULL without memory or thread. */
struct hfd_courier *hfd_courier_new(const char *database, const char *networks);
/* Requests under way are given a moment; those that do not end are tried again later. */
void hfd_courier_free(struct hfd_courier *courier);

/* Attempts that the receiver took, and others. */
uint64_t hfd_courier_delivered(const struct hfd_courier *courier);
uint64_t hfd_courier_failed(const struct hfd_courier *courier);

#endif
