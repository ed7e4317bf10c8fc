#include "record.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../base/date.h"
#include "../base/num.h"
#include "../base/uuid.h"
#include "canonical.h"
#include "decode.h"
#include "parse.h"
#include "value.h"

static const enum hfd_field_kind field_kinds[HFD_COLUMN_KIND_COUNT] = {
    [HFD_COLUMN_UUID] = HFD_FIELD_TEXT,
    [HFD_COLUMN_TEXT] = HFD_FIELD_TEXT,
    [HFD_COLUMN_INT] = HFD_FIELD_INT,
    [HFD_COLUMN_REAL] = HFD_FIELD_REAL,
    [HFD_COLUMN_BOOL] = HFD_FIELD_BOOL,
    [HFD_COLUMN_DATE] = HFD_FIELD_DATE,
    [HFD_COLUMN_TIME] = HFD_FIELD_TEXT,
    [HFD_COLUMN_ENUM] = HFD_FIELD_ENUM,
};

struct record {
    struct hfd_decoder decoder;
    const struct hfd_column *columns;
    size_t count;
    json_t *current, *merged; /* objects */
    const char **cells;
};

static const struct hfd_path root = {.name = ""};

static const struct hfd_column *find(const struct record *r, const char *name) {
    for (size_t i = 0; i < r->count; i++)
        if (strcmp(r->columns[i].name, name) == 0) return &r->columns[i];
    return NULL;
}

/* ---------------------------------------------------------------- merge patch */

/* RFC 7396, on a deep copy of the target: objects merge, null removes, everything else replaces. */
static void merge(json_t *target, json_t *patch) {
    const char *name;
    json_t *value;
    json_object_foreach(patch, name, value) {
        if (json_is_null(value)) {
            json_object_del(target, name);
        } else if (json_is_object(value)) {
            json_t *below = json_object_get(target, name);
            if (!json_is_object(below)) {
                json_object_set_new(target, name, json_object());
                below = json_object_get(target, name);
            }
            merge(below, value);
        } else {
            json_object_set_new(target, name, json_deep_copy(value));
        }
    }
}

/* ---------------------------------------------------------------- checks and cells */

static const char *text_error(const struct hfd_column *column, const char *text, hf_arena *arena) {
    size_t max = column->max ? column->max : HFD_TEXT_MAX, characters = 0;
    bool blank = true, control = false;
    for (const unsigned char *c = (const unsigned char *)text; *c; c++) {
        if (*c < 0x20 || *c == 0x7F) control = true;
        if (*c > ' ') blank = false;
        characters += (*c & 0xC0) != 0x80;
    }
    if (blank) return "may not be empty";
    if (control && !(column->flags & HFD_ANY_TEXT)) return "may not hold control characters";
    return characters > max ? hf_arena_printf(arena, "may not be longer than %zu characters", max) : NULL;
}

static const char *bare_text_error(const struct hfd_column *column, const char *text, hf_arena *arena) {
    if (column->kind != HFD_COLUMN_UUID) return text_error(column, text, arena);
    return hfd_uuid_valid(text) ? NULL : "expected a UUID";
}

static const char *part_cell(const struct record *r, const struct hfd_column *column, json_t *json) {
    const struct hfd_decoder *d = &r->decoder;
    const char *pointer = hf_arena_printf(d->arena, "/%s", column->name);
    if (!hfd_shape_check_json(column->shape, json, pointer, d->arena, d->errors)) return NULL;
    struct hfd_buf part;
    hfd_buf_init(&part, d->arena, 256);
    hfd_canonical_write(&part, json);
    return part.text;
}

static const char *text_cell(const struct record *r, const struct hfd_column *column, json_t *json) {
    const struct hfd_decoder *d = &r->decoder;
    const struct hfd_path path = {.up = &root, .name = column->name};
    const char *text = json_string_value(json);
    const char *fault =
        text ? bare_text_error(column, text, d->arena)
             : hf_arena_printf(d->arena, "expected a text, got %s", hfd_value_got(json, d->arena));
    if (fault == NULL) return hf_arena_strdup(d->arena, text);
    hfd_decode_error(d, &path, "%s", fault);
    return NULL;
}

static const char *number_cell(double value, hf_arena *arena) {
    char *number = hf_arena_alloc(arena, HFD_NUM_MAX);
    hfd_num_print(number, value);
    return number;
}

