#include "schema.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "../json/answer_table.h"
#include "../json/case_table.h"
#include "../json/course_table.h"
#include "../json/outcome_table.h"
#include "../json/units.h"

/* Tables that have a name of their own; the others are written where they are used. */
static const struct {
    const struct hfd_table *table;
    const char *name;
    enum hfd_schema_use use;
} named[] = {
    {&hfd_case_table, "MechanicsDocument", HFD_SCHEMA_NEW},
    {&hfd_arches_table, "Arches", HFD_SCHEMA_NEW},
    {&hfd_tooth_table, "DocumentTooth", HFD_SCHEMA_NEW},
    {&hfd_segment_table, "DocumentSegment", HFD_SCHEMA_NEW},
    {&hfd_screw_table, "DocumentScrew", HFD_SCHEMA_NEW},
    {&hfd_plate_table, "DocumentPlate", HFD_SCHEMA_NEW},
    {&hfd_bar_table, "Bar", HFD_SCHEMA_NEW},
    {&hfd_section_table, "Section", HFD_SCHEMA_NEW},
    {&hfd_element_table, "Element", HFD_SCHEMA_NEW},
    {&hfd_point_table, "Point", HFD_SCHEMA_NEW},
    {&hfd_material_table, "Material", HFD_SCHEMA_NEW},
    {&hfd_range_table, "Range", HFD_SCHEMA_READ},
    {&hfd_answer_table, "Answer", HFD_SCHEMA_READ},
    {&hfd_progress_table, "Progress", HFD_SCHEMA_READ},
    {&hfd_outcomes_table, "Outcomes", HFD_SCHEMA_READ},
};

static const char *name_of(const struct hfd_table *table) {
    for (size_t i = 0; i < HFD_COUNT(named); i++)
        if (named[i].table == table) return named[i].name;
    return NULL;
}

void hfd_schema_name(struct hfd_buf *out, const char *noun) {
    bool begins = true;
    for (; *noun != '\0'; noun++) {
        if (*noun != ' ') hfd_buf_char(out, begins ? (char)toupper((unsigned char)*noun) : *noun);
        begins = *noun == ' ';
    }
}

static void put_line(struct hfd_buf *out, int indent, const char *text) {
    hfd_buf_printf(out, "%*s%s\n", indent, "", text);
}

/* YAML 1.1 takes a bare `on` for a truth value. */
static const char *key(const char *name) {
    return strcmp(name, "on") == 0 ? "\"on\"" : name;
}

static void put_name(struct hfd_buf *out, int indent, const char *name) {
    hfd_buf_printf(out, "%*s%s:", indent, "", key(name));
}

static void put_what(struct hfd_buf *out, const char *what) {
    if (what == NULL) return;
    hfd_buf_text(out, ", description: ");
    hfd_buf_json_string(out, what);
}

/* ---------------------------------------------------------------- leaves, in one line */

static void put_number(struct hfd_buf *out, const char *type, hf_limit limit) {
    const hf_limit_range *range = &hf_limits[limit];
    hfd_buf_printf(out, "type: %s", type);
    if (isfinite(range->low)) {
        hfd_buf_text(out, ", minimum: ");
        hfd_buf_json_real(out, range->low);
    }
    if (isfinite(range->high)) {
        hfd_buf_text(out, ", maximum: ");
        hfd_buf_json_real(out, range->high);
    }
}

static void put_names(struct hfd_buf *out, const char *const *names) {
    hfd_buf_text(out, "type: string, enum: [");
    const char *before = "";
    for (; *names != NULL; names++) {
        if (**names == '\0') continue;
        hfd_buf_text(out, before);
        hfd_buf_json_string(out, *names);
        before = ", ";
    }
    hfd_buf_char(out, ']');
}

static void put_vector(struct hfd_buf *out, const struct hfd_field *field) {
    hfd_buf_printf(out, "type: array, minItems: %zu, maxItems: %zu, items: {", field->count, field->count);
    put_number(out, "number", field->limit);
    hfd_buf_char(out, '}');
}

/* A number or vector in its own unit; bodies may tell it in any other of the same dimension. */
static void put_quantity(struct hfd_buf *out, const struct hfd_field *field, enum hfd_schema_use use) {
    const struct hfd_unit *unit = use == HFD_SCHEMA_READ ? NULL : hfd_unit_of_member(field->name);
    bool vector = field->kind == HFD_FIELD_REALS;
    if (unit != NULL) hfd_buf_text(out, "oneOf: [{");
    if (vector)
        put_vector(out, field);
    else
        put_number(out, "number", field->limit);
    if (unit != NULL)
        hfd_buf_printf(out, "}, {$ref: \"#/components/schemas/%s_%s\"}]", vector ? "Quantities" : "Quantity",
            hfd_dimension_names[unit->dimension]);
}

