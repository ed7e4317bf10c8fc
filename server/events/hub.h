/* Carries events on to all who listen at this daemon. One thread seals what waits, reads what is new once per
 * clinic and keeps the last events of each; a listener is a place in that list and a sleeping connection. Who
 * falls behind further than is kept, or whose token is refused, is sent away: a client comes back by itself
 * with the place it had reached. */
#ifndef HFD_HUB_H
#define HFD_HUB_H

#include <stdbool.h>
#include <stdint.h>

#include "../base/buf.h"
#include "../base/stream.h"

struct hfd_hub;

struct hfd_hub_config {
    const char *database; /* borrowed */
    int keep_days;        /* events older than this are removed */
};

/* NULL without memory. */
struct hfd_hub *hfd_hub_new(const struct hfd_hub_config *config);
/* Needs: no stream is open. */
void hfd_hub_free(struct hfd_hub *hub);

/* What the hub's thread does, over and over, a few times a second. */
void hfd_hub_work(void *hub);

/* From now on every stream ends. */
void hfd_hub_end_streams(struct hfd_hub *hub);

uint64_t hfd_hub_listening(struct hfd_hub *hub);
/* Streams ended because their client was too slow. */
uint64_t hfd_hub_dropped(struct hfd_hub *hub);

struct hfd_listener {
    const char *clinic_id;
    const char *digest_hex;   /* of the bearer's credential, looked at every second */
    int64_t after;            /* position of the last event that `backlog` tells */
    const char *const *types; /* NULL-ended; NULL: all */
    struct hfd_buf backlog;   /* messages that come first; in the arena of the stream */
    bool ends;                /* behind the backlog: there is more than is given at once */
};

/* In `arena`, which must outlive the reply. */
struct hfd_stream *hfd_hub_listen(struct hfd_hub *hub, hf_arena *arena, const struct hfd_listener *listener);

#endif
