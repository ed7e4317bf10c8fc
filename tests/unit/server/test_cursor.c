#include "../../../server/rest/cursor.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

/* Made with Python: base64url (RFC 4648 §5, its base64 module) of digest, id and value; the digest is FNV-1a
 * 64 of "question\nid\nvalue", by the five lines of the FNV internet draft, whose vector "foobar" is
 * 85944171f73967e8. */
static const char id[] = "01890a5d-ac96-774b-bcce-b302099a8057";
static const char with_value[] =
    "MGJiZGEzN2E4YzA0MGRjOTAxODkwYTVkLWFjOTYtNzc0Yi1iY2NlLWIzMDIwOTlhODA1N1phaGwgw7w-Pw";
static const char without_value[] = "ZTEyNDZkM2Q2NjkyOWZiYTAxODkwYTVkLWFjOTYtNzc0Yi1iY2NlLWIzMDIwOTlhODA1Nw";

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

static struct hfd_cursor cursor;

static bool is_of(const char *text, const char *question) {
    return hfd_cursor_read(text, &arena, &cursor) && hfd_cursor_answers(&cursor, question, &arena);
}

Test(cursor, read_back, .init = setup, .fini = teardown) {
    cr_assert(is_of(with_value, "foobar"));
    cr_assert_str_eq(cursor.sort_value, "Zahl ü>?");
    cr_assert_str_eq(cursor.id, id);
    cr_assert(is_of(without_value, "foobar"));
    cr_assert_str_eq(cursor.sort_value, "");
}

Test(cursor, belongs_to_its_question, .init = setup, .fini = teardown) {
    cr_assert_not(is_of(with_value, "foobaz"));
    cr_assert_not(is_of(with_value, ""));
}

/* Each character carries six bits of digest, id or value; "A" and "B" differ in one of them. */
Test(cursor, altered_anywhere_is_none, .init = setup, .fini = teardown) {
    for (size_t i = 0; with_value[i] != '\0'; i++) {
        char *altered = hf_arena_strdup(&arena, with_value);
        altered[i] = altered[i] == 'B' ? 'C' : 'B';
        cr_assert_not(is_of(altered, "foobar"), "%zu", i);
    }
}

Test(cursor, anything_else_is_refused, .init = setup, .fini = teardown) {
    static const char *const texts[] = {"", "A", "AAAA", "not base64!", "ODU5NDQxNzFmNzM5NjdlOA", "===="};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        cr_assert_not(hfd_cursor_read(texts[i], &arena, &cursor), "%s", texts[i]);
}

/* Bytes that are no UTF-8, and a NUL, must not reach the database. */
Test(cursor, value_must_be_text, .init = setup, .fini = teardown) {
    char text[128];
    snprintf(text, sizeof text, "%s_w", without_value); /* adds a byte of 0xfc … */
    cr_assert_not(hfd_cursor_read(text, &arena, &cursor));
    snprintf(text, sizeof text, "%sAA", without_value); /* … and of zero */
    cr_assert_not(hfd_cursor_read(text, &arena, &cursor));
}
