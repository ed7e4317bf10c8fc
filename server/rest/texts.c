#include "texts.h"

#include <string.h>

int hfd_column_find(const struct hfd_resource *resource, const char *name) {
    for (size_t i = 0; i < resource->column_count; i++)
        if (strcmp(resource->columns[i].name, name) == 0) return (int)i;
    return -1;
}

static bool is_written(const struct hfd_column *column) {
    return !(column->flags & HFD_READ_ONLY);
}

static int written_count(const struct hfd_resource *resource) {
    int n = 0;
    for (size_t i = 0; i < resource->column_count; i++)
        n += is_written(&resource->columns[i]);
    return n;
}

static struct hfd_statement statement(
    const struct hfd_resource *resource, const char *verb, const char *sql, int params, hf_arena *arena) {
    return (struct hfd_statement){hf_arena_printf(arena, "%s-%s", resource->table, verb), sql, params};
}

static const char *select_list(const struct hfd_resource *resource, const char *patient, hf_arena *arena) {
    const char *list = "";
    for (size_t i = 0; i < resource->column_count; i++)
        list = hf_arena_printf(arena, "%s%s%s", list, i > 0 ? ", " : "", resource->columns[i].name);
    return patient ? hf_arena_printf(arena, "%s, %s as patient", list, patient) : list;
}

/* The tables fill in the clinic, count the version and stamp the times. */
static const char *insert_text(const struct hfd_resource *resource, hf_arena *arena) {
    const char *names = "", *values = "";
    int n = 1;
    for (size_t i = 0; i < resource->column_count; i++) {
        if (!is_written(&resource->columns[i])) continue;
        names = hf_arena_printf(arena, "%s, %s", names, resource->columns[i].name);
        values = hf_arena_printf(arena, "%s, $%d", values, ++n);
    }
    return hf_arena_printf(arena, "insert into %s (id%s) values ($1%s)", resource->table, names, values);
}

static const char *update_text(const struct hfd_resource *resource, hf_arena *arena) {
    const char *sets = "";
    int n = 1;
    for (size_t i = 0; i < resource->column_count; i++)
        if (is_written(&resource->columns[i]))
            sets = hf_arena_printf(arena, "%s, %s = $%d", sets, resource->columns[i].name, ++n);
    if (sets[0] == '\0') return NULL; /* nothing of it is ever written */
    return hf_arena_printf(arena, "update %s set %s where id = $1", resource->table, sets + 2);
}

static struct hfd_statement references_text(const struct hfd_resource *resource, hf_arena *arena) {
    const char *sql = "";
    int n = 0;
    for (size_t i = 0; i < resource->column_count; i++) {
        const struct hfd_column *c = &resource->columns[i];
        if (c->table == NULL) continue;
        const char *type = c->kind == HFD_COLUMN_UUID ? "uuid" : "text", *key = c->key ? c->key : "id";
        n++;
        sql = hf_arena_printf(arena,
            "%s%sselect '/%s', 'There is no such row among this clinic''s %s.' where $%d::%s is not null and not "
            "exists (select from %s where %s = $%d::%s)",
            sql, n > 1 ? " union all " : "", c->name, c->table, n, type, c->table, key, n, type);
    }
    return statement(resource, "references", n > 0 ? sql : NULL, n, arena);
}

static const char *patient_text(const struct hfd_resource *resource) {
    if (strcmp(resource->table, "patients") == 0) return "t.id";
    if (hfd_column_find(resource, "patient_id") >= 0) return "t.patient_id";
    if (hfd_column_find(resource, "case_id") >= 0)
        return "(select c.patient_id from cases c where c.id = t.case_id)";
    return NULL;
}

static struct hfd_statement trace_text(
    const struct hfd_resource *resource, const char *patient, hf_arena *arena) {
    const char *sql = hf_arena_printf(arena,
        "insert into audit_unsealed (action, resource, records, patients, request, outcome) "
        "select $2, $3, array[asked], array_remove(array[%s]::uuid[], null), $4, "
        "case when t.id is null then 'not-found' else 'done' end "
        "from (select $1::uuid as asked) a left join %s t on t.id = asked",
        patient ? patient : "null", resource->table);
    return statement(resource, "trace", sql, 4, arena);
}

static struct hfd_statement subject_text(
    const struct hfd_resource *resource, const char *patient, hf_arena *arena) {
    const char *sql = hf_arena_printf(
        arena, "select %s from %s t where t.id = $1::uuid", patient ? patient : "null", resource->table);
    return statement(resource, "subject", sql, 1, arena);
}

static int rule_params(const struct hfd_rule *rule) {
    int n = 0;
    while (n < (int)HFD_COUNT(rule->params) && rule->params[n] != NULL)
        n++;
    return n;
}

static void make(const struct hfd_resource *resource, hf_arena *arena, struct hfd_texts *out) {
    if (resource->table == NULL) return;
    int written = written_count(resource);
    out->patient = patient_text(resource);
    out->patient_at = resource->column_count;
    out->columns = select_list(resource, out->patient, arena);
    out->from = resource->from ? resource->from : resource->table;
    out->read = statement(resource, "read",
        hf_arena_printf(arena, "select %s from %s t where id = $1", out->columns, out->from), 1, arena);
    out->lock = statement(resource, "lock",
        hf_arena_printf(arena, "select from %s where id = $1 for update", resource->table), 1, arena);
    out->insert = statement(resource, "insert",
        resource->insert ? resource->insert : insert_text(resource, arena), written + 1, arena);
    out->update = statement(resource, "update",
        resource->update ? resource->update : update_text(resource, arena), written + 1, arena);
    out->references = references_text(resource, arena);
    out->trace = trace_text(resource, out->patient, arena);
    out->subject = subject_text(resource, out->patient, arena);
    out->rules = HF_NEW_ARRAY(arena, struct hfd_statement, resource->rule_count);
    for (size_t i = 0; i < resource->rule_count; i++)
        out->rules[i] = statement(resource, hf_arena_printf(arena, "rule-%zu", i), resource->rules[i].sql,
            rule_params(&resource->rules[i]), arena);
}

const struct hfd_texts *hfd_texts_of(const struct hfd_op *op, const struct hfd_resource *resource) {
    size_t i = 0;
    while (hfd_resources[i] != resource)
        i++;
    return &op->all_texts[i];
}

struct hfd_texts *hfd_texts_new(const struct hfd_resource *const *resources, hf_arena *arena) {
    size_t count = 0;
    while (resources[count] != NULL)
        count++;
    struct hfd_texts *texts = HF_NEW_ARRAY(arena, struct hfd_texts, count);
    for (size_t i = 0; i < count; i++)
        make(resources[i], arena, &texts[i]);
    return texts;
}
