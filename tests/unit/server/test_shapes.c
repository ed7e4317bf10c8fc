#include <criterion/criterion.h>

#include <math.h>
#include <string.h>

#include "../../../core/element.h"
#include "../../../core/findings.h"
#include "../../../server/json/answer_table.h"
#include "../../../server/json/case_table.h"
#include "../../../server/json/decode.h"
#include "../../../server/json/shapes.h"
#include "../../../server/json/units.h"

static hf_arena arena;
static struct hfd_errors errors;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
    hfd_errors_init(&errors, &arena);
}
static void tear_down(void) {
    hf_arena_fini(&arena);
}

TestSuite(shapes, .init = set_up, .fini = tear_down);

static bool check(enum hfd_shape_id id, const char *text) {
    json_t *json = json_loads(text, JSON_DECODE_ANY, NULL);
    cr_assert_not_null(json, "%s", text);
    bool right = hfd_shape_check_json(&hfd_shapes[id], json, "/here", &arena, &errors);
    json_decref(json);
    return right;
}

Test(shapes, are_members_of_tables_and_no_mere_number) {
    for (enum hfd_shape_id i = 0; i < HFD_SHAPE_COUNT; i++) {
        cr_assert_not_null(hfd_table_field(hfd_shapes[i].table, hfd_shapes[i].member), "%d", i);
        cr_expect_not(check(i, "42"), "%s", hfd_shapes[i].member);
    }
}

static void expect_shape(enum hfd_shape_id id, const char *text, const char *pointer) {
    hfd_errors_init(&errors, &arena);
    cr_expect_eq(check(id, text), pointer == NULL, "%s", text);
    cr_expect_eq(errors.count, pointer ? 1 : 0, "%s", text);
    if (pointer && errors.first) cr_expect_str_eq(errors.first->pointer, pointer);
}

Test(shapes, parts_are_checked_as_in_the_document) {
    expect_shape(HFD_SHAPE_ELEMENTS,
        "[{\"name\":\"e\",\"kind\":\"chain\",\"force_n\":{\"value\":150,\"unit\":\"gf\"}}]", NULL);
    expect_shape(
        HFD_SHAPE_ELEMENTS, "[{\"name\":\"e\",\"kind\":\"chain\",\"force_n\":[1,2,3]}]", "/here/0/force_n");
    expect_shape(HFD_SHAPE_POINT, "{\"palate\":{\"right_mm\":3,\"behind_incisors_mm\":22}}", NULL);
    expect_shape(HFD_SHAPE_POINT, "[1,2]", "/here");
    expect_shape(HFD_SHAPE_AXIS, "\"perpendicular\"", NULL);
    expect_shape(HFD_SHAPE_AXIS, "\"upright\"", "/here");
    expect_shape(HFD_SHAPE_MATERIAL, "\"titanium-grade-4\"", NULL);
    expect_shape(HFD_SHAPE_MATERIAL, "{\"modulus_mpa\":1e5}", "/here/poisson");
    expect_shape(HFD_SHAPE_ARCHES, "{\"maxilla\":{\"width_mm\":500}}", "/here/maxilla/width_mm");
    expect_shape(HFD_SHAPE_FITTINGS, "[{\"node\":\"n\",\"kind\":\"tube\",\"slot_in\":[0.022,0.028]}]", NULL);
    expect_shape(HFD_SHAPE_SEATS, "[{\"node\":\"n\"}]", "/here/0/screw");
}

/* A range is told in the unit that the member's name carries. */
static void check_table(const struct hfd_table *table, int depth) {
    cr_assert(depth < 12);
    cr_assert(table->what && *table->what && table->count > 0);
    for (size_t i = 0; i < table->count; i++) {
        const struct hfd_field *field = &table->fields[i];
        const struct hfd_unit *unit = hfd_unit_of_member(field->name);
        cr_expect(field->what && *field->what, "%s", field->name);
        if ((field->kind == HFD_FIELD_REAL || field->kind == HFD_FIELD_REALS) &&
            field->limit != HF_LIMIT_NONE)
            cr_expect_str_eq(hf_limits[field->limit].unit, unit ? unit->code : "", "%s", field->name);
        cr_expect(!field->excludes || hfd_table_field(table, field->excludes));
        cr_expect(!field->needs || hfd_table_field(table, field->needs));
        if (field->table) check_table(field->table, depth + 1);
    }
}

/* Every number that comes in has its range. */
static void check_ranges(const struct hfd_table *table) {
    for (size_t i = 0; i < table->count; i++) {
        const struct hfd_field *field = &table->fields[i];
        bool number =
            field->kind == HFD_FIELD_REAL || field->kind == HFD_FIELD_REALS || field->kind == HFD_FIELD_INT;
        if (number || field->kind == HFD_FIELD_LIST)
            cr_expect_neq(field->limit, HF_LIMIT_NONE, "%s", field->name);
        if (field->table) check_ranges(field->table);
    }
}

Test(shapes, tables) {
    check_table(&hfd_case_table, 0);
    check_table(&hfd_answer_table, 0);
    check_ranges(&hfd_case_table);
    for (int i = HF_LIMIT_NONE + 1; i < HF_LIMIT_COUNT; i++) {
        cr_expect(
            hf_limits[i].what && *hf_limits[i].what && hf_limits[i].low < hf_limits[i].high, "limit %d", i);
        cr_expect(!hf_limit_allows((hf_limit)i, NAN));
        cr_expect(*hf_limits[i].unit == '\0' || hfd_unit_find(hf_limits[i].unit), "limit %d", i);
    }
}

/* Words of the document in the order of the core's enumerations. */
Test(shapes, names_are_those_of_the_core) {
    for (int i = 0; i < HF_ELEMENT_COUNT; i++)
        cr_expect_str_eq(hfd_element_kind_names[i], hf_element_traits[i].name);
    cr_expect_null(hfd_element_kind_names[HF_ELEMENT_COUNT]);
    const struct hfd_field *severity = NULL;
    const struct hfd_field *findings = hfd_table_field(&hfd_answer_table, "findings");
    severity = hfd_table_field(findings->table, "severity");
    for (int i = 0; i < HF_SEVERITY_COUNT; i++)
        cr_expect_str_eq(severity->names[i], hf_severity_names[i]);
    cr_expect_null(severity->names[HF_SEVERITY_COUNT]);
}
