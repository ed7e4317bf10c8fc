#include "../../../server/rest/negotiate.h"

#include <criterion/criterion.h>
#include <string.h>

/* RFC 9110 §8.8.3.2, the table of comparisons, for our side "1". */
Test(negotiate, etags_compare_as_the_rfc_says) {
    cr_assert(hfd_if_match("\"1\"", "\"1\""));
    cr_assert_not(hfd_if_match("W/\"1\"", "\"1\""), "strong comparison: a weak tag never matches");
    cr_assert_not(hfd_if_match("\"2\"", "\"1\""));
    cr_assert(hfd_if_none_match("\"1\"", "\"1\""));
    cr_assert(hfd_if_none_match("W/\"1\"", "\"1\""), "weak comparison");
    cr_assert_not(hfd_if_none_match("W/\"2\"", "\"1\""));
}

/* RFC 9110 §13.1.1 and §13.1.2: the examples' forms. */
Test(negotiate, etags_come_in_lists) {
    cr_assert(hfd_if_match("\"xyzzy\", \"r2d2xxxx\", \"c3piozzzz\"", "\"r2d2xxxx\""));
    cr_assert(hfd_if_match("\"xyzzy\",\"c3piozzzz\"", "\"c3piozzzz\""));
    cr_assert(hfd_if_none_match("W/\"xyzzy\", W/\"r2d2xxxx\", W/\"c3piozzzz\"", "\"xyzzy\""));
    cr_assert(hfd_if_match("*", "\"1\""));
    cr_assert(hfd_if_match("\"a,b\"", "\"a,b\""), "a comma inside a tag");
}

Test(negotiate, what_is_no_tag_matches_nothing) {
    static const char *const fields[] = {
        "", "1", "\"1", "1\"", "\"1\"x", "*, \"1\"x", "w/\"1\"", "\"11\"", "** "};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
        cr_assert_not(hfd_if_match(fields[i], "\"1\""), "%s", fields[i]);
}

static const char *best_of(const char *field, const char *offers) {
    static hf_arena arena;
    hf_arena_fini(&arena);
    hf_arena_init(&arena, 256, 0);
    const char *found = hfd_accept_best(field, offers, &arena);
    return found ? found : "none";
}

static bool accepts(const char *field, const char *media_type) {
    return strcmp(best_of(field, media_type), media_type) == 0;
}

static const char *best(const char *field) {
    return best_of(field, "application/json, text/html");
}

// RFC 9110 §12.5.1: "audio/*; q=0.2, audio/basic", and the precedence of the most specific range.
Test(negotiate, accept_by_the_most_exact_range) {
    cr_assert(accepts("audio/*; q=0.2, audio/basic", "audio/basic"));
    cr_assert(accepts("audio/*; q=0.2, audio/basic", "audio/ogg"));
    cr_assert_not(accepts("audio/*; q=0.2, audio/basic", "text/plain"));
    cr_assert(accepts("text/*, text/plain, text/plain;format=flowed, */*", "application/json"));
    cr_assert_not(accepts("*/*, application/json;q=0", "application/json"));
    cr_assert_not(accepts("application/json; q=0.000, application/*", "application/json"));
    cr_assert(accepts("*/*;q=0, application/json", "application/json"));
    cr_assert(accepts("APPLICATION/JSON", "application/json"), "types ignore case");
    cr_assert(accepts(NULL, "application/json"), "no field: anything");
    cr_assert_not(accepts("application/jsonx", "application/json"));
    cr_assert_not(accepts("text/html;level=1;q=1", "application/json"));
}

/* RFC 9110 §12.5.1; the fifth is what browsers send. */
Test(negotiate, the_best_of_several_offers) {
    cr_expect_str_eq(best(NULL), "application/json");
    cr_expect_str_eq(best("*/*"), "application/json");
    cr_expect_str_eq(best("text/html"), "text/html");
    cr_expect_str_eq(best("application/json;q=0.5, text/html;q=0.6"), "text/html");
    cr_expect_str_eq(best("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"), "text/html");
    cr_expect_str_eq(best("text/html;q=0, */*;q=0.1"), "application/json");
    cr_expect_str_eq(best("image/png"), "none");
}

/* RFC 7240 §2 and §4.2. */
Test(negotiate, the_minimal_reply) {
    static const char *const yes[] = {"return=minimal", "return=\"minimal\"", "Return = minimal",
        "respond-async, return=minimal", "wait=100, return=minimal; a=b , handling=lenient"};
    static const char *const no[] = {"return=representation", "return=minimally", "return", "minimal",
        "returns=minimal", "return=representation, return=minimal", ""};
    for (size_t i = 0; i < sizeof yes / sizeof *yes; i++)
        cr_expect(hfd_prefers_minimal(yes[i]), "%s", yes[i]);
    for (size_t i = 0; i < sizeof no / sizeof *no; i++)
        cr_expect_not(hfd_prefers_minimal(no[i]), "%s", no[i]);
    cr_expect_not(hfd_prefers_minimal(NULL));
}

Test(negotiate, media_types) {
    cr_assert(hfd_is_media_type("application/json", "application/json"));
    cr_assert(hfd_is_media_type("Application/JSON; charset=UTF-8", "application/json"));
    cr_assert(hfd_is_media_type("application/json;charset=\"utf-8\"", "application/json"));
    cr_assert_not(hfd_is_media_type("application/json; charset=latin1", "application/json"));
    cr_assert_not(hfd_is_media_type("application/jsonp", "application/json"));
    cr_assert_not(hfd_is_media_type("text/json", "application/json"));
    cr_assert_not(hfd_is_media_type(NULL, "application/json"));
    cr_assert_not(hfd_is_media_type("application/x-www-form-urlencoded", "application/json"));
}
