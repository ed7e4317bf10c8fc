#include "value.h"

#include <math.h>
#include <string.h>

#include "../../core/case.h"
#include "../../core/tooth.h"
#include "../base/buf.h"
#include "../base/date.h"
#include "units.h"

#define TEXT_MAX 200 /* characters */

static const char *expected_number(const struct hfd_field *field, hf_arena *arena) {
    const struct hfd_unit *unit = hfd_unit_of_member(field->name);
    const char *what = field->kind == HFD_FIELD_REALS
                           ? hf_arena_printf(arena, "an array of %zu numbers", field->count)
                           : "a number";
    if (!unit) return what;
    return hf_arena_printf(arena, "%s in %s, or {\"value\": …, \"unit\": …}", what, unit->code);
}

static const char *expected_words(const char *const *names, hf_arena *arena) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, arena, 64);
    size_t named = 0;
    for (; *names; names++) {
        if (!**names) continue;
        hfd_buf_printf(&buf, "%s\"%s\"", named++ ? ", " : "", *names);
    }
    return named > 1 ? hf_arena_printf(arena, "one of %s", buf.text) : buf.text;
}

static const char *expected_either(const struct hfd_table *table, hf_arena *arena) {
    const char *text = NULL;
    for (size_t i = 0; i < table->count; i++) {
        const char *one = hfd_value_expected(&table->fields[i], arena);
        text = text ? hf_arena_printf(arena, "%s, or %s", text, one) : one;
    }
    return text;
}

const char *hfd_value_expected(const struct hfd_field *field, hf_arena *arena) {
    switch (field->kind) {
    case HFD_FIELD_BOOL:
    case HFD_FIELD_FLAG:
        return "true or false";
    case HFD_FIELD_INT:
        return "a whole number";
    case HFD_FIELD_REAL:
    case HFD_FIELD_REALS:
        return expected_number(field, arena);
    case HFD_FIELD_TEXT:
        return "a text";
    case HFD_FIELD_DATE:
        return "a date YYYY-MM-DD from 1900-01-01 to 2200-12-31";
    case HFD_FIELD_ENUM:
    case HFD_FIELD_WORD:
        return expected_words(field->names, arena);
    case HFD_FIELD_TOOTH:
        return "a permanent tooth in ISO 3950 as text, \"11\" to \"48\"";
    case HFD_FIELD_TEETH:
        return hf_arena_printf(arena, "an array of %zu teeth in ISO 3950 as text", field->count);
    case HFD_FIELD_EITHER:
        return expected_either(field->table, arena);
    case HFD_FIELD_OBJECT:
        return hf_arena_printf(arena, "an object (%s)", field->table->what);
    case HFD_FIELD_LIST:
        return field->flags & HFD_FIELD_SINGLE ? hf_arena_printf(arena, "an object (%s)", field->table->what)
                                               : "an array";
    case HFD_FIELD_MAP:
    case HFD_FIELD_LENGTH:
        break;
    }
    return "nothing";
}

const char *hfd_value_got(json_t *json, hf_arena *arena) {
    struct hfd_buf buf;
    hfd_buf_init(&buf, arena, 64);
    switch (json_typeof(json)) {
    case JSON_OBJECT:
        return "an object";
    case JSON_ARRAY:
        return hf_arena_printf(arena, "an array of %zu", json_array_size(json));
    case JSON_STRING:
        hfd_buf_text(&buf, "the text ");
        hfd_buf_json_string(&buf, json_string_value(json));
        if (buf.length <= 80) return buf.text;
        hfd_buf_cut(&buf, 76);
        hfd_buf_text(&buf, "…\"");
        return buf.text;
    case JSON_INTEGER:
    case JSON_REAL:
        hfd_buf_json_real(&buf, json_number_value(json));
        return buf.text;
    case JSON_TRUE:
        return "true";
    case JSON_FALSE:
        return "false";
    case JSON_NULL:
        break;
    }
    return "null";
}

static bool is_quantity(const struct hfd_field *field, json_t *json) {
    return json_is_object(json) && json_object_get(json, "value") && hfd_unit_of_member(field->name);
}

bool hfd_value_fits(const struct hfd_field *field, json_t *json) {
    if (field->when && !json_object_get(json, field->when)) return false;
    switch (field->kind) {
    case HFD_FIELD_BOOL:
    case HFD_FIELD_FLAG:
        return json_is_boolean(json);
    case HFD_FIELD_INT:
        return json_is_number(json);
    case HFD_FIELD_REAL:
        return json_is_number(json) ||
               (is_quantity(field, json) && !json_is_array(json_object_get(json, "value")));
    case HFD_FIELD_REALS:
        return json_is_array(json) || is_quantity(field, json);
    case HFD_FIELD_TEETH:
        return json_is_array(json);
    case HFD_FIELD_WORD:
        return json_is_string(json) && strcmp(json_string_value(json), field->names[0]) == 0;
    case HFD_FIELD_OBJECT:
        return json_is_object(json);
    case HFD_FIELD_LIST:
        return field->flags & HFD_FIELD_SINGLE ? json_is_object(json) : json_is_array(json);
    default:
        return json_is_string(json);
    }
}

