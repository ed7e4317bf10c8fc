#include "batch.h"

#include <string.h>

#include "decode.h"
#include "parse.h"
#include "value.h"

struct reader {
    struct hfd_decoder decoder;
    struct hfd_batch *batch;
    size_t current; /* item */
};

static const struct hfd_path root = {.name = ""};
static const struct hfd_path items = {.up = &root, .name = "items"};

/* ---------------------------------------------------------------- references */

/* The name in {"$ref": name}; NULL: the value is no reference. */
static json_t *reference(json_t *json) {
    return json_object_size(json) == 1 ? json_object_get(json, "$ref") : NULL;
}

/* The id that takes the reference's place, or NULL after an error. */
static json_t *resolve(const struct reader *r, const struct hfd_path *path, json_t *reference_name) {
    const char *name = json_string_value(reference_name);
    struct hfd_batch_item *item = &r->batch->items[r->current];
    for (size_t i = 0; name != NULL && i < r->current; i++) {
        const struct hfd_batch_item *earlier = &r->batch->items[i];
        if (earlier->ref == NULL || strcmp(earlier->ref, name) != 0) continue;
        item->uses[i] = true;
        return json_string(earlier->id);
    }
    const struct hfd_path at = {.up = path, .name = "$ref"};
    hfd_decode_error(&r->decoder, &at, "must be the `ref` of an earlier item that creates a row");
    return NULL;
}

static void replace_below(const struct reader *r, const struct hfd_path *path, json_t *json) {
    const char *name;
    json_t *value, *found;
    size_t i;
    json_object_foreach(json, name, value) {
        const struct hfd_path at = {.up = path, .name = name};
        if (reference(value) == NULL)
            replace_below(r, &at, value);
        else if ((found = resolve(r, &at, reference(value))) != NULL)
            json_object_set_new(json, name, found);
    }
    json_array_foreach(json, i, value) {
        const struct hfd_path at = {.up = path, .index = i};
        if (reference(value) == NULL)
            replace_below(r, &at, value);
        else if ((found = resolve(r, &at, reference(value))) != NULL)
            json_array_set_new(json, i, found);
    }
}

/* ---------------------------------------------------------------- items */

/* As it came: numbers with the digits that read back the same, whole ones and others told apart. */
static const char *text_of(json_t *json, hf_arena *arena) {
    const size_t flags = JSON_COMPACT | JSON_REAL_PRECISION(17), size = json_dumpb(json, NULL, 0, flags);
    char *text = hf_arena_alloc(arena, size + 1);
    json_dumpb(json, text, size, flags);
    return text;
}

static const char *take_text(
    const struct reader *r, const struct hfd_path *path, json_t *json, const char *name) {
    static const struct hfd_field field = {.kind = HFD_FIELD_TEXT};
    json_t *value = json_object_get(json, name);
    const struct hfd_path at = {.up = path, .name = name};
    const char *text = NULL;
    if (value != NULL) hfd_value_decode(&r->decoder, &field, &at, value, &text);
    return text;
}

static void take_method(const struct reader *r, const struct hfd_path *path, json_t *json) {
    struct hfd_batch_item *item = &r->batch->items[r->current];
    const char *name = json_string_value(json_object_get(json, "method"));
    const struct hfd_path at = {.up = path, .name = "method"};
    item->method = HFD_METHOD_OTHER;
    if (name != NULL && strcmp(name, "POST") == 0)
        item->method = HFD_POST;
    else if (name != NULL && strcmp(name, "PATCH") == 0)
        item->method = HFD_PATCH;
    else
        hfd_decode_error(&r->decoder, &at, "must be \"POST\" or \"PATCH\"");
}

static void take_ref(const struct reader *r, const struct hfd_path *path, json_t *json) {
    struct hfd_batch_item *item = &r->batch->items[r->current];
    const struct hfd_path at = {.up = path, .name = "ref"};
    item->ref = take_text(r, path, json, "ref");
    if (item->ref == NULL) return;
    if (item->method == HFD_PATCH) hfd_decode_error(&r->decoder, &at, "goes only with \"POST\"");
    for (size_t i = 0; i < r->current; i++) {
        const char *earlier = r->batch->items[i].ref;
        if (earlier != NULL && strcmp(earlier, item->ref) == 0)
            hfd_decode_error(&r->decoder, &at, "item %zu has this name already", i);
    }
}

static void take_body(const struct reader *r, const struct hfd_path *path, json_t *json) {
    json_t *body = json_object_get(json, "body");
    const struct hfd_path at = {.up = path, .name = "body"};
    if (!json_is_object(body)) {
        hfd_decode_error(&r->decoder, &at, "is required: an object");
        return;
    }
    replace_below(r, &at, body);
    r->batch->items[r->current].body = text_of(body, r->decoder.arena);
}

static void refuse_unknown(const struct reader *r, const struct hfd_path *path, json_t *json) {
    static const char *const names[] = {"method", "path", "if_match", "ref", "body"};
    const char *name;
    json_t *value;
    json_object_foreach(json, name, value) {
        size_t i = 0;
        while (i < sizeof names / sizeof *names && strcmp(names[i], name) != 0)
            i++;
        const struct hfd_path at = {.up = path, .name = name};
        if (i == sizeof names / sizeof *names)
            hfd_decode_error(
                &r->decoder, &at, "is no member here; expected `method`, `path`, `if_match`, `ref`, `body`");
    }
}

static void take_item(const struct reader *r, json_t *json) {
    struct hfd_batch_item *item = &r->batch->items[r->current];
    const struct hfd_path path = {.up = &items, .index = r->current}, at = {.up = &path, .name = "path"};
    hfd_uuid_new(item->id);
    if (!json_is_object(json)) {
        hfd_decode_error(
            &r->decoder, &path, "expected an object, got %s", hfd_value_got(json, r->decoder.arena));
        return;
    }
    refuse_unknown(r, &path, json);
    take_method(r, &path, json);
    item->path = take_text(r, &path, json, "path");
    if (json_object_get(json, "path") == NULL)
        hfd_decode_error(&r->decoder, &at, "is required: such as /v1/patients");
    item->if_match = take_text(r, &path, json, "if_match");
    take_ref(r, &path, json);
    take_body(r, &path, json);
}

static void take(struct reader *r, json_t *json) {
    json_t *list = json_object_get(json, "items"), *value;
    size_t count = json_array_size(list);
    if (json_object_size(json) != 1 || list == NULL) {
        hfd_decode_error(&r->decoder, &root, "expected an object with one member, `items`");
        return;
    }
    if (count < 1 || count > HFD_BATCH_ITEMS_MAX) {
        hfd_decode_error(&r->decoder, &items, "expected a list of 1 to %d items", HFD_BATCH_ITEMS_MAX);
        return;
    }
    r->batch->items = HF_NEW_ARRAY(r->decoder.arena, struct hfd_batch_item, count);
    r->batch->count = count;
    json_array_foreach(list, r->current, value) take_item(r, value);
}

enum hfd_problem_kind hfd_batch_read(const char *text, size_t length, hf_arena *arena, struct hfd_batch *out,
    struct hfd_errors *errors, const char **detail) {
    *out = (struct hfd_batch){0};
    struct reader reader = {.decoder = {arena, errors}, .batch = out};
    json_t *json = hfd_json_parse(text, length, arena, detail);
    if (!json) return HFD_MALFORMED_JSON;
    take(&reader, json);
    return errors->count > 0 ? HFD_VALIDATION : HFD_OK;
}
