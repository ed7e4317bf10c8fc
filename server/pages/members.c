#include "members.h"

#include <string.h>

#define SCHEMAS "#/components/schemas/"

void hfd_put_prose(struct hfd_buf *out, const char *text) {
    bool code = false;
    for (size_t length; *text != '\0'; text += length) {
        length = strcspn(text, "`");
        hfd_html(out, "%s", hf_arena_printf(out->arena, "%.*s", (int)length, text));
        if (text[length] == '\0') continue;
        hfd_buf_text(out, code ? "</code>" : "<code>");
        code = !code;
        length++;
    }
}

/* ---------------------------------------------------------------- in line */

/* "#/components/schemas/Visit/properties/worn" is worn of Visit. */
static void put_reference(struct hfd_buf *out, const char *reference) {
    const char *name = reference + strlen(SCHEMAS), *member = strrchr(name, '/');
    const char *schema = hf_arena_printf(out->arena, "%.*s", (int)strcspn(name, "/"), name);
    if (member != NULL) hfd_html(out, "<code>%s</code> of ", member + 1);
    hfd_html(out, "<a href=\"#%s\">%s</a>", schema, schema);
}

static void put_between(struct hfd_buf *out, const char *low, const char *high, const char *what) {
    if (low != NULL && high != NULL && strcmp(low, high) == 0)
        hfd_html(out, "%s%s", low, what);
    else if (low != NULL && high != NULL)
        hfd_html(out, "%s to %s%s", low, high, what);
    else
        hfd_html(out, low ? "at least %s%s" : "at most %s%s", low ? low : high, what);
}

static void put_limits(struct hfd_buf *out, const struct hfd_yaml *schema, const char *least,
    const char *most, const char *what) {
    const char *low = hfd_yaml_text(schema, least), *high = hfd_yaml_text(schema, most);
    if (low == NULL && high == NULL) return;
    hfd_buf_text(out, ", ");
    put_between(out, low, high, what);
}

static void put_words(struct hfd_buf *out, const struct hfd_yaml *list, const char *between) {
    for (const struct hfd_yaml *word = list->first; word != NULL; word = word->next)
        hfd_html(out, "%s<code>%s</code>", word == list->first ? "" : between, word->text);
}

static void put_text_kind(struct hfd_buf *out, const struct hfd_yaml *schema) {
    static const char *const formats[][2] = {
        {"uuid", "UUID"}, {"date", "date, 2026-03-02"}, {"date-time", "time (RFC 3339)"}};
    const char *format = hfd_yaml_text(schema, "format"), *pattern = hfd_yaml_text(schema, "pattern");
    const char *name = "text";
    for (size_t i = 0; format != NULL && i < sizeof formats / sizeof *formats; i++)
        if (strcmp(formats[i][0], format) == 0) name = formats[i][1];
    hfd_buf_text(out, name);
    if (pattern != NULL) hfd_html(out, " like <code>%s</code>", pattern);
    put_limits(out, schema, "minLength", "maxLength", " characters");
}

/* The choice of an object: what must or may not stand together. */
static void put_object_kind(struct hfd_buf *out, const struct hfd_yaml *schema) {
    const struct hfd_yaml *others = hfd_yaml_at(schema, "additionalProperties"),
                          *choice = hfd_yaml_at(schema, "oneOf"),
                          *never = hfd_yaml_at(hfd_yaml_at(schema, "not"), "required");
    hfd_buf_text(out, "object");
    if (others != NULL && others->first != NULL) {
        hfd_buf_text(out, hfd_yaml_at(schema, "properties") ? ", others: " : ", each member: ");
        hfd_put_kind(out, others);
    }
    if (choice != NULL) hfd_buf_text(out, " with exactly one of ");
    for (const struct hfd_yaml *one = choice ? choice->first : NULL; one != NULL; one = one->next) {
        put_words(out, hfd_yaml_at(one, "required"), " and ");
        if (one->next != NULL) hfd_buf_text(out, ", ");
    }
    if (never != NULL) {
        hfd_buf_text(out, ", never with both ");
        put_words(out, never, " and ");
    }
}

static void put_either(struct hfd_buf *out, const struct hfd_yaml *choice) {
    for (const struct hfd_yaml *one = choice->first; one != NULL; one = one->next) {
        hfd_put_kind(out, one);
        if (one->next != NULL) hfd_buf_text(out, ", or ");
    }
}

static void put_list_kind(struct hfd_buf *out, const struct hfd_yaml *schema) {
    const char *least = hfd_yaml_text(schema, "minItems"), *most = hfd_yaml_text(schema, "maxItems");
    hfd_buf_text(out, "list of ");
    if (least != NULL || most != NULL) put_between(out, least, most, " × ");
    hfd_put_kind(out, hfd_yaml_at(schema, "items"));
}

