#include "traceparent.h"

#include <string.h>

#include "uuid.h"

/* version-trace-parent-flags: "00-" 32 digits "-" 16 digits "-" 2 digits. */
enum { TRACE_AT = 3, PARENT_AT = 36, FLAGS_AT = 53, LENGTH = 55 };

static bool is_hex(const char *text, size_t length) {
    return strspn(text, "0123456789abcdef") >= length;
}

static bool is_zero(const char *text, size_t length) {
    return strspn(text, "0") >= length;
}

bool hfd_traceparent_read(const char *field, char trace_id[HFD_TRACE_ID_SIZE]) {
    size_t length = strlen(field);
    if (length < LENGTH || !is_hex(field, 2) || memcmp(field, "ff", 2) == 0) return false;
    bool first_version = memcmp(field, "00", 2) == 0;
    if (length > LENGTH && (first_version || field[LENGTH] != '-')) return false;
    if (field[2] != '-' || field[PARENT_AT - 1] != '-' || field[FLAGS_AT - 1] != '-') return false;
    if (!is_hex(field + TRACE_AT, 32) || !is_hex(field + PARENT_AT, 16) || !is_hex(field + FLAGS_AT, 2))
        return false;
    if (is_zero(field + TRACE_AT, 32) || is_zero(field + PARENT_AT, 16)) return false;
    memcpy(trace_id, field + TRACE_AT, 32);
    trace_id[32] = '\0';
    return true;
}

void hfd_trace_id_new(char trace_id[HFD_TRACE_ID_SIZE]) {
    char uuid[HFD_UUID_TEXT_SIZE];
    hfd_uuid_new(uuid);
    char *to = trace_id;
    for (const char *p = uuid; *p != '\0'; p++)
        if (*p != '-') *to++ = *p;
    *to = '\0';
}
