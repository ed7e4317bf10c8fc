#include "canonical.h"

#include <stdlib.h>
#include <string.h>

#include "../base/digest.h"

struct member {
    const char *name;
    json_t *value;
};

static int by_bytes(const void *a, const void *b) {
    return strcmp(((const struct member *)a)->name, ((const struct member *)b)->name);
}

static void write_object(struct hfd_buf *buf, json_t *json) {
    size_t count = 0;
    struct member *members = HF_NEW_ARRAY(buf->arena, struct member, json_object_size(json)), next;
    json_object_foreach(json, next.name, next.value) members[count++] = next;
    qsort(members, count, sizeof *members, by_bytes);
    hfd_buf_char(buf, '{');
    for (size_t i = 0; i < count; i++) {
        if (i) hfd_buf_char(buf, ',');
        hfd_buf_json_string(buf, members[i].name);
        hfd_buf_char(buf, ':');
        hfd_canonical_write(buf, members[i].value);
    }
    hfd_buf_char(buf, '}');
}

static void write_array(struct hfd_buf *buf, json_t *json) {
    hfd_buf_char(buf, '[');
    for (size_t i = 0; i < json_array_size(json); i++) {
        if (i) hfd_buf_char(buf, ',');
        hfd_canonical_write(buf, json_array_get(json, i));
    }
    hfd_buf_char(buf, ']');
}

void hfd_canonical_write(struct hfd_buf *buf, json_t *json) {
    switch (json_typeof(json)) {
    case JSON_OBJECT:
        write_object(buf, json);
        return;
    case JSON_ARRAY:
        write_array(buf, json);
        return;
    case JSON_STRING:
        hfd_buf_json_string(buf, json_string_value(json));
        return;
    case JSON_INTEGER:
    case JSON_REAL:
        hfd_buf_json_real(buf, json_number_value(json));
        return;
    case JSON_TRUE:
        hfd_buf_text(buf, "true");
        return;
    case JSON_FALSE:
        hfd_buf_text(buf, "false");
        return;
    case JSON_NULL:
        hfd_buf_text(buf, "null");
        return;
    }
}

const char *hfd_canonical_digest(json_t *json, hf_arena *arena) {
    struct hfd_buf text;
    hfd_buf_init(&text, arena, 4096);
    hfd_canonical_write(&text, json);
    char hex[HFD_DIGEST_HEX];
    hfd_digest_hex(text.text, text.length, hex);
    return hf_arena_printf(arena, "sha256:%s", hex);
}
