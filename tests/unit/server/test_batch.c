#include "../../../server/json/batch.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static hf_arena arena;
static struct hfd_errors errors;
static struct hfd_batch batch;
static void setup(void) {
    hf_arena_init(&arena, 4096, 0);
}
static void teardown(void) {
    hf_arena_fini(&arena);
}

TestSuite(batch, .init = setup, .fini = teardown);

static enum hfd_problem_kind take(const char *text) {
    const char *detail;
    hfd_errors_init(&errors, &arena);
    return hfd_batch_read(text, strlen(text), &arena, &batch, &errors, &detail);
}

Test(batch, a_reference_becomes_the_id_of_the_row) {
    cr_assert_eq(
        take("{\"items\": ["
             "{\"method\": \"POST\", \"path\": \"/v1/a\", \"ref\": \"one\", \"body\": {}}, "
             "{\"method\": \"POST\", \"path\": \"/v1/b\", \"body\": {\"list\": [{\"$ref\": \"one\"}]}}, "
             "{\"method\": \"PATCH\", \"path\": \"/v1/c\", \"if_match\": \"\\\"1\\\"\", \"body\": "
             "{\"deep\": {\"er\": {\"$ref\": \"one\"}}, \"two\": {\"$ref\": \"one\", \"more\": 1}}}]}"),
        HFD_OK);
    cr_assert_eq(batch.count, 3);
    const struct hfd_batch_item *i = batch.items;
    cr_expect(hfd_uuid_valid(i[0].id));
    cr_expect_str_neq(i[0].id, i[1].id);
    cr_expect_str_eq(i[1].body, hf_arena_printf(&arena, "{\"list\":[\"%s\"]}", i[0].id));
    cr_expect_str_eq(i[2].body,
        hf_arena_printf(&arena, "{\"deep\":{\"er\":\"%s\"},\"two\":{\"$ref\":\"one\",\"more\":1}}", i[0].id));
    cr_expect(i[1].uses[0] && i[2].uses[0] && !i[2].uses[1]);
    cr_expect_eq(i[1].method, HFD_POST);
    cr_expect_eq(i[2].method, HFD_PATCH);
    cr_expect_str_eq(i[2].if_match, "\"1\"");
}

/* 0.1 and 2/3 have no finite binary form; 17 digits always read back the same (IEEE 754-2019 §5.12.2). A
 * whole number is not the same as one with a point. */
Test(batch, numbers_arrive_as_they_came) {
    cr_assert_eq(
        take("{\"items\": [{\"method\": \"POST\", \"path\": \"/v1/a\", \"body\": "
             "{\"a\": 0.1, \"b\": 0.66666666666666663, \"c\": 2, \"d\": 2.0, \"e\": 9007199254740993}}]}"),
        HFD_OK);
    const char *body = batch.items[0].body;
    cr_expect_float_eq(strtod(strstr(body, "\"a\":") + 4, NULL), 0.1, 0);
    cr_expect_float_eq(strtod(strstr(body, "\"b\":") + 4, NULL), 0.66666666666666663, 0);
    cr_expect_not_null(strstr(body, "\"c\":2,\"d\":2.0,\"e\":9007199254740993}"), "%s", body);
}

Test(batch, a_reference_looks_back_only) {
    cr_assert_eq(take("{\"items\": [{\"method\": \"POST\", \"path\": \"/v1/a\", \"ref\": \"x\", \"body\": "
                      "{\"self\": {\"$ref\": \"x\"}, \"later\": [1, {\"$ref\": \"y\"}]}}, "
                      "{\"method\": \"POST\", \"path\": \"/v1/a\", \"ref\": \"y\", \"body\": {}}]}"),
        HFD_VALIDATION);
    cr_assert_eq(errors.count, 2);
    cr_expect_str_eq(errors.first->pointer, "/items/0/body/self/$ref");
    cr_expect_str_eq(errors.last->pointer, "/items/0/body/later/1/$ref");
}

Test(batch, a_fault_of_json_is_one) {
    cr_expect_eq(take("{\"items\": ["), HFD_MALFORMED_JSON);
    cr_expect_eq(take("{\"items\": [], \"items\": []}"), HFD_MALFORMED_JSON);
}

/* Each text of an item has its end, 200 characters, and holds no control character. */
Test(batch, texts_have_an_end) {
    char of_200[201] = "", of_201[202] = "";
    memset(of_200, 'x', 200);
    memset(of_201, 'x', 201);
    static const char form[] =
        "{\"items\": [{\"method\": \"POST\", \"path\": \"%s\", \"ref\": \"%s\", \"body\": {}}, "
        "{\"method\": \"PATCH\", \"path\": \"/v1/a\", \"if_match\": \"%s\", \"body\": {}}]}";
    cr_expect_eq(take(hf_arena_printf(&arena, form, of_200, of_200, of_200)), HFD_OK);
    cr_expect_eq(take(hf_arena_printf(&arena, form, of_201, of_201, of_201)), HFD_VALIDATION);
    static const char *const pointers[] = {"/items/0/path", "/items/0/ref", "/items/1/if_match"};
    cr_assert_eq(errors.count, 3);
    const struct hfd_error *error = errors.first;
    for (size_t i = 0; i < 3; i++, error = error->next) {
        cr_expect_str_eq(error->pointer, pointers[i]);
        cr_expect_str_eq(error->detail, "may not be longer than 200 characters");
    }
    cr_expect_eq(take(hf_arena_printf(&arena, form, "", "a\\nb", " ")), HFD_VALIDATION);
    cr_expect_eq(errors.count, 3);
}
