#include "encode.h"

#include <math.h>
#include <string.h>

#include "../../core/case.h"
#include "../base/date.h"

/* What is computed to be smaller is what rounding left of a zero (forces, moments, distances, shares: none is
 * told so finely), and its digits differ between processors. */
#define NOTHING 1e-12

/* Each put_… writes a value and says whether there was one. */
static bool put_value(struct hfd_buf *buf, const struct hfd_table *table, const struct hfd_field *field,
    const void *item, const struct hfd_encoding *how);

static int int_at(const void *at) {
    int value;
    memcpy(&value, at, sizeof value);
    return value;
}

static double real_at(const void *at, size_t index) {
    double value;
    memcpy(&value, (const char *)at + index * sizeof value, sizeof value);
    return value;
}

static double length_at(const void *at) {
    double x = real_at(at, 0), y = real_at(at, 1), z = real_at(at, 2);
    return sqrt(x * x + y * y + z * z);
}

static const char *text_at(const void *at) {
    const char *text;
    memcpy(&text, at, sizeof text);
    return text;
}

static bool put_real(struct hfd_buf *buf, double value, const struct hfd_encoding *how) {
    if (!isfinite(value)) return false;
    if (how->as_given)
        hfd_buf_json_real(buf, value);
    else
        hfd_buf_json_real12(buf, fabs(value) < NOTHING ? 0.0 : value);
    return true;
}

static bool put_reals(struct hfd_buf *buf, const void *at, size_t count, const struct hfd_encoding *how) {
    for (size_t i = 0; i < count; i++) {
        hfd_buf_char(buf, i ? ',' : '[');
        if (!put_real(buf, real_at(at, i), how)) return false;
    }
    hfd_buf_char(buf, ']');
    return true;
}

static bool put_text(struct hfd_buf *buf, const char *text) {
    if (text) hfd_buf_json_string(buf, text);
    return text != NULL;
}

static bool put_int(struct hfd_buf *buf, int value, enum hfd_field_kind kind) {
    char date[HFD_DATE_TEXT];
    if (value == HF_ABSENT) return false;
    switch (kind) {
    case HFD_FIELD_FLAG:
        hfd_buf_text(buf, value ? "true" : "false");
        return true;
    case HFD_FIELD_DATE:
        hfd_date_print(value, date);
        hfd_buf_json_string(buf, date);
        return true;
    case HFD_FIELD_TOOTH:
        hfd_buf_char(buf, '"');
        hfd_buf_json_int(buf, value);
        hfd_buf_char(buf, '"');
        return true;
    default:
        hfd_buf_json_int(buf, value);
        return true;
    }
}

static bool put_name(struct hfd_buf *buf, const char *const *names, int place) {
    int count = 0;
    while (names[count]) {
        count++;
    }
    if (place < 0 || place >= count || !*names[place]) return false;
    hfd_buf_json_string(buf, names[place]);
    return true;
}

static bool put_teeth(struct hfd_buf *buf, const void *at, size_t count) {
    for (size_t i = 0; i < count; i++) {
        hfd_buf_char(buf, i ? ',' : '[');
        if (!put_int(buf, int_at((const char *)at + i * sizeof(int)), HFD_FIELD_TOOTH)) return false;
    }
    hfd_buf_char(buf, ']');
    return true;
}

/* ---------------------------------------------------------------- objects and lists */

static bool put_members(
    struct hfd_buf *buf, const struct hfd_table *table, const void *item, const struct hfd_encoding *how) {
    bool any = false;
    hfd_buf_char(buf, '{');
    for (size_t i = 0; i < table->count; i++) {
        const struct hfd_field *field = &table->fields[i];
        size_t before = buf->length;
        if (field->flags & how->without) continue;
        if (any) hfd_buf_char(buf, ',');
        hfd_buf_char(buf, '"');
        hfd_buf_text(buf, field->name); /* ours: nothing to escape */
        hfd_buf_text(buf, "\":");
        if (put_value(buf, table, field, item, how))
            any = true;
        else
            hfd_buf_cut(buf, before);
    }
    hfd_buf_char(buf, '}');
    return any;
}

