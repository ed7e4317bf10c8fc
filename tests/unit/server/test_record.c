#include "../../../server/json/record.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

static hf_arena arena;
static struct hfd_errors errors;
static void setup(void) {
    hf_arena_init(&arena, 4096, 0);
    hfd_errors_init(&errors, &arena);
}
static void teardown(void) {
    hf_arena_fini(&arena);
}

static const struct hfd_column *the_columns;
static size_t the_count;
static const char *cells[32];
static bool changed;
static const char *detail;

static enum hfd_problem_kind merge(const char *current, const char *patch) {
    hfd_errors_init(&errors, &arena);
    return hfd_record_merge(
        the_columns, the_count, current, patch, strlen(patch), &arena, cells, &changed, &errors, &detail);
}

static const char *written(void) {
    struct hfd_buf out;
    hfd_buf_init(&out, &arena, 64);
    hfd_record_write(&out, the_columns, the_count, cells);
    return out.text;
}

/* The pointers of all errors in order, each followed by a blank. */
static const char *pointers(void) {
    const char *all = "";
    for (const struct hfd_error *e = errors.first; e != NULL; e = e->next)
        all = hf_arena_printf(&arena, "%s%s ", all, e->pointer);
    return all;
}

/* ---------------------------------------------------------------- RFC 7396, appendix A */

static const struct hfd_field below_fields[] = {
    {.name = "b", .kind = HFD_FIELD_TEXT, .at = HFD_NOWHERE, .what = "b"},
    {.name = "c", .kind = HFD_FIELD_TEXT, .at = HFD_NOWHERE, .what = "c"},
    {.name = "d", .kind = HFD_FIELD_TEXT, .at = HFD_NOWHERE, .what = "d"},
};
static const struct hfd_table below = {.what = "below", HFD_FIELDS(below_fields)};
static const struct hfd_field member_fields[] = {
    {.name = "object", .kind = HFD_FIELD_OBJECT, .at = HFD_NOWHERE, .table = &below, .what = "object"},
    {.name = "texts", .kind = HFD_FIELD_LIST, .at = HFD_NOWHERE, .item = HFD_FIELD_TEXT, .what = "texts"},
    {.name = "objects", .kind = HFD_FIELD_LIST, .at = HFD_NOWHERE, .table = &below, .what = "objects"},
};
static const struct hfd_table members = {.what = "members", HFD_FIELDS(member_fields)};
static const struct hfd_shape object = {&members, "object"}, texts = {&members, "texts"},
                              objects = {&members, "objects"};

static const struct hfd_column text_columns[] = {
    {.name = "a", .kind = HFD_COLUMN_TEXT, .what = "a"}, {.name = "b", .kind = HFD_COLUMN_TEXT, .what = "b"}};
static const struct hfd_column object_columns[] = {
    {.name = "a", .kind = HFD_COLUMN_PART, .shape = &object, .what = "a"}};
static const struct hfd_column texts_columns[] = {
    {.name = "a", .kind = HFD_COLUMN_PART, .shape = &texts, .what = "a"}};
static const struct hfd_column objects_columns[] = {
    {.name = "a", .kind = HFD_COLUMN_PART, .shape = &objects, .what = "a"}};