/* The cell of a value that may stand in the column; NULL: a fault was told. */
static const char *cell_of(const struct record *r, const struct hfd_column *column, json_t *json) {
    const struct hfd_decoder *d = &r->decoder;
    const struct hfd_path path = {.up = &root, .name = column->name};
    const struct hfd_field field = {.name = column->name,
        .kind = field_kinds[column->kind],
        .limit = column->limit,
        .names = column->names,
        .what = column->what};
    if (column->kind == HFD_COLUMN_PART) return part_cell(r, column, json);
    if (field.kind == HFD_FIELD_TEXT) return text_cell(r, column, json);
    union {
        int whole;
        double real;
        bool truth;
    } value = {0};
    size_t before = d->errors->count;
    hfd_value_decode(d, &field, &path, json, &value);
    if (d->errors->count > before) return NULL;
    if (field.kind == HFD_FIELD_BOOL) return value.truth ? "t" : "f";
    if (field.kind == HFD_FIELD_INT) return number_cell(value.whole, d->arena);
    if (field.kind == HFD_FIELD_REAL) return number_cell(value.real, d->arena);
    return hf_arena_strdup(d->arena, json_string_value(json));
}

/* What the server sets or what was fixed at creation may be sent again as it is. */
static bool is_unchangeable(const struct record *r, const struct hfd_column *column) {
    return column->flags & HFD_READ_ONLY || (column->flags & HFD_FIXED && r->current != NULL);
}

static void take_member(struct record *r, size_t i) {
    const struct hfd_column *column = &r->columns[i];
    const struct hfd_path path = {.up = &root, .name = column->name};
    json_t *value = json_object_get(r->merged, column->name);
    if (is_unchangeable(r, column)) {
        json_t *before = r->current ? json_object_get(r->current, column->name) : NULL;
        if (value != before && !json_equal(value, before))
            hfd_decode_error(&r->decoder, &path, "%s",
                column->flags & HFD_READ_ONLY ? "is set by the server" : "cannot be changed after creation");
        else if (value != NULL && !(column->flags & HFD_READ_ONLY))
            r->cells[i] = cell_of(r, column, value);
    } else if (value != NULL) {
        r->cells[i] = cell_of(r, column, value);
    } else if (column->flags & HFD_REQUIRED) {
        hfd_decode_error(&r->decoder, &path, "is required: %s", column->what);
    } else {
        r->cells[i] = column->initial;
    }
}

static void refuse_unknown(const struct record *r, json_t *patch) {
    const char *name;
    json_t *value;
    json_object_foreach(patch, name, value) {
        if (find(r, name) != NULL) continue;
        struct hfd_buf names;
        hfd_buf_init(&names, r->decoder.arena, 256);
        for (size_t i = 0; i < r->count; i++)
            if (!is_unchangeable(r, &r->columns[i]))
                hfd_buf_printf(&names, "%s`%s`", names.length ? ", " : "", r->columns[i].name);
        const struct hfd_path path = {.up = &root, .name = name};
        hfd_decode_error(&r->decoder, &path, "is no member here; expected %s", names.text);
    }
}

static bool take(struct record *r, json_t *patch) {
    refuse_unknown(r, patch);
    /* A new row is taken as it is told: there is nothing that null could remove. */
    r->merged = r->current ? json_deep_copy(r->current) : patch;
    if (r->current != NULL) merge(r->merged, patch);
    for (size_t i = 0; i < r->count; i++) {
        r->cells[i] = NULL;
        take_member(r, i);
    }
    return r->current == NULL || !json_equal(r->current, r->merged);
}

enum hfd_problem_kind hfd_record_merge(const struct hfd_column *columns, size_t count, const char *current,
    const char *patch, size_t patch_len, hf_arena *arena, const char **cells, bool *changed,
    struct hfd_errors *errors, const char **detail) {
    *changed = false;
    json_t *body = hfd_json_parse(patch, patch_len, arena, detail);
    if (body == NULL) return HFD_MALFORMED_JSON;
    struct record r = {.decoder = {arena, errors}, .columns = columns, .count = count, .cells = cells};
    if (json_is_object(body)) {
        const char *fault;
        r.current = current ? hfd_json_parse(current, strlen(current), arena, &fault) : NULL;
        *changed = take(&r, body);
    } else {
        hfd_decode_error(&r.decoder, &root, "expected an object, got %s", hfd_value_got(body, arena));
    }
    return errors->count > 0 ? HFD_VALIDATION : HFD_OK;
}

/* ---------------------------------------------------------------- the other way */

void hfd_record_write(
    struct hfd_buf *out, const struct hfd_column *columns, size_t count, const char *const *cells) {
    char before = '{';
    for (size_t i = 0; i < count; i++) {
        if (cells[i] == NULL) continue;
        hfd_buf_char(out, before);
        hfd_buf_char(out, '"');
        hfd_buf_text(out, columns[i].name); /* ours: nothing to escape */
        hfd_buf_text(out, "\":");
        before = ',';
        switch (columns[i].kind) {
        case HFD_COLUMN_INT:
        case HFD_COLUMN_REAL:
        case HFD_COLUMN_IDS:
        case HFD_COLUMN_PART:
            hfd_buf_text(out, cells[i]);
            break;
        case HFD_COLUMN_BOOL:
            hfd_buf_text(out, cells[i][0] == 't' ? "true" : "false");
            break;
        default:
            hfd_buf_json_string(out, cells[i]);
        }
    }
    hfd_buf_text(out, before == '{' ? "{}" : "}");
}

