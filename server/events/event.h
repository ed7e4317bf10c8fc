/* One event of a clinic's feed: that something happened to a record, and nothing about the record. */
#ifndef HFD_EVENT_H
#define HFD_EVENT_H

#include <stdbool.h>
#include <stdint.h>

#include "../base/buf.h"

/* What a reader may ask for, NULL-ended: each kind of record created, changed, erased. */
extern const char *const hfd_event_types[];

/* The types that `text` names, parted by commas, into `out`, NULL-ended. False: something else stands there.
 */
#define HFD_EVENT_TYPES_MAX 32
bool hfd_event_types_read(const char *text, const char *out[HFD_EVENT_TYPES_MAX + 1]);

/* Text cells as the store gives them, in this order. */
struct hfd_event {
    const char *position, *at, *type, *resource, *id, *version, *request; /* request NULL: none */
};

enum { HFD_EVENT_CELLS = 7 };

/* The select list of `events` that makes those cells. */
#define HFD_EVENT_COLUMNS "e.position, e.at, e.type, e.resource, e.id, e.version, e.request"

struct hfd_event hfd_event_of(const char *const *cells);
/* As JSON. */
void hfd_event_write(struct hfd_buf *out, const struct hfd_event *event);
/* As a message of text/event-stream (WHATWG HTML, 9.2): id is the cursor behind it. */
void hfd_event_write_message(struct hfd_buf *out, const struct hfd_event *event, const char *clinic_id);

/* The place behind an event: its position with a few digits that tie it to the clinic, so that one carried
 * over to another clinic or altered by accident is seen. It is no secret and gives no right. */
#define HFD_EVENT_CURSOR_SIZE 32
void hfd_event_cursor(int64_t position, const char *clinic_id, char out[HFD_EVENT_CURSOR_SIZE]);
/* False: none of this clinic's. */
bool hfd_event_cursor_read(const char *text, const char *clinic_id, int64_t *position);

#endif