Test(record, merges_as_appendix_a_says, .init = setup, .fini = teardown) {
    static const struct {
        const struct hfd_column *columns;
        size_t count;
        const char *original, *patch, *result;
    } rows[] = {
        {text_columns, 2, "{\"a\":\"b\"}", "{\"a\":\"c\"}", "{\"a\":\"c\"}"},
        {text_columns, 2, "{\"a\":\"b\"}", "{\"b\":\"c\"}", "{\"a\":\"b\",\"b\":\"c\"}"},
        {text_columns, 2, "{\"a\":\"b\"}", "{\"a\":null}", "{}"},
        {text_columns, 2, "{\"a\":\"b\",\"b\":\"c\"}", "{\"a\":null}", "{\"b\":\"c\"}"},
        {text_columns, 2, "{\"a\":[\"b\"]}", "{\"a\":\"c\"}", "{\"a\":\"c\"}"},
        {texts_columns, 1, "{\"a\":\"c\"}", "{\"a\":[\"b\"]}", "{\"a\":[\"b\"]}"},
        {object_columns, 1, "{\"a\":{\"b\":\"c\"}}", "{\"a\":{\"b\":\"d\",\"c\":null}}",
            "{\"a\":{\"b\":\"d\"}}"},
        {texts_columns, 1, "{\"a\":[{\"b\":\"c\"}]}", "{\"a\":[\"1\"]}", "{\"a\":[\"1\"]}"},
        {object_columns, 1, "{\"a\":\"foo\"}", "{\"a\":{\"b\":\"d\",\"c\":null}}", "{\"a\":{\"b\":\"d\"}}"},
        {object_columns, 1, "{}", "{\"a\":{\"b\":\"x\",\"c\":null}}", "{\"a\":{\"b\":\"x\"}}"},
        {objects_columns, 1, "{\"a\":[{\"b\":\"x\"},{\"c\":\"y\"}]}", "{\"a\":[{\"d\":\"z\"}]}",
            "{\"a\":[{\"d\":\"z\"}]}"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        the_columns = rows[i].columns;
        the_count = rows[i].count;
        cr_assert_eq(merge(rows[i].original, rows[i].patch), HFD_OK, "%s: %s", rows[i].patch, pointers());
        cr_assert_str_eq(written(), rows[i].result);
        cr_assert(changed);
    }
}

/* ---------------------------------------------------------------- columns */

static const char *const moods[] = {"calm", "loud", NULL};
static const struct hfd_column all[] = {
    {.name = "id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY, .what = "id"},
    {.name = "owner_id", .kind = HFD_COLUMN_UUID, .flags = HFD_REQUIRED | HFD_FIXED, .what = "owner"},
    {.name = "name", .kind = HFD_COLUMN_TEXT, .flags = HFD_REQUIRED, .max = 5, .what = "name"},
    {.name = "scan", .kind = HFD_COLUMN_TEXT, .flags = HFD_ANY_TEXT, .what = "scan"},
    {.name = "count", .kind = HFD_COLUMN_INT, .limit = HF_LIMIT_GRADE, .what = "count"},
    {.name = "length_mm", .kind = HFD_COLUMN_REAL, .limit = HF_LIMIT_SCREW_LENGTH, .what = "length"},
    {.name = "torque_ncm", .kind = HFD_COLUMN_REAL, .limit = HF_LIMIT_INSERTION_TORQUE, .what = "torque"},
    {.name = "predrilled", .kind = HFD_COLUMN_BOOL, .what = "flag"},
    {.name = "placed_on", .kind = HFD_COLUMN_DATE, .what = "day"},
    {.name = "mood", .kind = HFD_COLUMN_ENUM, .names = moods, .initial = "calm", .what = "mood"},
    {.name = "parts", .kind = HFD_COLUMN_PART, .shape = &objects, .what = "parts"},
};
#define OWNER "\"owner_id\":\"01890a5d-ac96-774b-bcce-b302099a8057\""

static void setup_all(void) {
    setup();
    the_columns = all;
    the_count = HFD_COUNT(all);
}

Test(record, takes_every_kind, .init = setup_all, .fini = teardown) {
    cr_assert_eq(
        merge(NULL, "{" OWNER ",\"name\":\"äöü\",\"scan\":\"(01)\\u001d2\",\"count\":3,\"length_mm\":9.1,"
                    "\"predrilled\":false,\"placed_on\":\"2024-02-29\",\"parts\":[{\"b\":\"x\"}]}"),
        HFD_OK, "%s", pointers());
    cr_assert_str_eq(written(),
        "{" OWNER ",\"name\":\"äöü\",\"scan\":\"(01)\\u001d2\",\"count\":3,\"length_mm\":9.1,"
        "\"predrilled\":false,\"placed_on\":\"2024-02-29\",\"mood\":\"calm\",\"parts\":[{\"b\":\"x\"}]}");
}

/* 1 kgf is 9.80665 N by definition (third CGPM 1901), so 1.10 kgf.cm = 10.787315 N.cm; 1 [in_i] = 25.4 mm. */
Test(record, quantities_in_other_units, .init = setup_all, .fini = teardown) {
    cr_assert_eq(merge(NULL, "{" OWNER ",\"name\":\"x\",\"torque_ncm\":{\"value\":1.10,\"unit\":\"kgf.cm\"},"
                             "\"length_mm\":{\"value\":0.5,\"unit\":\"[in_i]\"}}"),
        HFD_OK, "%s", pointers());
    cr_assert_float_eq(strtod(cells[6], NULL), 10.787315, 1e-9);
    cr_assert_float_eq(strtod(cells[5], NULL), 12.7, 1e-12);
}

Test(record, every_error_at_once, .init = setup_all, .fini = teardown) {
    cr_assert_eq(
        merge(NULL, "{\"id\":\"01890a5d-ac96-774b-bcce-b302099a8057\",\"name\":\"too long\",\"scan\":\" \","
                    "\"count\":1.5,\"length_mm\":\"9\",\"torque_ncm\":{\"value\":1,\"unit\":\"mm\"},"
                    "\"predrilled\":1,\"placed_on\":\"2023-02-29\",\"mood\":\"sad\","
                    "\"parts\":[{\"b\":\"x\"},{\"b\":2,\"e\":1}],\"more\":1}"),
        HFD_VALIDATION);
    cr_assert_str_eq(pointers(),
        "/more /id /owner_id /name /scan /count /length_mm /torque_ncm/unit /predrilled "
        "/placed_on /mood /parts/1/b /parts/1/e ");
}

Test(record, ranges_are_kept, .init = setup_all, .fini = teardown) {
    cr_assert_eq(merge(NULL, "{" OWNER ",\"name\":\"x\",\"count\":4,\"length_mm\":3000}"), HFD_VALIDATION);
    cr_assert_str_eq(pointers(), "/count /length_mm ");
}

Test(record, malformed_is_told_apart, .init = setup_all, .fini = teardown) {
    static const char *const bodies[] = {
        "", "{", "{\"name\":1,\"name\":2}", "{\"name\":NaN}", "{} x", "{\"a\":\"\\u0000\"}"};
    for (size_t i = 0; i < sizeof bodies / sizeof *bodies; i++)
        cr_assert_eq(merge(NULL, bodies[i]), HFD_MALFORMED_JSON, "%s", bodies[i]);
    cr_assert_eq(merge(NULL, "[]"), HFD_VALIDATION);
    cr_assert_str_eq(pointers(), " ");
}

#define ROW "{\"id\":\"01890a5d-ac96-774b-bcce-b302099a8058\"," OWNER ",\"name\":\"x\",\"mood\":\"loud\"}"

Test(record, a_change_keeps_the_rest, .init = setup_all, .fini = teardown) {
    cr_assert_eq(merge(ROW, "{\"name\":\"y\"}"), HFD_OK);
    cr_assert(changed);
    cr_assert_str_eq(cells[2], "y");
    cr_assert_str_eq(cells[9], "loud");
    cr_assert_null(cells[0], "the server's own members are never written");
    cr_assert_eq(merge(ROW, ROW), HFD_OK, "the row as it was read may be sent back: %s", pointers());
    cr_assert_not(changed);
}

Test(record, what_is_fixed_stays, .init = setup_all, .fini = teardown) {
    cr_assert_eq(
        merge(ROW, "{\"owner_id\":\"01890a5d-ac96-774b-bcce-b302099a8059\",\"id\":null,\"name\":null}"),
        HFD_VALIDATION);
    cr_assert_str_eq(pointers(), "/id /owner_id /name ");
}

Test(record, bare_texts, .init = setup_all, .fini = teardown) {
    static const struct hfd_column time = {.name = "at", .kind = HFD_COLUMN_TIME};
    static const struct {
        const struct hfd_column *column;
        const char *good, *bad;
    } rows[] = {
        {&all[0], "01890A5D-ac96-774b-bcce-b302099a8057", "01890a5d"},
        {&all[2], "x", ""},
        {&all[4], "-7", "7.0"},
        {&all[4], "2147483647", "2147483648"},
        {&all[5], "-1.5e3", "nan"},
        {&all[5], "1", "0x10"},
        {&all[7], "true", "t"},
        {&all[8], "2024-02-29", "2024-2-29"},
        {&all[9], "loud", "sad"},
        {&time, "2026-03-02T07:05:09.250Z", "2026-03-02"},
        {&time, "2026-03-02T07:05:09+01:00", "2026-03-02T24:00:00Z"},
        {&time, "2026-03-02T07:05:09Z", "2026-03-02T07:05:09.Z"},
        {&time, "2026-03-02T07:05:09Z", "2026-03-02T07:05:60Z"},
        {&time, "2026-03-02T07:05:09Z", "2026-03-02T07:05:09Zx"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_assert_null(hfd_record_text_error(rows[i].column, rows[i].good, &arena), "%s", rows[i].good);
        cr_assert_not_null(hfd_record_text_error(rows[i].column, rows[i].bad, &arena), "%s", rows[i].bad);
    }
}
