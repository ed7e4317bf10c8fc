/* What is drawn, read back from the text. */
#include "../../../server/draw/svg.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static hf_arena arena;
static struct hfd_buf out;
static struct hfd_svg svg;

static void begin(void) {
    hf_arena_init(&arena, 1 << 16, 0);
    hfd_buf_init(&out, &arena, 1024);
    svg = (struct hfd_svg){.out = &out, .prefix = "t"};
}
static void end(void) {
    hf_arena_fini(&arena);
}
TestSuite(svg, .init = begin, .fini = end);

#define EXPECT_TEXT(part) cr_expect(strstr(out.text, part) != NULL, "%s", out.text)

Test(svg, texts_are_escaped) {
    hfd_svg_begin(&svg, &out, false, "a", 100, 50, "<b>", "\"&'");
    hfd_svg_text(&svg, "small", (struct hfd_at){1, 2}, "</text><script>");
    hfd_svg_end(&svg);
    EXPECT_TEXT("<title id=\"a-title\">&lt;b&gt;</title>");
    EXPECT_TEXT("<desc id=\"a-desc\">&quot;&amp;&#39;</desc>");
    EXPECT_TEXT("<text class=\"small\" x=\"1\" y=\"2\">&lt;/text&gt;&lt;script&gt;</text>");
    EXPECT_TEXT("<style>");
    cr_expect_null(strstr(out.text, "<script"));
}

Test(svg, inside_a_page_no_rules) {
    hfd_svg_begin(&svg, &out, true, "a", 100, 50, "t", "d");
    cr_expect_null(strstr(out.text, "<style"));
    EXPECT_TEXT("viewBox=\"0 0 100 50\"");
}

/* The tip is where it was said to be, the shaft ends inside the head. */
Test(svg, an_arrow_ends_at_its_tip) {
    hfd_svg_arrow(&svg, "force", (struct hfd_at){10, 10}, (struct hfd_at){40, 50});
    EXPECT_TEXT("<line class=\"shaft\" x1=\"10\" y1=\"10\" x2=\"36.22\" y2=\"44.96\"/>");
    EXPECT_TEXT("d=\"M40 50L");
    hfd_buf_cut(&out, 0);
    hfd_svg_arrow(&svg, "force", (struct hfd_at){1, 1}, (struct hfd_at){1, 1});
    cr_expect_str_empty(out.text);
}

/* Counter-clockwise as seen: from the right of the centre up to its top, y down. */
Test(svg, a_turn_goes_its_way) {
    hfd_svg_turn(&svg, "moment", (struct hfd_at){0, 0}, 10, 0, M_PI / 2);
    EXPECT_TEXT("d=\"M10 0A10 10 0 0 0 0 -10\"");
    EXPECT_TEXT("class=\"head\" d=\"M0 -10L9 -");
    hfd_buf_cut(&out, 0);
    hfd_svg_turn(&svg, "moment", (struct hfd_at){0, 0}, 10, 0, -1.5 * M_PI);
    EXPECT_TEXT("d=\"M10 0A10 10 0 1 1 0 -10\"");
    EXPECT_TEXT("class=\"head\" d=\"M0 -10L-9 -");
}

Test(svg, what_is_not_known_interrupts_a_line) {
    struct hfd_at points[] = {{0, 0}, {1, NAN}, {2, 2.5}, {3, 3}};
    hfd_svg_polyline(&svg, "measured", points, 4);
    EXPECT_TEXT("d=\"M0 0M2 2.5L3 3\"");
}

Test(svg, numbers_for_people) {
    static const struct {
        double value;
        int digits;
        const char *text;
    } cases[] = {{1.4709975, 3, "1.47"},
        {-0.5, 3,
            "\xE2\x88\x92"
            "0.5"},
        {100.0, 3, "100"}, {1234.4, 3, "1234"}, {0.00002, 3, "0.00002"}, {0.0, 3, "0"}, {-1e-12, 3, "0"},
        {NAN, 3, "\xE2\x80\x93"}, {9.996, 3, "10"}, {0.25, 1, "0.2"}, {40.0, 1, "40"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        cr_expect_str_eq(hfd_svg_number(&arena, cases[i].value, cases[i].digits), cases[i].text);
}

Test(svg, a_group_tells_its_numbers) {
    const struct hfd_datum data[] = {{"name", "<\"a\">"}, {"end", NULL}, {"force-n", "1.5"}};
    hfd_svg_group_told(&svg, "force", data, 3, "a & b");
    hfd_svg_group_end(&svg);
    EXPECT_TEXT(
        "<g class=\"force\" data-name=\"&lt;&quot;a&quot;&gt;\" data-force-n=\"1.5\"><title>a &amp; b</title>");
    cr_expect_null(strstr(out.text, "data-end"));
}

/* Through the middles of the sides, each corner the control point of a quadratic curve. */
Test(svg, a_smooth_outline) {
    struct hfd_at square[] = {{0, 0}, {10, 0}, {10, 10}, {0, 10}};
    hfd_svg_smooth(&svg, NULL, square, 4);
    EXPECT_TEXT("<path d=\"M0 5Q0 0 5 0Q10 0 10 5Q10 10 5 10Q0 10 0 5Z\"/>");
    hfd_buf_cut(&out, 0);
    hfd_svg_smooth(&svg, NULL, square, 2);
    cr_expect_str_empty(out.text);
}

Test(svg, a_panel_has_its_own_origin) {
    hfd_svg_panel(&svg, "panel", (struct hfd_at){12, 32.5}, 100, 50);
    hfd_svg_panel_end(&svg);
    EXPECT_TEXT("<svg class=\"panel\" x=\"12\" y=\"32.5\" width=\"100\" height=\"50\">\n</svg>");
}
