#include "../../../server/pages/html.h"

#include <criterion/criterion.h>
#include <string.h>

static struct hfd_buf out;
static hf_arena arena;

static void begin(void) {
    hf_arena_init(&arena, 4096, 0);
    hfd_buf_init(&out, &arena, 64);
}

static void end(void) {
    hf_arena_fini(&arena);
}

TestSuite(html, .init = begin, .fini = end);

Test(html, what_comes_from_outside_is_escaped) {
    hfd_html(&out, "<p title=\"%s\">%s, %d</p>", "\"'", "<b>&", -7);
    cr_assert_str_eq(out.text, "<p title=\"&quot;&#39;\">&lt;b&gt;&amp;, -7</p>");
}

Test(html, dates_for_people_and_machines) {
    hfd_html_date(&out, "2026-03-02");
    cr_assert_str_eq(out.text, "<time datetime=\"2026-03-02\">2&#160;Mar&#160;2026</time>");
    hfd_buf_cut(&out, 0);
    hfd_html_day(&out, 364); /* day 0 is 1970-01-01, no leap year */
    cr_assert_str_eq(out.text, "<time datetime=\"1970-12-31\">31&#160;Dec&#160;1970</time>");
    hfd_buf_cut(&out, 0);
    hfd_html_date(&out, NULL);
    hfd_html_date(&out, "<b>");
    cr_assert_str_eq(out.text, "––");
}

Test(html, the_frame_says_where_and_who) {
    const struct hfd_crumb crumbs[] = {{"A<", "/v1/a"}, {"here", NULL}};
    struct hfd_frame frame = {.title = "T&T",
        .clinic = "C\"",
        .role = "clinician",
        .demo = true,
        .crumbs = crumbs,
        .crumb_count = 2};
    hfd_html_begin(&out, &frame);
    hfd_html_end(&out);
    cr_assert(strstr(out.text, "<title>T&amp;T – Holdfast</title>"));
    cr_assert(strstr(out.text, "<a href=\"/v1/a\">A&lt;</a>"));
    cr_assert(strstr(out.text, "<li aria-current=\"page\">here</li>"));
    cr_assert(strstr(out.text, "C&quot;, clinician"));
    cr_assert(strstr(out.text, "Synthetic demonstration data — no real patient."));
    hfd_buf_cut(&out, 0);
    hfd_html_begin(&out, &(struct hfd_frame){.title = "T"});
    cr_assert_not(strstr(out.text, "Sign out") || strstr(out.text, "Synthetic"));
}
