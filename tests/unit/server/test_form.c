#include "../../../server/base/form.h"

#include <criterion/criterion.h>
#include <string.h>

static const char *decoded(const char *text, enum hfd_encoded where) {
    static char room[64];
    char *to = room;
    return hfd_percent_decode(text, strlen(text), where, &to) == NULL ? room : NULL;
}

/* URL Standard (WHATWG) §5.1: application/x-www-form-urlencoded parsing; RFC 3986 §2.1. */
Test(form, decodes_escapes) {
    cr_assert_str_eq(decoded("a%20b+c%2Fd", HFD_IN_FORM), "a b c/d");
    cr_assert_str_eq(decoded("a%20b+c%2fd", HFD_IN_QUERY), "a b c/d");
    cr_assert_str_eq(decoded("a%20b+c", HFD_IN_PATH), "a b+c");
    cr_assert_str_eq(decoded("%C3%A9", HFD_IN_FORM), "\xc3\xa9");
}

Test(form, refuses_what_is_no_text) {
    static const char *const never[] = {"%", "%4", "%zz", "%00", "%01", "%7f", "%ff", "%c0%ae", "\x01"};
    for (size_t i = 0; i < sizeof never / sizeof *never; i++)
        for (enum hfd_encoded where = HFD_IN_PATH; where <= HFD_IN_FORM; where++)
            cr_assert_null(decoded(never[i], where), "%s", never[i]);
    cr_assert_null(decoded("a%2Fb", HFD_IN_PATH));
    cr_assert_null(decoded("a%0Ab", HFD_IN_QUERY));
    cr_assert_str_eq(decoded("a%0D%0Ab%09", HFD_IN_FORM), "a\r\nb\t", "a field may have lines");
}

Test(form, pairs_in_order) {
    hf_arena arena;
    hf_arena_init(&arena, 1024, 0);
    const struct hfd_pair *pairs;
    size_t count;
    cr_assert_null(hfd_pairs_decode("a=1&b&&=c&a=%3D%26&d=e=f", HFD_IN_FORM, &arena, &pairs, &count));
    static const struct hfd_pair expected[] = {{"a", "1"}, {"b", ""}, {"", "c"}, {"a", "=&"}, {"d", "e=f"}};
    cr_assert_eq(count, sizeof expected / sizeof *expected);
    for (size_t i = 0; i < count; i++) {
        cr_assert_str_eq(pairs[i].name, expected[i].name);
        cr_assert_str_eq(pairs[i].value, expected[i].value);
    }
    cr_assert_str_eq(hfd_pairs_find(pairs, count, "a"), "1", "the first of two");
    cr_assert_null(hfd_pairs_find(pairs, count, "x"));
    cr_assert_not_null(hfd_pairs_decode("a=%", HFD_IN_FORM, &arena, &pairs, &count));
    hf_arena_fini(&arena);
}

Test(form, writes_values_for_queries) {
    hf_arena arena;
    struct hfd_buf buf;
    hf_arena_init(&arena, 1024, 0);
    hfd_buf_init(&buf, &arena, 8);
    hfd_buf_percent(&buf, "/v1/a?b=c&d \xc3\xa9~");
    cr_assert_str_eq(buf.text, "%2Fv1%2Fa%3Fb%3Dc%26d%20%C3%A9~");
    cr_assert_str_eq(decoded(buf.text, HFD_IN_QUERY), "/v1/a?b=c&d \xc3\xa9~");
    hf_arena_fini(&arena);
}
