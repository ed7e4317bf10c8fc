#include "../../../server/rest/idempotency.h"

#include <criterion/criterion.h>
#include <string.h>

static hf_arena arena;
static void setup(void) {
    hf_arena_init(&arena, 1024, 0);
}
static void teardown(void) {
    hf_arena_fini(&arena);
}

TestSuite(idempotency, .init = setup, .fini = teardown);

static const char *key(const char *field) {
    return hfd_idempotency_key(field, &arena);
}

/* Strings of RFC 9651 §3.3.3, without parameters and without the space; the bare form by what most clients
 * send. */
Test(idempotency, both_forms_of_a_key) {
    cr_expect_str_eq(key("\"8e03978e-40d5-43dd-bc93-6894a57f9324\""), "8e03978e-40d5-43dd-bc93-6894a57f9324");
    cr_expect_str_eq(key("8e03978e-40d5-43dd-bc93-6894a57f9324"), "8e03978e-40d5-43dd-bc93-6894a57f9324");
    cr_expect_str_eq(key("\"a\\\"b\\\\c\""), "a\"b\\c");
    cr_expect_str_eq(key("~"), "~");
}

Test(idempotency, what_is_no_key) {
    static const char *const fields[] = {"", "\"\"", "\"", "\"a", "\"a\\", "\"a\\b\"", "\"a\"b", "\"a\";p",
        "a b", "\"a b\"", "\xc3\xa9", "a\x7f"};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
        cr_expect_null(key(fields[i]), "%s", fields[i]);
}

Test(idempotency, at_most_128_characters) {
    char text[132] = "\"";
    memset(text + 1, 'k', 129);
    text[130] = '"';
    cr_expect_null(key(text));
    text[129] = '"';
    text[130] = '\0';
    const char *longest = key(text);
    cr_assert_not_null(longest);
    cr_expect_eq(strlen(longest), 128);
    memset(text, 'k', 129);
    text[129] = '\0';
    cr_expect_null(key(text));
    text[128] = '\0';
    cr_expect_not_null(key(text));
}
