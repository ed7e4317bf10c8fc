/* Texts that must fit their place. */
#include "../../../server/draw/text.h"

#include <criterion/criterion.h>
#include <string.h>

static hf_arena arena;
static void begin(void) {
    hf_arena_init(&arena, 1 << 16, 0);
}
static void end(void) {
    hf_arena_fini(&arena);
}
TestSuite(text, .init = begin, .fini = end);

Test(text, wider_with_more_and_larger) {
    cr_expect_gt(hfd_text_width("mm", 10), hfd_text_width("ii", 10));
    cr_expect_float_eq(hfd_text_width("abc", 20), 2 * hfd_text_width("abc", 10), 1e-12);
    cr_expect_eq(hfd_text_width("", 10), 0.0);
    /* One character of two bytes is one, and a square one is wider. */
    cr_expect_lt(hfd_text_width("\xC3\xA4", 10), 10.0);
    cr_expect_float_eq(hfd_text_width("\xE6\xAD\xAF", 10), 10.0, 1e-12);
}

Test(text, what_fits_stays) {
    const char *name = "palatal plate";
    cr_expect_str_eq(hfd_text_fitted(&arena, name, 10, hfd_text_width(name, 10)), name);
}

Test(text, the_rest_is_cut_between_characters) {
    const char *cut = hfd_text_fitted(&arena, "\xC3\xA4\xC3\xA4\xC3\xA4\xC3\xA4\xC3\xA4\xC3\xA4", 10, 30);
    cr_expect_str_eq(cut, "\xC3\xA4\xC3\xA4\xE2\x80\xA6");
    cr_expect_leq(hfd_text_width(cut, 10), 30.0);
    cr_expect_str_eq(hfd_text_fitted(&arena, "abc", 10, 5), "\xE2\x80\xA6");
    /* Broken bytes end nowhere else than whole ones. */
    cr_expect_leq(strlen(hfd_text_fitted(&arena, "\xC3\xC3\xC3\xC3", 10, 15)), 5);
}
