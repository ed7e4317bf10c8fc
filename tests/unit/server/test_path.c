#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "../../../server/http/path.h"

/* Segments in [], query in (name=value), or the refusal's status. */
static void expect(const char *target, const char *expected) {
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    const char *detail = NULL;
    struct hfd_request request = {.arena = &arena, .target = target};
    enum hfd_problem_kind kind = hfd_path_parse(&request, &detail);
    char text[2048] = "";
    FILE *out = fmemopen(text, sizeof text, "w");
    if (kind != HFD_OK) fprintf(out, "%d", hfd_problem_rows[kind].status);
    for (size_t i = 0; kind == HFD_OK && i < request.segment_count; i++) {
        fprintf(out, "[%s]", request.segments[i]);
    }
    for (size_t i = 0; kind == HFD_OK && i < request.query_count; i++) {
        fprintf(out, "(%s=%s)", request.query[i].name, request.query[i].value);
    }
    fclose(out);
    cr_expect_str_eq(text, expected, "%s: %s, not %s", target, text, expected);
    cr_expect((kind == HFD_OK || kind == HFD_NOT_FOUND) == (detail == NULL), "%s", target);
    hf_arena_fini(&arena);
}

Test(path, segments_are_split_before_they_are_decoded) {
    expect("/", "");
    expect("/v1/visits", "[v1][visits]");
    expect("/v1/visits/", "[v1][visits][]");
    expect("//v1", "[][v1]");
    /* RFC 3986 §2.1: both cases of digits; §2.3: an escaped unreserved character is that character. */
    expect("/a%20b/%C3%BC%c3%bc/%41", "[a b][üü][A]");
    expect("/a+b;c=d,e:@!$&'()*", "[a+b;c=d,e:@!$&'()*]");
    expect("/%252e%252e/%25", "[%2e%2e][%]");
    expect("/1/2/3/4/5/6/7/8", "[1][2][3][4][5][6][7][8]");
    expect("/1/2/3/4/5/6/7/8/9", "404");
}

/* RFC 9112 §3.2: origin form and absolute form are taken, nothing else. */
Test(path, forms_of_the_target) {
    expect("http://example.org/v1/sites?limit=5", "[v1][sites](limit=5)");
    expect("HTTPS://example.org", "");
    expect("http://example.org?a=b", "(a=b)");
    expect("v1/sites", "400");
    expect("", "400");
    expect("*", "400");
    expect("example.org:443", "400");
    struct hfd_request request = {.method = HFD_OPTIONS, .target = "*"};
    const char *detail = NULL;
    cr_assert_eq(hfd_path_parse(&request, &detail), HFD_OK);
}

Test(path, what_could_deceive_is_refused) {
    expect("/a%00b", "400");
    expect("/a%2Fb", "400");
    expect("/a%2fb", "400");
    expect("/a/../b", "400");
    expect("/a/./b", "400");
    expect("/a/%2e%2E/b", "400");
    expect("/a/.%2e", "400");
    expect("/.../..a", "[...][..a]");
    expect("/a%0d%0aX:%20y", "400");
    expect("/%7f", "400");
    /* RFC 3986 §2.1: a percent sign and two hexadecimal digits. */
    expect("/%", "400");
    expect("/%4", "400");
    expect("/%g1", "400");
    expect("/%1g", "400");
    expect("/a%2", "400");
    /* RFC 3629: overlong slash, lone continuation. */
    expect("/%c0%af", "400");
    expect("/%80", "400");
    /* RFC 3986 §2: bytes that may only stand escaped; §3.5: a fragment is never sent. */
    expect("/\xc3\xbc", "400");
    expect("/a b", "400");
    expect("/a\tb", "400");
    expect("/a#b", "400");
}

/* URL standard of the web platform, application/x-www-form-urlencoded parsing: &, =, + and empty pieces. */
Test(path, query) {
    expect("/x?a=1&b=2", "[x](a=1)(b=2)");
    expect("/x?", "[x]");
    expect("/x?&&a&&", "[x](a=)");
    expect("/x?a&b&c&d", "[x](a=)(b=)(c=)(d=)");
    expect("/x?=v", "[x](=v)");
    expect("/x?a=b=c", "[x](a=b=c)");
    expect("/x?a+b=c+d%2Be", "[x](a b=c d+e)");
    expect("/x?path=%2Fa%2fb/c?d", "[x](path=/a/b/c?d)");
    expect("/x?a=1&a=2", "[x](a=1)(a=2)");
    expect("/x?a=%00", "400");
    expect("/x?%0a=1", "400");
    expect("/x?a=%f", "400");
    expect("/x?a=%ff", "400");
}

Test(path, limits) {
    char target[HFD_TARGET_MAX_BYTES + 2];
    memset(target, 'a', sizeof target);
    target[0] = '/';
    target[HFD_TARGET_MAX_BYTES + 1] = '\0';
    expect(target, "414");
    char query[2 * HFD_PAIRS_MAX + 4] = "/?";
    for (int i = 0; i < HFD_PAIRS_MAX; i++) {
        memcpy(query + 2 + 2 * i, "a&", 2);
    }
    hf_arena arena;
    hf_arena_init(&arena, 4096, 0);
    const char *detail = NULL;
    struct hfd_request request = {.arena = &arena, .target = query};
    cr_assert_eq(hfd_path_parse(&request, &detail), HFD_OK);
    cr_assert_eq(request.query_count, HFD_PAIRS_MAX);
    query[2 + 2 * HFD_PAIRS_MAX] = 'a';
    request = (struct hfd_request){.arena = &arena, .target = query};
    cr_assert_eq(hfd_path_parse(&request, &detail), HFD_BAD_REQUEST);
    hf_arena_fini(&arena);
}

Test(path, length_ends_at_the_query) {
    cr_assert_eq(hfd_path_length("/v1/patients?family_name=x"), 12);
    cr_assert_eq(hfd_path_length("/v1"), 3);
}