static const char TOOTH[] = "type: string, pattern: \"^[1-4][1-8]$\"";

static void put_leaf(struct hfd_buf *out, const struct hfd_field *field, enum hfd_schema_use use) {
    switch (field->kind) {
    case HFD_FIELD_BOOL:
    case HFD_FIELD_FLAG:
        hfd_buf_text(out, "type: boolean");
        break;
    case HFD_FIELD_INT:
        put_number(out, "integer", field->limit);
        break;
    case HFD_FIELD_REAL:
    case HFD_FIELD_REALS:
        put_quantity(out, field, use);
        break;
    case HFD_FIELD_LENGTH:
        hfd_buf_text(out, "type: number");
        break;
    case HFD_FIELD_DATE:
        hfd_buf_text(out, "type: string, format: date");
        break;
    case HFD_FIELD_ENUM:
    case HFD_FIELD_WORD:
        put_names(out, field->names);
        break;
    case HFD_FIELD_TOOTH:
        hfd_buf_text(out, TOOTH);
        break;
    case HFD_FIELD_TEETH:
        hfd_buf_printf(
            out, "type: array, minItems: %zu, maxItems: %zu, items: {%s}", field->count, field->count, TOOTH);
        break;
    default:
        hfd_buf_text(
            out, use == HFD_SCHEMA_READ ? "type: string" : "type: string, minLength: 1, maxLength: 200");
    }
}

/* ---------------------------------------------------------------- objects, lists, alternatives */

static void put_value(struct hfd_buf *out, int indent, const struct hfd_table *table, const char *what,
    enum hfd_schema_use use) {
    const char *name = name_of(table);
    if (name == NULL) {
        hfd_schema_table(out, indent, table, use);
        return;
    }
    hfd_buf_printf(out, " {$ref: \"#/components/schemas/%s\"", name);
    put_what(out, what);
    hfd_buf_text(out, "}\n");
}

static void put_list(
    struct hfd_buf *out, int indent, const struct hfd_field *field, enum hfd_schema_use use) {
    hfd_buf_char(out, '\n');
    put_line(out, indent + 2, "type: array");
    if (use != HFD_SCHEMA_READ && isfinite(hf_limits[field->limit].high))
        hfd_buf_printf(out, "%*smaxItems: %g\n", indent + 2, "", hf_limits[field->limit].high);
    hfd_buf_printf(out, "%*sdescription: ", indent + 2, "");
    hfd_buf_json_string(out, field->what);
    hfd_buf_char(out, '\n');
    put_name(out, indent + 2, "items");
    if (field->table != NULL) {
        put_value(out, indent + 2, field->table, NULL, use);
        return;
    }
    const struct hfd_field item = {.name = field->name, .kind = field->item, .names = field->names};
    hfd_buf_text(out, " {");
    put_leaf(out, &item, use);
    hfd_buf_text(out, "}\n");
}

static void put_either(
    struct hfd_buf *out, int indent, const struct hfd_table *table, enum hfd_schema_use use) {
    hfd_buf_char(out, '\n');
    put_line(out, indent + 2, "oneOf:");
    for (size_t i = 0; i < table->count; i++) {
        hfd_buf_printf(out, "%*s-", indent + 4, "");
        hfd_schema_field(out, indent + 4, &table->fields[i], use);
    }
}

void hfd_schema_field(
    struct hfd_buf *out, int indent, const struct hfd_field *field, enum hfd_schema_use use) {
    if (field->kind == HFD_FIELD_OBJECT ||
        (field->kind == HFD_FIELD_LIST && field->flags & HFD_FIELD_SINGLE)) {
        put_value(out, indent, field->table, field->what, use);
    } else if (field->kind == HFD_FIELD_LIST) {
        put_list(out, indent, field, use);
    } else if (field->kind == HFD_FIELD_EITHER) {
        if (name_of(field->table) != NULL)
            put_value(out, indent, field->table, field->what, use);
        else
            put_either(out, indent, field->table, use);
    } else {
        hfd_buf_text(out, " {");
        if (field->kind == HFD_FIELD_MAP)
            hfd_buf_text(out, "type: object, additionalProperties: {type: string}");
        else
            put_leaf(out, field, use);
        put_what(out, field->what);
        hfd_buf_text(out, "}\n");
    }
}

/* Exactly one of the KEY members. */
static void put_choice(struct hfd_buf *out, int indent, const struct hfd_table *table) {
    put_line(out, indent, "oneOf:");
    for (size_t i = 0; i < table->count; i++)
        if (table->fields[i].flags & HFD_FIELD_KEY)
            hfd_buf_printf(out, "%*s- {required: [%s]}\n", indent, "", table->fields[i].name);
}

