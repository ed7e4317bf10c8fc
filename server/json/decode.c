#include "decode.h"

#include <stdarg.h>
#include <string.h>

#include "../base/buf.h"
#include "value.h"

/* RFC 6901: ~ and / inside a name are ~0 and ~1. */
static void put_path(struct hfd_buf *buf, const struct hfd_path *path) {
    if (!path->up) {
        hfd_buf_text(buf, path->name);
        return;
    }
    put_path(buf, path->up);
    hfd_buf_char(buf, '/');
    if (!path->name) hfd_buf_printf(buf, "%zu", path->index);
    for (const char *c = path->name; c && *c; c++) {
        if (*c == '~')
            hfd_buf_text(buf, "~0");
        else if (*c == '/')
            hfd_buf_text(buf, "~1");
        else
            hfd_buf_char(buf, *c);
    }
}

bool hfd_decode_full(const struct hfd_decoder *d) {
    if (d->errors->count < HFD_ERRORS_KEPT) return false;
    d->errors->count++;
    return true;
}

void hfd_decode_error(const struct hfd_decoder *d, const struct hfd_path *path, const char *format, ...) {
    if (hfd_decode_full(d)) return;
    struct hfd_buf pointer;
    hfd_buf_init(&pointer, d->arena, 64);
    put_path(&pointer, path);
    va_list args;
    va_start(args, format);
    hfd_errors_add_list(d->errors, pointer.text, format, args);
    va_end(args);
}

/* Most differ in their first letter. */
static bool is_named(const struct hfd_field *field, const char *name) {
    return field->name && *field->name == *name && strcmp(field->name, name) == 0;
}

const struct hfd_field *hfd_table_field(const struct hfd_table *table, const char *name) {
    for (size_t i = 0; i < table->count; i++) {
        if (is_named(&table->fields[i], name)) return &table->fields[i];
    }
    return NULL;
}

static void *place(const struct hfd_field *field, void *base) {
    return base && field->at != HFD_NOWHERE ? (char *)base + field->at : NULL;
}

/* ---------------------------------------------------------------- objects */

static const char *member_names(const struct hfd_table *table, bool keys_only, hf_arena *arena) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, arena, 128);
    for (size_t i = 0; i < table->count; i++) {
        if (keys_only && !(table->fields[i].flags & HFD_FIELD_KEY)) continue;
        hfd_buf_printf(&buf, "%s`%s`", buf.length ? ", " : "", table->fields[i].name);
    }
    return buf.text;
}

/* Each field's value in the object, NULL where it has none; *unknown: there are others. One pass over the few
 * members that are given, as a look-up of every field would be most of the decoding. */
static json_t **match(
    const struct hfd_decoder *d, const struct hfd_table *table, json_t *json, bool *unknown) {
    json_t **values = HF_NEW_ARRAY(d->arena, json_t *, table->count);
    const char *name;
    json_t *value;
    *unknown = false;
    json_object_foreach(json, name, value) {
        bool known = false;
        for (size_t i = 0; i < table->count; i++) {
            if (!is_named(&table->fields[i], name)) continue;
            values[i] = value;
            known = true;
        }
        *unknown |= !known;
    }
    return values;
}

/* The KEY field that stands in the object. 0 when none or several do, and says so. */
static int choose(const struct hfd_decoder *d, const struct hfd_table *table, const struct hfd_path *path,
    json_t *const *values) {
    const struct hfd_field *chosen = NULL;
    for (size_t i = 0; i < table->count; i++) {
        const struct hfd_field *field = &table->fields[i];
        if (!(field->flags & HFD_FIELD_KEY) || !values[i]) continue;
        if (chosen) {
            struct hfd_path member = {.up = path, .name = field->name};
            hfd_decode_error(d, &member, "may not stand beside `%s`: give exactly one of %s", chosen->name,
                member_names(table, true, d->arena));
            return 0;
        }
        chosen = field;
    }
    if (!chosen)
        hfd_decode_error(
            d, path, "expected exactly one of %s (%s)", member_names(table, true, d->arena), table->what);
    return chosen ? chosen->choice : 0;
}

static const char *key_of_choice(const struct hfd_table *table, int choice) {
    for (size_t i = 0; i < table->count; i++) {
        if (table->fields[i].choice == choice && table->fields[i].flags & HFD_FIELD_KEY)
            return table->fields[i].name;
    }
    return "";
}

/* `value` NULL: `field` is not in `json`. */
static void decode_member(const struct hfd_decoder *d, const struct hfd_table *table,
    const struct hfd_field *field, int choice, const struct hfd_path *path, json_t *json, json_t *value,
    void *item) {
    struct hfd_path member = {.up = path, .name = field->name};
    bool other_choice = table->choose && field->choice != 0 && field->choice != choice;
    if (!value) {
        if (field->flags & HFD_FIELD_REQUIRED && !other_choice)
            hfd_decode_error(
                d, &member, "is required: %s; expected %s", field->what, hfd_value_expected(field, d->arena));
        return;
    }
    if (other_choice) {
        if (choice != 0)
            hfd_decode_error(d, &member, "goes only with `%s`", key_of_choice(table, field->choice));
        return;
    }
    if (field->excludes && json_object_get(json, field->excludes)) {
        hfd_decode_error(d, &member, "may not stand beside `%s`", field->excludes);
        return;
    }
    if (field->needs && !json_object_get(json, field->needs))
        hfd_decode_error(d, &member, "needs `%s` beside it", field->needs);
    hfd_decode_field(d, field, &member, value, item);
}