/* ---------------------------------------------------------------- bare text */

static bool is_name(const char *const *names, const char *text) {
    while (*names != NULL && strcmp(*names, text) != 0)
        names++;
    return *names != NULL;
}

/* As JSON would take it, so that no form reaches the database that a body could not. */
static bool is_number(const char *text, bool whole) {
    size_t length = strlen(text);
    if (length == 0 || strspn(text, whole ? "-0123456789" : "-+.eE0123456789") != length) return false;
    char *end;
    errno = 0;
    if (whole) {
        long value = strtol(text, &end, 10);
        return *end == '\0' && errno == 0 && value >= -2147483647 && value <= 2147483647;
    }
    strtod(text, &end);
    return *end == '\0' && errno == 0;
}

/* RFC 3339; a leap second is refused. */
static bool is_time(const char *text) {
    char day[HFD_DATE_TEXT] = "";
    int days, hour, minute, second, used = 0, zone_hour = 0, zone_minute = 0;
    if (strlen(text) < 20 || strspn(text, "0123456789-:.TZ+") != strlen(text)) return false;
    memcpy(day, text, 10);
    if (!hfd_date_parse(day, &days)) return false;
    if (sscanf(text + 10, "T%2d:%2d:%2d%n", &hour, &minute, &second, &used) != 3 || used != 9) return false;
    const char *p = text + 19;
    if (*p == '.') p += 1 + strspn(p + 1, "0123456789");
    if (p[-1] == '.') return false;
    if (*p == '+' || *p == '-') {
        if (sscanf(p + 1, "%2d:%2d%n", &zone_hour, &zone_minute, &used) != 2 || used != 5 || p[6] != '\0')
            return false;
    } else if (strcmp(p, "Z") != 0) {
        return false;
    }
    return hour < 24 && minute < 60 && second < 60 && zone_hour < 15 && zone_minute < 60;
}

const char *hfd_record_text_error(const struct hfd_column *column, const char *text, hf_arena *arena) {
    int day;
    switch (column->kind) {
    case HFD_COLUMN_UUID:
    case HFD_COLUMN_TEXT:
        return bare_text_error(column, text, arena);
    case HFD_COLUMN_INT:
        return is_number(text, true) ? NULL : "expected a whole number";
    case HFD_COLUMN_REAL:
        return is_number(text, false) ? NULL : "expected a number";
    case HFD_COLUMN_BOOL:
        return strcmp(text, "true") == 0 || strcmp(text, "false") == 0 ? NULL : "expected true or false";
    case HFD_COLUMN_DATE:
        return hfd_date_parse(text, &day) ? NULL : "expected a date YYYY-MM-DD";
    case HFD_COLUMN_TIME:
        return is_time(text) ? NULL : "expected a time such as 2026-03-02T07:05:09Z";
    case HFD_COLUMN_ENUM:
        return is_name(column->names, text) ? NULL : "expected one of the names of this member";
    default:
        return "cannot be asked for";
    }
}

/* ---------------------------------------------------------------- bare text as JSON */

static bool is_json(const char *text, hf_arena *arena) {
    const char *detail;
    return (*text == '{' || *text == '[') && hfd_json_parse(text, strlen(text), arena, &detail) != NULL;
}

/* JSON's own form of a number: no sign in front but a minus, no bare point. */
static bool is_json_number(const char *text) {
    const char *digits = text + (*text == '-'), *end = digits + strspn(digits, "0123456789");
    bool leading = end - digits > 1 && *digits == '0';
    if (end == digits || leading || !is_number(text, false)) return false;
    return *end != '.' || (end[1] >= '0' && end[1] <= '9');
}

void hfd_record_put_text(
    struct hfd_buf *out, const struct hfd_column *column, const char *text, hf_arena *arena) {
    bool bare = false;
    if (column->kind == HFD_COLUMN_INT || column->kind == HFD_COLUMN_REAL)
        bare = is_json_number(text) || is_json(text, arena);
    else if (column->kind == HFD_COLUMN_BOOL)
        bare = strcmp(text, "true") == 0 || strcmp(text, "false") == 0;
    else if (column->kind == HFD_COLUMN_PART || column->kind == HFD_COLUMN_IDS)
        bare = is_json(text, arena);
    hfd_buf_json_string(out, column->name);
    hfd_buf_char(out, ':');
    if (bare)
        hfd_buf_text(out, text);
    else
        hfd_buf_json_string(out, text);
}