static void put_typed(struct hfd_buf *out, const struct hfd_yaml *schema) {
    const struct hfd_yaml *type = hfd_yaml_at(schema, "type");
    if (type == NULL) {
        hfd_buf_text(out, "as described");
    } else if (type->text == NULL) { /* several, without further bounds */
        put_words(out, type, " or ");
    } else if (strcmp(type->text, "object") == 0) {
        put_object_kind(out, schema);
    } else if (strcmp(type->text, "array") == 0) {
        put_list_kind(out, schema);
    } else if (strcmp(type->text, "string") == 0) {
        put_text_kind(out, schema);
    } else if (strcmp(type->text, "boolean") == 0) {
        hfd_buf_text(out, "<code>true</code> or <code>false</code>");
    } else {
        hfd_html(out, "%s", strcmp(type->text, "integer") == 0 ? "whole number" : type->text);
        put_limits(out, schema, "minimum", "maximum", "");
    }
}

void hfd_put_kind(struct hfd_buf *out, const struct hfd_yaml *schema) {
    const struct hfd_yaml *names = hfd_yaml_at(schema, "enum"), *either = hfd_yaml_at(schema, "anyOf");
    const char *reference = hfd_yaml_text(schema, "$ref"), *constant = hfd_yaml_text(schema, "const"),
               *initial = hfd_yaml_text(schema, "default");
    if (either == NULL && !hfd_yaml_says(schema, "type", "object")) either = hfd_yaml_at(schema, "oneOf");
    if (reference != NULL)
        put_reference(out, reference);
    else if (constant != NULL)
        hfd_html(out, "<code>%s</code>", constant);
    else if (names != NULL)
        put_words(out, names, ", ");
    else if (either != NULL)
        put_either(out, either);
    else
        put_typed(out, schema);
    if (initial != NULL) hfd_html(out, "; left out: <code>%s</code>", initial);
}

/* ---------------------------------------------------------------- as a table */

static bool is_required(const struct hfd_yaml *schema, const char *name) {
    const struct hfd_yaml *required = hfd_yaml_at(schema, "required");
    for (const struct hfd_yaml *one = required ? required->first : NULL; one != NULL; one = one->next)
        if (strcmp(one->text, name) == 0) return true;
    return false;
}

static void put_rows(struct hfd_buf *out, const struct hfd_yaml *schema, const char *way);

static void put_row(
    struct hfd_buf *out, const struct hfd_yaml *schema, const struct hfd_yaml *member, const char *way) {
    const char *what = hfd_yaml_text(member, "description");
    const char *name = hf_arena_printf(out->arena, "%s%s%s", way, *way ? "." : "", member->key);
    hfd_html(out, "<tr><th scope=\"row\"><code>%s</code>%s</th><td>", name,
        is_required(schema, member->key) ? " *" : "");
    hfd_put_kind(out, member);
    hfd_buf_text(out, "</td><td>");
    if (what != NULL) hfd_put_prose(out, what);
    if (hfd_yaml_says(member, "readOnly", "true")) hfd_buf_text(out, " Set by the service.");
    hfd_buf_text(out, "</td></tr>\n");
    put_rows(out, member, name);
}

/* Of the object that it is, or whose list or alternative it is. */
static void put_rows(struct hfd_buf *out, const struct hfd_yaml *schema, const char *way) {
    static const char *const choices[] = {"oneOf", "anyOf"};
    const struct hfd_yaml *members = hfd_yaml_at(schema, "properties"), *items = hfd_yaml_at(schema, "items"),
                          *others = hfd_yaml_at(schema, "additionalProperties");
    for (const struct hfd_yaml *member = members ? members->first : NULL; member != NULL;
         member = member->next)
        put_row(out, schema, member, way);
    if (items != NULL) put_rows(out, items, hf_arena_printf(out->arena, "%s[]", way));
    if (others != NULL) put_rows(out, others, hf_arena_printf(out->arena, "%s%s…", way, *way ? "." : ""));
    for (int i = 0; i < 2; i++) {
        const struct hfd_yaml *choice = hfd_yaml_at(schema, choices[i]);
        for (const struct hfd_yaml *one = choice ? choice->first : NULL; one != NULL; one = one->next)
            put_rows(out, one, way);
    }
}

void hfd_put_members(struct hfd_buf *out, const struct hfd_yaml *schema, const char *caption) {
    size_t before = out->length;
    hfd_html(out,
        "<table class=\"members\">\n<caption>%s</caption>\n<thead><tr><th scope=\"col\">Member</th>"
        "<th scope=\"col\">Is</th><th scope=\"col\">Means</th></tr></thead>\n<tbody>\n",
        caption);
    size_t begin = out->length;
    put_rows(out, schema, "");
    if (out->length == begin)
        hfd_buf_cut(out, before);
    else
        hfd_buf_text(out, "</tbody>\n</table>\n");
}
