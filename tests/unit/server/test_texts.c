#include "../../../server/rest/texts.h"

#include <criterion/criterion.h>
#include <string.h>

/* The expected statements are written by hand from what a table of columns means
 * (../../../server/json/record.h). */
static const struct hfd_column columns[] = {
    {.name = "id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY, .what = "id"},
    {.name = "owner_id", .kind = HFD_COLUMN_UUID, .flags = HFD_FIXED, .table = "owners", .what = "owner"},
    {.name = "length_mm", .kind = HFD_COLUMN_REAL, .what = "length"},
    {.name = "place", .kind = HFD_COLUMN_TEXT, .table = "places", .key = "key", .what = "place"},
    {.name = "from_on", .kind = HFD_COLUMN_DATE, .what = "from"},
    {.name = "to_on", .kind = HFD_COLUMN_DATE, .what = "to"},
    {.name = "created_at", .kind = HFD_COLUMN_TIME, .flags = HFD_READ_ONLY, .what = "time"},
};
static const struct hfd_rule rules[] = {{.sql = "select $1, $2", .params = {"id", "place"}}};
static const struct hfd_resource things = {.path = "/v1/things",
    .table = "things",
    .columns = columns,
    .column_count = HFD_COUNT(columns),
    .rules = rules,
    .rule_count = 1};
static const struct hfd_resource shown = {.path = "/v1/shown",
    .table = "shown",
    .columns = columns,
    .column_count = 1,
    .from = "a view",
    .insert = "own insert",
    .update = "own update"};
static const struct hfd_resource routes_only = {0};
static const struct hfd_resource *const list[] = {&things, &routes_only, &shown, NULL};

static hf_arena arena;
static void setup(void) {
    hf_arena_init(&arena, 4096, 0);
}
static void teardown(void) {
    hf_arena_fini(&arena);
}

Test(texts, statements_of_a_table, .init = setup, .fini = teardown) {
    const struct hfd_texts *t = &hfd_texts_new(list, &arena)[0];
    cr_assert_str_eq(t->read.name, "things-read");
    cr_assert_str_eq(t->read.sql,
        "select id, owner_id, length_mm, place, from_on, to_on, created_at from things t where id = $1");
    cr_assert_str_eq(t->subject.sql, "select null from things t where t.id = $1::uuid");
    cr_assert_str_eq(t->insert.sql,
        "insert into things (id, owner_id, length_mm, place, from_on, to_on) values ($1, $2, $3, $4, $5, $6)");
    cr_assert_eq(t->insert.param_count, 6);
    cr_assert_str_eq(t->update.sql,
        "update things set owner_id = $2, length_mm = $3, place = $4, from_on = $5, to_on = $6 where id = $1");
    cr_assert_eq(t->update.param_count, 6);
    cr_assert_str_eq(t->lock.sql, "select from things where id = $1 for update");
    cr_assert_eq(t->references.param_count, 2);
    cr_assert_not_null(strstr(t->references.sql, "select from owners where id = $1::uuid"));
    cr_assert_not_null(strstr(t->references.sql, "select from places where key = $2::text"));
    cr_assert_str_eq(t->rules[0].name, "things-rule-0");
    cr_assert_eq(t->rules[0].param_count, 2);
}

Test(texts, own_statements_stand, .init = setup, .fini = teardown) {
    const struct hfd_texts *t = &hfd_texts_new(list, &arena)[2];
    cr_assert_str_eq(t->read.sql, "select id from a view t where id = $1");
    cr_assert_str_eq(t->insert.sql, "own insert");
    cr_assert_str_eq(t->update.sql, "own update");
    cr_assert_null(t->references.sql);
    cr_assert_str_eq(t->lock.sql, "select from shown where id = $1 for update");
}

Test(texts, members_in_order, .init = setup, .fini = teardown) {
    static const struct {
        const char *length, *from, *to;
        size_t errors;
    } rows[] = {
        {"9", "2026-02-01", "2026-02-01", 0},
        {"9", "2026-02-01", "2026-01-31", 1},
        {"9", NULL, "2026-01-31", 0},
        {"9", "2026-02-01", NULL, 0},
    };
    for (size_t i = 0; i < HFD_COUNT(rows); i++) {
        const char *cells[] = {"", "", rows[i].length, "10", rows[i].from, rows[i].to, ""};
        struct hfd_row row = {&things, cells};
        struct hfd_errors errors;
        hfd_errors_init(&errors, &arena);
        hfd_row_ordered(&row, "from_on", "to_on", &errors);
        cr_assert_eq(errors.count, rows[i].errors);
        if (errors.count > 0) cr_assert_str_eq(errors.first->pointer, "/to_on");
        hfd_errors_init(&errors, &arena);
        hfd_row_ordered(&row, "length_mm", "place", &errors);
        cr_assert_eq(errors.count, 0, "9 is less than 10: compared as numbers, not as text");
    }
}