static void wrong_type(
    const struct hfd_decoder *d, const struct hfd_field *field, const struct hfd_path *path, json_t *json) {
    if (hfd_decode_full(d)) return;
    hfd_decode_error(
        d, path, "expected %s, got %s", hfd_value_expected(field, d->arena), hfd_value_got(json, d->arena));
}

/* ---------------------------------------------------------------- numbers */

/* Takes {"value", …} apart, which is_quantity has seen. False: a fault was told. */
static bool open_quantity(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t **json, const struct hfd_unit **unit) {
    *unit = hfd_unit_of_member(field->name);
    if (!json_is_object(*json) || !*unit) return true;
    json_t *value = json_object_get(*json, "value"), *code = json_object_get(*json, "unit");
    struct hfd_path below = {.up = path, .name = "unit"};
    const struct hfd_unit *given = json_is_string(code) ? hfd_unit_find(json_string_value(code)) : NULL;
    const char *dimension = hfd_dimension_names[(*unit)->dimension];
    bool right = false;
    if (!code)
        hfd_decode_error(d, &below, "is required beside `value`: the UCUM code of a %s, such as \"%s\"",
            dimension, (*unit)->code);
    else if (!given)
        hfd_decode_error(d, &below, "expected the UCUM code of a %s, such as \"%s\", got %s", dimension,
            (*unit)->code, hfd_value_got(code, d->arena));
    else if (given->dimension != (*unit)->dimension)
        hfd_decode_error(d, &below, "expected a unit of %s, such as \"%s\"; \"%s\" is one of %s", dimension,
            (*unit)->code, given->code, hfd_dimension_names[given->dimension]);
    else
        right = true;
    const char *name;
    json_t *unused;
    json_object_foreach(*json, name, unused) {
        if (strcmp(name, "value") == 0 || strcmp(name, "unit") == 0) continue;
        below.name = name;
        hfd_decode_error(d, &below, "is no member of a quantity; expected `value` and `unit`");
        right = false;
    }
    *json = value;
    *unit = given;
    return right;
}

static void out_of_range(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, double value, double given, const struct hfd_unit *given_unit) {
    const hf_limit_range *range = &hf_limits[field->limit];
    const struct hfd_unit *own = hfd_unit_of_member(field->name);
    if (field->limit == HF_LIMIT_NONE) {
        hfd_decode_error(d, path, "is too large a number");
        return;
    }
    struct hfd_buf got;
    hfd_buf_init(&got, d->arena, 64);
    hfd_buf_json_real(&got, given);
    if (given_unit) hfd_buf_printf(&got, " %s", given_unit->code);
    if (given_unit != own) {
        hfd_buf_text(&got, " = ");
        hfd_buf_json_real12(&got, value);
        hfd_buf_printf(&got, " %s", own->code);
    }
    struct hfd_buf bounds;
    hfd_buf_init(&bounds, d->arena, 64);
    hfd_buf_json_real(&bounds, range->low);
    hfd_buf_text(&bounds, " and ");
    hfd_buf_json_real(&bounds, range->high);
    if (own) hfd_buf_printf(&bounds, " %s", own->code);
    hfd_decode_error(d, path, "expected the %s between %s, got %s", range->what, bounds.text, got.text);
}

/* One number into *out (left as it was on a fault). `unit`: that it is told in; NULL for a bare number. */
static void decode_number(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, const struct hfd_unit *unit, double *out) {
    if (!json_is_number(json)) {
        hfd_decode_error(d, path, "expected a number, got %s", hfd_value_got(json, d->arena));
        return;
    }
    double given = json_number_value(json);
    double value = unit ? hfd_unit_convert(given, unit, hfd_unit_of_member(field->name)) : given;
    if (!isfinite(value) || !hf_limit_allows(field->limit, value))
        out_of_range(d, field, path, value, given, unit);
    else if (out)
        *out = value;
}

static void decode_real(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, double *out) {
    const struct hfd_unit *unit;
    struct hfd_path inside = {.up = path, .name = "value"};
    if (!hfd_value_fits(field, json) && !is_quantity(field, json)) {
        wrong_type(d, field, path, json);
        return;
    }
    bool quantity = json_is_object(json);
    if (open_quantity(d, field, path, &json, &unit))
        decode_number(d, field, quantity ? &inside : path, json, unit, out);
}