static void refuse_unknown(
    const struct hfd_decoder *d, const struct hfd_table *table, const struct hfd_path *path, json_t *json) {
    const char *name;
    json_t *value;
    json_object_foreach(json, name, value) {
        if (hfd_table_field(table, name) || hfd_decode_full(d)) continue;
        struct hfd_path member = {.up = path, .name = name};
        hfd_decode_error(
            d, &member, "is no member of %s; expected %s", table->what, member_names(table, false, d->arena));
    }
}

static void decode_members(const struct hfd_decoder *d, const struct hfd_table *table,
    const struct hfd_path *path, json_t *json, void *item) {
    bool unknown;
    json_t **values = match(d, table, json, &unknown);
    int choice = table->choose ? choose(d, table, path, values) : 0;
    if (choice != 0 && item) {
        int value = choice - 1;
        memcpy((char *)item + table->choice_at, &value, sizeof value);
    }
    for (size_t i = 0; i < table->count; i++) {
        decode_member(d, table, &table->fields[i], choice, path, json, values[i], item);
    }
    if (unknown) refuse_unknown(d, table, path, json);
    if (table->check && item) table->check(d, path, item);
}

void hfd_decode_object(const struct hfd_decoder *d, const struct hfd_table *table,
    const struct hfd_path *path, json_t *json, void *item) {
    if (table->size == 0) item = NULL;
    if (item && table->init) table->init(item);
    if (json_is_object(json))
        decode_members(d, table, path, json, item);
    else
        hfd_decode_error(
            d, path, "expected an object (%s), got %s", table->what, hfd_value_got(json, d->arena));
}

/* ---------------------------------------------------------------- lists and alternatives */

static size_t item_size(const struct hfd_field *field) {
    if (field->table) return field->table->size;
    if (field->item == HFD_FIELD_TEXT) return sizeof(const char *);
    return field->item == HFD_FIELD_REAL ? sizeof(double) : sizeof(int);
}

static void decode_item(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, void *item) {
    if (field->table) {
        hfd_decode_object(d, field->table, path, json, item);
        return;
    }
    struct hfd_field one = {.name = field->name, .kind = field->item, .names = field->names};
    hfd_value_decode(d, &one, path, json, item);
}

static void decode_list(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, void *base) {
    bool single = field->flags & HFD_FIELD_SINGLE;
    size_t count = single ? 1 : json_array_size(json);
    if (!hf_limit_allows(field->limit, (double)count)) {
        const hf_limit_range *range = &hf_limits[field->limit];
        hfd_decode_error(d, path, "expected the %s between %g and %g, got %zu", range->what, range->low,
            range->high, count);
        return;
    }
    size_t size = item_size(field);
    void *at = place(field, base);
    char *items = at && size ? hf_arena_array(d->arena, count, size) : NULL;
    for (size_t i = 0; i < count; i++) {
        struct hfd_path item = {.up = path, .index = i};
        void *to = items ? items + i * size : NULL;
        if (single)
            decode_item(d, field, path, json, to);
        else
            decode_item(d, field, &item, json_array_get(json, i), to);
    }
    if (!items) return;
    memcpy(at, &items, sizeof items);
    memcpy((char *)base + field->count_at, &count, sizeof count);
}

static void decode_either(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, void *at) {
    const struct hfd_table *table = field->table;
    for (size_t i = 0; i < table->count; i++) {
        const struct hfd_field *one = &table->fields[i];
        if (!hfd_value_fits(one, json)) continue;
        if (one->choice != 0 && at) {
            int value = one->choice - 1;
            memcpy((char *)at + table->choice_at, &value, sizeof value);
        }
        hfd_decode_field(d, one, path, json, at);
        return;
    }
    hfd_decode_error(
        d, path, "expected %s, got %s", hfd_value_expected(field, d->arena), hfd_value_got(json, d->arena));
}

void hfd_decode_field(const struct hfd_decoder *d, const struct hfd_field *field, const struct hfd_path *path,
    json_t *json, void *base) {
    void *at = place(field, base);
    bool nested = field->kind == HFD_FIELD_OBJECT || field->kind == HFD_FIELD_LIST;
    if (base && field->present_at) *((bool *)((char *)base + field->present_at)) = true;
    if (field->kind == HFD_FIELD_EITHER)
        decode_either(d, field, path, json, at);
    else if (nested && !hfd_value_fits(field, json))
        hfd_decode_error(d, path, "expected %s, got %s", hfd_value_expected(field, d->arena),
            hfd_value_got(json, d->arena));
    else if (field->kind == HFD_FIELD_OBJECT)
        decode_members(d, field->table, path, json, field->table->size ? at : NULL);
    else if (field->kind == HFD_FIELD_LIST)
        decode_list(d, field, path, json, base);
    else
        hfd_value_decode(d, field, path, json, at);
}