/* Of what is computed: is it written whatever comes out? As encode.c writes it. */
static bool is_always_told(const struct hfd_field *field) {
    const unsigned left_out = HFD_FIELD_WHOLE | HFD_FIELD_SINGLE | HFD_FIELD_SEVERAL | HFD_FIELD_OMIT_EMPTY;
    const bool whatever =
        field->kind == HFD_FIELD_BOOL || field->kind == HFD_FIELD_LIST || field->kind == HFD_FIELD_MAP;
    return (whatever || field->flags & HFD_FIELD_REQUIRED) && !(field->flags & left_out) &&
           field->choice == 0 && field->present_at == 0;
}

static bool is_required(
    const struct hfd_table *table, const struct hfd_field *field, enum hfd_schema_use use) {
    if (use == HFD_SCHEMA_READ) return is_always_told(field);
    return field->flags & HFD_FIELD_REQUIRED && !(table->choose && field->choice != 0);
}

static void put_required(
    struct hfd_buf *out, int indent, const struct hfd_table *table, enum hfd_schema_use use) {
    const char *before = "";
    size_t length = out->length;
    hfd_buf_printf(out, "%*srequired: [", indent, "");
    for (size_t i = 0; i < table->count; i++) {
        const struct hfd_field *field = &table->fields[i];
        if (!is_required(table, field, use)) continue;
        hfd_buf_printf(out, "%s%s", before, key(field->name));
        before = ", ";
    }
    hfd_buf_text(out, "]\n");
    if (*before == '\0') hfd_buf_cut(out, length);
}

static void put_dependent(struct hfd_buf *out, int indent, const struct hfd_table *table) {
    for (size_t i = 0; i < table->count; i++) {
        const struct hfd_field *field = &table->fields[i];
        if (field->excludes != NULL)
            hfd_buf_printf(out, "%*snot: {required: [%s, %s]}\n", indent, "", field->name, field->excludes);
    }
}

void hfd_schema_table(
    struct hfd_buf *out, int indent, const struct hfd_table *table, enum hfd_schema_use use) {
    hfd_buf_char(out, '\n');
    put_line(out, indent + 2, "type: object");
    hfd_buf_printf(out, "%*sdescription: ", indent + 2, "");
    hfd_buf_json_string(out, table->what);
    hfd_buf_char(out, '\n');
    put_line(out, indent + 2, "additionalProperties: false");
    put_required(out, indent + 2, table, use);
    if (use != HFD_SCHEMA_READ) {
        if (table->choose) put_choice(out, indent + 2, table);
        put_dependent(out, indent + 2, table);
    }
    put_line(out, indent + 2, "properties:");
    for (size_t i = 0; i < table->count; i++) {
        put_name(out, indent + 4, table->fields[i].name);
        hfd_schema_field(out, indent + 4, &table->fields[i], use);
    }
}

/* ---------------------------------------------------------------- columns */

static void put_text(struct hfd_buf *out, const struct hfd_column *column) {
    hfd_buf_printf(
        out, "type: string, minLength: 1, maxLength: %zu", column->max ? column->max : HFD_TEXT_MAX);
}

static void put_scalar(struct hfd_buf *out, const struct hfd_column *column, enum hfd_schema_use use) {
    const struct hfd_field number = {.name = column->name, .kind = HFD_FIELD_REAL, .limit = column->limit};
    switch (column->kind) {
    case HFD_COLUMN_UUID:
        hfd_buf_text(out, "type: string, format: uuid");
        break;
    case HFD_COLUMN_IDS:
        hfd_buf_text(out, "type: array, items: {type: string, format: uuid}");
        break;
    case HFD_COLUMN_INT:
        put_number(out, "integer", column->limit);
        break;
    case HFD_COLUMN_REAL:
        put_quantity(out, &number, use);
        break;
    case HFD_COLUMN_BOOL:
        hfd_buf_text(out, "type: boolean");
        break;
    case HFD_COLUMN_DATE:
        hfd_buf_text(out, "type: string, format: date");
        break;
    case HFD_COLUMN_TIME:
        hfd_buf_text(out, "type: string, format: date-time");
        break;
    case HFD_COLUMN_ENUM:
        put_names(out, column->names);
        break;
    default:
        put_text(out, column);
    }
}

/* Rows keep parts as they came, so they read as they are written. A change replaces lists and merges objects.
 */
