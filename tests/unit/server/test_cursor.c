#include "../../../server/rest/cursor.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

/* FNV-1a 64 of "foobar" is 85944171f73967e8 (the test vectors of the FNV internet draft); the whole is
 * base64url (RFC 4648 §5) of digest, id and value, made with Python's base64 module. */
static const char id[] = "01890a5d-ac96-774b-bcce-b302099a8057";
static const char with_value[] =
    "ODU5NDQxNzFmNzM5NjdlODAxODkwYTVkLWFjOTYtNzc0Yi1iY2NlLWIzMDIwOTlhODA1N1phaGwgw7w-Pw";
static const char without_value[] = "ODU5NDQxNzFmNzM5NjdlODAxODkwYTVkLWFjOTYtNzc0Yi1iY2NlLWIzMDIwOTlhODA1Nw";

static hf_arena arena;
static void setup(void) {
    hf_arena_init(&arena, 1024, 0);
}
static void teardown(void) {
    hf_arena_fini(&arena);
}

Test(cursor, written_form, .init = setup, .fini = teardown) {
    cr_assert_str_eq(hfd_cursor_write("foobar", "Zahl ü>?", id, &arena), with_value);
    cr_assert_str_eq(hfd_cursor_write("foobar", "", id, &arena), without_value);
}

Test(cursor, read_back, .init = setup, .fini = teardown) {
    const char *value, *row;
    cr_assert(hfd_cursor_read(with_value, "foobar", &arena, &value, &row));
    cr_assert_str_eq(value, "Zahl ü>?");
    cr_assert_str_eq(row, id);
    cr_assert(hfd_cursor_read(without_value, "foobar", &arena, &value, &row));
    cr_assert_str_eq(value, "");
}

Test(cursor, belongs_to_its_question, .init = setup, .fini = teardown) {
    const char *value, *row;
    cr_assert_not(hfd_cursor_read(with_value, "foobaz", &arena, &value, &row));
    cr_assert_not(hfd_cursor_read(with_value, "", &arena, &value, &row));
}

Test(cursor, anything_else_is_refused, .init = setup, .fini = teardown) {
    const char *value, *row;
    char *bad = hf_arena_strdup(&arena, with_value);
    bad[30] = 'A'; /* inside the id: no UUID any more */
    static const char *const texts[] = {"", "A", "AAAA", "not base64!", "ODU5NDQxNzFmNzM5NjdlOA", "===="};
    cr_assert_not(hfd_cursor_read(bad, "foobar", &arena, &value, &row));
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        cr_assert_not(hfd_cursor_read(texts[i], "foobar", &arena, &value, &row), "%s", texts[i]);
}

/* Bytes that are no UTF-8, and a NUL, must not reach the database. */
Test(cursor, value_must_be_text, .init = setup, .fini = teardown) {
    const char *value, *row;
    char text[128];
    snprintf(text, sizeof text, "%s_w", without_value); /* adds a byte of 0xfc … */
    cr_assert_not(hfd_cursor_read(text, "foobar", &arena, &value, &row));
    snprintf(text, sizeof text, "%sAA", without_value); /* … and of zero */
    cr_assert_not(hfd_cursor_read(text, "foobar", &arena, &value, &row));
}