static void decode_reals(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, double *out) {
    const struct hfd_unit *unit;
    struct hfd_path inside = {.up = path, .name = "value"};
    if (!hfd_value_fits(field, json)) {
        wrong_type(d, field, path, json);
        return;
    }
    if (json_is_object(json)) {
        if (!open_quantity(d, field, path, &json, &unit)) return;
        path = &inside;
    } else {
        unit = hfd_unit_of_member(field->name);
    }
    if (json_array_size(json) != field->count) {
        hfd_decode_error(
            d, path, "expected an array of %zu numbers, got %s", field->count, hfd_value_got(json, d->arena));
        return;
    }
    for (size_t i = 0; i < field->count; i++) {
        struct hfd_path component = {.up = path, .index = i};
        decode_number(d, field, &component, json_array_get(json, i), unit, out ? out + i : NULL);
    }
}

static void decode_int(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, int *out) {
    double value = json_number_value(json); /* 42.0 is the same number as 42 */
    if (!json_is_number(json) || value != floor(value))
        wrong_type(d, field, path, json);
    else if (!hf_limit_allows(field->limit, value) || fabs(value) > 2147483647.0)
        out_of_range(d, field, path, value, value, NULL);
    else if (out)
        *out = (int)value;
}

/* ---------------------------------------------------------------- words */

static const char *text_fault(const char *text) {
    size_t characters = 0;
    bool blank = true;
    for (const unsigned char *c = (const unsigned char *)text; *c; c++) {
        if (*c < 0x20 || *c == 0x7F) return "may not hold control characters";
        if (*c != ' ') blank = false;
        characters += (*c & 0xC0) != 0x80;
    }
    if (blank) return "may not be empty";
    return characters > TEXT_MAX ? "may not be longer than 200 characters" : NULL;
}

static void decode_text(
    const struct hfd_decoder *d, const struct hfd_path *path, json_t *json, const char **out) {
    const char *fault = text_fault(json_string_value(json));
    if (fault)
        hfd_decode_error(d, path, "%s", fault);
    else if (out)
        *out = hf_arena_strdup(d->arena, json_string_value(json));
}

static int place_in(const char *const *names, const char *word) {
    for (int i = 0; names[i]; i++) {
        if (*names[i] && strcmp(names[i], word) == 0) return i;
    }
    return -1;
}

static int tooth_of(json_t *json) {
    const char *text = json_string_value(json);
    if (!text || strspn(text, "0123456789") != 2 || text[2] != '\0') return HF_ABSENT;
    int tooth = (text[0] - '0') * 10 + (text[1] - '0');
    return hf_tooth_is_permanent(tooth) ? tooth : HF_ABSENT;
}

static void decode_teeth(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, int *out) {
    static const struct hfd_field one = {.kind = HFD_FIELD_TOOTH};
    if (json_array_size(json) != field->count) {
        wrong_type(d, field, path, json);
        return;
    }
    for (size_t i = 0; i < field->count; i++) {
        struct hfd_path item = {.up = path, .index = i};
        hfd_value_decode(d, &one, &item, json_array_get(json, i), out ? out + i : NULL);
    }
}

/* Values told by one word; the type is right already. */
static void decode_word(const struct hfd_decoder *d, const struct hfd_field *field,
    const struct hfd_path *path, json_t *json, void *at) {
    const char *text = json_string_value(json);
    int value = 0;
    bool right = true;
    if (field->kind == HFD_FIELD_DATE)
        right = hfd_date_parse(text, &value);
    else if (field->kind == HFD_FIELD_TOOTH)
        right = (value = tooth_of(json)) != HF_ABSENT;
    else
        right = (value = place_in(field->names, text)) >= 0;
    if (!right) {
        wrong_type(d, field, path, json);
        return;
    }
    if (!at) return;
    if (field->kind == HFD_FIELD_WORD)
        *(bool *)at = true;
    else
        *(int *)at = value;
}

void hfd_value_decode(const struct hfd_decoder *d, const struct hfd_field *field, const struct hfd_path *path,
    json_t *json, void *at) {
    switch (field->kind) {
    case HFD_FIELD_REAL:
        decode_real(d, field, path, json, at);
        return;
    case HFD_FIELD_REALS:
        decode_reals(d, field, path, json, at);
        return;
    case HFD_FIELD_INT:
        decode_int(d, field, path, json, at);
        return;
    case HFD_FIELD_TEETH:
        decode_teeth(d, field, path, json, at);
        return;
    default:
        break;
    }
    if (!hfd_value_fits(field, json))
        wrong_type(d, field, path, json);
    else if (field->kind == HFD_FIELD_BOOL && at)
        *(bool *)at = json_is_true(json);
    else if (field->kind == HFD_FIELD_FLAG && at)
        *(int *)at = json_is_true(json);
    else if (field->kind == HFD_FIELD_TEXT)
        decode_text(d, path, json, at);
    else if (json_is_string(json))
        decode_word(d, field, path, json, at);
}
