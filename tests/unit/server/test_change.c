/* Expected texts are RFC 8785's form of documents changed by hand. */
#include "../../../server/json/change.h"

#include <criterion/criterion.h>

static hf_arena arena;

static void begin(void) {
    hf_arena_init(&arena, 4096, 0);
}

static void end(void) {
    hf_arena_fini(&arena);
}

TestSuite(change, .init = begin, .fini = end);

static const char document[] =
    "{\"on\": \"2026-03-02\", \"elements\": [{\"name\": \"a\"}, {\"force_n\": {\"value\": 150, \"unit\": \"gf\"}}], "
    "\"screws\": [{\"name\": \"A\"}, {\"name\": \"B\"}, {\"name\": \"C\"}]}";

Test(change, nothing_changed_is_the_same) {
    cr_assert_str_eq(hfd_document_change(document, NULL, 0, &arena),
        "{\"elements\":[{\"name\":\"a\"},{\"force_n\":{\"unit\":\"gf\",\"value\":150}}],\"on\":\"2026-03-02\","
        "\"screws\":[{\"name\":\"A\"},{\"name\":\"B\"},{\"name\":\"C\"}]}");
}

Test(change, members_are_set_and_taken_out_one_upon_the_other) {
    const struct hfd_change changes[] = {{"/elements/1/force_n", "1.25"},
        {"/elements/0/force_n", "[1, \"x\"]"}, {"/on", "\"2026-04-13\""}, {"/screws/2", NULL},
        {"/screws/0", NULL}, {"/screws/0/name", "null"}, {"/horizon_days", "42"}, {"/elements/0/name", NULL}};
    cr_assert_str_eq(hfd_document_change(document, changes, sizeof changes / sizeof *changes, &arena),
        "{\"elements\":[{\"force_n\":[1,\"x\"]},{\"force_n\":1.25}],\"horizon_days\":42,\"on\":\"2026-04-13\","
        "\"screws\":[{\"name\":null}]}");
}

Test(change, what_is_no_json_stands_as_a_text) {
    static const char *const texts[] = {"", "1,5", "0x1", "1 N", "nan", "{", "\"", "-"};
    static const char *const told[] = {
        "\"\"", "\"1,5\"", "\"0x1\"", "\"1 N\"", "\"nan\"", "\"{\"", "\"\\\"\"", "\"-\""};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        const struct hfd_change change = {"/a", texts[i]};
        cr_expect_str_eq(hfd_document_change("{\"a\": 1}", &change, 1, &arena),
            hf_arena_printf(&arena, "{\"a\":%s}", told[i]));
    }
}
