#include "event.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../base/fnv.h"

#define OF(noun) noun ".created", noun ".changed", noun ".erased"

const char *const hfd_event_types[] = {OF("patient"), OF("case"), OF("screw"), OF("setup"), OF("visit"),
    OF("site"), OF("screw-model"), OF("plate-pattern"), NULL};

static const char *known_type(const char *text, size_t length) {
    for (size_t i = 0; hfd_event_types[i] != NULL; i++)
        if (strlen(hfd_event_types[i]) == length && memcmp(hfd_event_types[i], text, length) == 0)
            return hfd_event_types[i];
    return NULL;
}

bool hfd_event_types_read(const char *text, const char *out[HFD_EVENT_TYPES_MAX + 1]) {
    for (size_t n = 0; n < HFD_EVENT_TYPES_MAX; n++) {
        size_t length = strcspn(text, ",");
        out[n] = known_type(text, length);
        out[n + 1] = NULL;
        if (out[n] == NULL) return false;
        if (text[length] == '\0') return true;
        text += length + 1;
    }
    return false;
}

struct hfd_event hfd_event_of(const char *const *cells) {
    return (struct hfd_event){cells[0], cells[1], cells[2], cells[3], cells[4], cells[5], cells[6]};
}

void hfd_event_write(struct hfd_buf *out, const struct hfd_event *event) {
    /* None of these can hold anything that JSON would escape: the table's checks and the intake see to it. */
    hfd_buf_printf(out,
        "{\"position\":%s,\"at\":\"%s\",\"type\":\"%s\",\"resource\":\"%s\",\"id\":\"%s\",\"version\":%s",
        event->position, event->at, event->type, event->resource, event->id, event->version);
    if (event->request != NULL) {
        hfd_buf_text(out, ",\"request_id\":");
        hfd_buf_json_string(out, event->request);
    }
    hfd_buf_char(out, '}');
}

void hfd_event_write_message(struct hfd_buf *out, const struct hfd_event *event, const char *clinic_id) {
    char cursor[HFD_EVENT_CURSOR_SIZE];
    hfd_event_cursor(strtoll(event->position, NULL, 10), clinic_id, cursor);
    hfd_buf_printf(out, "id: %s\nevent: %s\ndata: ", cursor, event->type);
    hfd_event_write(out, event);
    hfd_buf_text(out, "\n\n");
}

void hfd_event_cursor(int64_t position, const char *clinic_id, char out[HFD_EVENT_CURSOR_SIZE]) {
    char whole[64];
    snprintf(whole, sizeof whole, "%s %" PRId64, clinic_id, position);
    snprintf(out, HFD_EVENT_CURSOR_SIZE, "%" PRId64 ".%06" PRIx64, position, hfd_fnv1a(whole) & 0xffffff);
}

bool hfd_event_cursor_read(const char *text, const char *clinic_id, int64_t *position) {
    char right[HFD_EVENT_CURSOR_SIZE];
    size_t digits = strspn(text, "0123456789");
    if (digits == 0 || digits > 18) return false;
    *position = strtoll(text, NULL, 10);
    hfd_event_cursor(*position, clinic_id, right);
    return strcmp(text, right) == 0;
}
