#include <criterion/criterion.h>
#include <string.h>

#include "../../../server/base/utf8.h"

/* RFC 3629 §7: the four examples. */
Test(utf8, examples_of_the_standard) {
    static const char *const good[] = {"\x41\xe2\x89\xa2\xce\x91\x2e", "\xed\x95\x9c\xea\xb5\xad\xec\x96\xb4",
        "\xe6\x97\xa5\xe6\x9c\xac\xe8\xaa\x9e", "\xef\xbb\xbf\xf0\xa3\x8e\xb4", ""};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        cr_assert(hfd_utf8_valid(good[i], strlen(good[i])), "example %zu", i);
    }
}

/* Length by the table of RFC 3629 §3, at both ends of each row. */
Test(utf8, lengths) {
    static const struct {
        const char *text;
        size_t length;
    } cases[] = {{"\x01", 1}, {"\x7f", 1}, {"\xc2\x80", 2}, {"\xdf\xbf", 2}, {"\xe0\xa0\x80", 3},
        {"\xef\xbf\xbf", 3}, {"\xf0\x90\x80\x80", 4}, {"\xf4\x8f\xbf\xbf", 4}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        cr_assert_eq(
            hfd_utf8_character(cases[i].text, strlen(cases[i].text)), cases[i].length, "case %zu", i);
    }
    cr_assert_eq(hfd_utf8_character("\0", 1), 1);
    cr_assert_eq(hfd_utf8_character("x", 0), 0);
}

/* RFC 3629 §3 and §10: overlong forms, surrogates, beyond U+10FFFF, bytes that never occur, cut sequences. */
Test(utf8, refuses_what_is_not_utf8) {
    static const char *const bad[] = {"\xc0\x80", "\x2f\xc0\xae\x2e\x2f", "\xc1\xbf", "\xe0\x9f\xbf",
        "\xf0\x8f\xbf\xbf", "\xed\xa0\x80", "\xed\xa1\x8c\xed\xbe\xb4", "\xf4\x90\x80\x80",
        "\xf5\x80\x80\x80", "\xff", "\x80", "\xbf", "\xc3", "\xe2\x89", "\xf0\xa3\x8e", "\xe2\x28\xa1",
        "\xe2\x82\x28", "\xf0\x90\x28\x80", "\xf0\x90\x80\x28", "\xc3\xc3"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        cr_assert(!hfd_utf8_valid(bad[i], strlen(bad[i])), "case %zu", i);
    }
}