static bool put_item(struct hfd_buf *buf, const struct hfd_field *field, const char *items, size_t index,
    const struct hfd_encoding *how) {
    if (field->table) {
        put_members(buf, field->table, items + index * field->table->size, how);
        return true;
    }
    if (field->item == HFD_FIELD_REAL) return put_real(buf, real_at(items, index), how);
    if (field->item == HFD_FIELD_TEXT) return put_text(buf, text_at(items + index * sizeof(const char *)));
    return put_int(buf, int_at(items + index * sizeof(int)), field->item);
}

static bool put_list(struct hfd_buf *buf, const struct hfd_field *field, const char *items, size_t count,
    const struct hfd_encoding *how) {
    if (field->flags & HFD_FIELD_SINGLE) return count == 1 && put_item(buf, field, items, 0, how);
    if ((field->flags & HFD_FIELD_SEVERAL && count == 1) ||
        (field->flags & HFD_FIELD_OMIT_EMPTY && count == 0))
        return false;
    hfd_buf_char(buf, '[');
    for (size_t i = 0; i < count; i++) {
        if (i) hfd_buf_char(buf, ',');
        put_item(buf, field, items, i, how);
    }
    hfd_buf_char(buf, ']');
    return true;
}

static bool put_map(struct hfd_buf *buf, const struct hfd_field *field, const char *items, size_t count) {
    const struct hfd_field *name = &field->table->fields[0], *value = &field->table->fields[1];
    hfd_buf_char(buf, '{');
    for (size_t i = 0; i < count; i++) {
        const char *item = items + i * field->table->size;
        if (i) hfd_buf_char(buf, ',');
        hfd_buf_json_string(buf, text_at(item + name->at));
        hfd_buf_char(buf, ':');
        hfd_buf_json_string(buf, text_at(item + value->at));
    }
    hfd_buf_char(buf, '}');
    return true;
}

static bool put_either(
    struct hfd_buf *buf, const struct hfd_table *table, const void *at, const struct hfd_encoding *how) {
    for (size_t i = 0; i < table->count; i++) {
        size_t before = buf->length;
        if (put_value(buf, table, &table->fields[i], at, how)) return true;
        hfd_buf_cut(buf, before);
    }
    return false;
}

static bool is_chosen(const struct hfd_table *table, const struct hfd_field *field, const char *item) {
    if (field->choice != 0 && int_at(item + table->choice_at) != field->choice - 1) return false;
    return !field->present_at || *(const bool *)(item + field->present_at);
}

static bool put_value(struct hfd_buf *buf, const struct hfd_table *table, const struct hfd_field *field,
    const void *item, const struct hfd_encoding *how) {
    const char *base = item;
    if (!is_chosen(table, field, base)) return false;
    /* A member that is not kept has one value only. */
    if (field->at == HFD_NOWHERE) return field->names && put_name(buf, field->names, 0);
    const char *at = base + field->at;
    size_t count;
    switch (field->kind) {
    case HFD_FIELD_BOOL:
        hfd_buf_text(buf, *(const bool *)at ? "true" : "false");
        return true;
    case HFD_FIELD_WORD:
        return *(const bool *)at && put_name(buf, field->names, 0);
    case HFD_FIELD_REAL:
        return put_real(buf, real_at(at, 0), how);
    case HFD_FIELD_REALS:
        return put_reals(buf, at, field->count, how);
    case HFD_FIELD_LENGTH:
        return put_real(buf, length_at(at) * field->scale, how);
    case HFD_FIELD_TEXT:
        return put_text(buf, text_at(at));
    case HFD_FIELD_ENUM:
        return put_name(buf, field->names, int_at(at));
    case HFD_FIELD_TEETH:
        return put_teeth(buf, at, field->count);
    case HFD_FIELD_OBJECT:
        return put_members(buf, field->table, at, how);
    case HFD_FIELD_EITHER:
        return put_either(buf, field->table, at, how);
    case HFD_FIELD_LIST:
        memcpy(&count, base + field->count_at, sizeof count);
        return put_list(buf, field, text_at(at), count, how);
    case HFD_FIELD_MAP:
        memcpy(&count, base + field->count_at, sizeof count);
        return put_map(buf, field, text_at(at), count);
    default:
        return put_int(buf, int_at(at), field->kind);
    }
}

void hfd_encode_object(
    struct hfd_buf *buf, const struct hfd_table *table, const void *item, const struct hfd_encoding *how) {
    put_members(buf, table, item, how);
}