static void put_part(struct hfd_buf *out, int indent, const struct hfd_resource *resource,
    const struct hfd_column *column, enum hfd_schema_use use) {
    const struct hfd_field *field = column->shape->table->fields;
    while (strcmp(field->name, column->shape->member) != 0)
        field++;
    if (use == HFD_SCHEMA_NEW) {
        hfd_schema_field(out, indent, field, use);
    } else if (use == HFD_SCHEMA_CHANGE && field->kind != HFD_FIELD_LIST) {
        hfd_buf_text(out,
            " {description: \"Merged into what is there, then checked as in a new row; null removes.\"}\n");
    } else {
        hfd_buf_text(out, use == HFD_SCHEMA_CHANGE ? " {anyOf: [{type: \"null\"}, {" : " {");
        hfd_buf_text(out, "$ref: \"#/components/schemas/");
        hfd_schema_name(out, resource->noun);
        hfd_buf_printf(out, "New/properties/%s\"%s}\n", column->name, use == HFD_SCHEMA_CHANGE ? "}]" : "");
    }
}

void hfd_schema_column(struct hfd_buf *out, const struct hfd_column *column, enum hfd_schema_use use) {
    bool removable =
        use == HFD_SCHEMA_CHANGE && !(column->flags & (HFD_REQUIRED | HFD_READ_ONLY | HFD_FIXED));
    hfd_buf_text(out, removable ? " {anyOf: [{type: \"null\"}, {" : " {");
    put_scalar(out, column, use);
    if (removable) hfd_buf_text(out, "}]");
    if (column->initial != NULL && use == HFD_SCHEMA_NEW)
        hfd_buf_printf(out, ", default: %s", column->initial);
    if (use == HFD_SCHEMA_READ && column->flags & HFD_READ_ONLY) hfd_buf_text(out, ", readOnly: true");
    put_what(out, column->what);
    hfd_buf_text(out, "}\n");
}

static bool is_shown(const struct hfd_column *column, enum hfd_schema_use use) {
    return use != HFD_SCHEMA_NEW || !(column->flags & HFD_READ_ONLY);
}

static bool is_always_there(const struct hfd_column *column, enum hfd_schema_use use) {
    if (use == HFD_SCHEMA_READ && (column->flags & HFD_READ_ONLY || column->initial != NULL)) return true;
    return use != HFD_SCHEMA_CHANGE && column->flags & HFD_REQUIRED;
}

void hfd_schema_resource(
    struct hfd_buf *out, int indent, const struct hfd_resource *resource, enum hfd_schema_use use) {
    hfd_buf_char(out, '\n');
    put_line(out, indent + 2, "type: object");
    put_line(out, indent + 2, "additionalProperties: false");
    if (use != HFD_SCHEMA_CHANGE) {
        const char *before = "";
        hfd_buf_printf(out, "%*srequired: [", indent + 2, "");
        for (size_t i = 0; i < resource->column_count; i++)
            if (is_always_there(&resource->columns[i], use)) {
                hfd_buf_printf(out, "%s%s", before, resource->columns[i].name);
                before = ", ";
            }
        hfd_buf_text(out, "]\n");
    }
    put_line(out, indent + 2, "properties:");
    for (size_t i = 0; i < resource->column_count; i++) {
        if (!is_shown(&resource->columns[i], use)) continue;
        put_name(out, indent + 4, resource->columns[i].name);
        if (resource->columns[i].kind == HFD_COLUMN_PART)
            put_part(out, indent + 4, resource, &resource->columns[i], use);
        else
            hfd_schema_column(out, &resource->columns[i], use);
    }
}

/* ---------------------------------------------------------------- shared */

static void put_units(struct hfd_buf *out, enum hfd_dimension dimension) {
    const char *before = "";
    for (const struct hfd_unit *unit = hfd_units; unit->code != NULL; unit++) {
        if (unit->dimension != dimension) continue;
        hfd_buf_text(out, before);
        hfd_buf_json_string(out, unit->code);
        before = ", ";
    }
}

static void put_quantities(struct hfd_buf *out, enum hfd_dimension dimension) {
    static const char *const names[] = {"Quantity", "Quantities"},
                             *const values[] = {"{type: number}",
                                 "{type: array, minItems: 2, maxItems: 3, items: {type: number}}"};
    for (int i = 0; i < 2; i++) {
        hfd_buf_printf(out,
            "    %s_%s: {type: object, required: [value, unit], additionalProperties: false, properties: "
            "{value: %s, unit: {type: string, enum: [",
            names[i], hfd_dimension_names[dimension], values[i]);
        put_units(out, dimension);
        hfd_buf_text(out, "], description: \"UCUM code\"}}}\n");
    }
}

void hfd_schema_shared(struct hfd_buf *out) {
    for (enum hfd_dimension d = 0; d < HFD_DIMENSION_COUNT; d++)
        put_quantities(out, d);
    for (size_t i = 0; i < HFD_COUNT(named); i++) {
        put_name(out, 4, named[i].name);
        if (named[i].table == &hfd_point_table || named[i].table == &hfd_material_table)
            put_either(out, 4, named[i].table, named[i].use);
        else
            hfd_schema_table(out, 4, named[i].table, named[i].use);
    }
}
