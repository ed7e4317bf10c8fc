/* Axes read back as a reader does: two ticks tell where everything stands. */
#include "../../../server/draw/axes.h"

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
TestSuite(axes, .init = begin, .fini = end);

#define EXPECT_TEXT(part) cr_expect(strstr(out.text, part) != NULL, "%s", out.text)
#define EXPECT_NO_TEXT(part) cr_expect(strstr(out.text, part) == NULL, "%s", out.text)

Test(axes, values_stand_in_proportion) {
    struct hfd_axis axis = {.low = -1.0, .high = 3.0, .from = 100.0, .to = 20.0};
    cr_expect_eq(hfd_axis_at(&axis, 0.0), 80.0);
    cr_expect_eq(hfd_axis_at(&axis, 5.0), -20.0);
    cr_expect_eq(hfd_axis_within(&axis, 5.0), 20.0);
    cr_expect_eq(hfd_axis_within(&axis, -9.0), 100.0);
}

Test(axes, steps_are_round) {
    static const struct {
        double span;
        int most;
        double step;
    } cases[] = {
        {10, 5, 2}, {10, 10, 1}, {11, 5, 5}, {0.03, 4, 0.01}, {7, 3, 5}, {1000, 1, 1000}, {0.9, 9, 0.1}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        cr_expect_float_eq(hfd_axis_step(cases[i].span, cases[i].most), cases[i].step, 1e-12, "%zu", i);
    struct hfd_axis axis = hfd_axis_round(-2.3, 0.1, 5, 200, 0);
    cr_expect_float_eq(axis.low, -2.5, 1e-12);
    cr_expect_float_eq(axis.high, 0.5, 1e-12);
    axis = hfd_axis_round(2, 2, 5, 0, 1);
    cr_expect(axis.high > axis.low, "a single value has a span too");
}

Test(axes, ticks_are_values) {
    struct hfd_chart chart = {{0, 10, 100, 200}, {-1, 1, 50, 10}};
    hfd_chart_values_y(&svg, &chart, 2);
    EXPECT_TEXT("<line class=\"grid\" x1=\"100\" y1=\"30\" x2=\"200\" y2=\"30\"/>");
    EXPECT_TEXT("x=\"94\" y=\"33.5\">0</text>");
    EXPECT_TEXT("y=\"53.5\">\xE2\x88\x92"
                "1</text>");
    hfd_chart_values_x(&svg, &chart, 5);
    EXPECT_TEXT("x=\"120\" y=\"64\">2</text>");
    EXPECT_TEXT("x=\"200\" y=\"64\">10</text>");
}

/* 2026-01-01 is day 20454 (date -d 2026-01-01 +%s, by 86400). */
Test(axes, dates_are_firsts_of_months) {
    struct hfd_chart chart = {{20453, 20453 + 200, 0, 200}, {0, 1, 50, 0}};
    hfd_chart_dates_x(&svg, &chart, 4);
    EXPECT_TEXT("x=\"1\" y=\"64\">Jan 2026</text>");
    EXPECT_TEXT("x=\"60\" y=\"64\">Mar 2026</text>"); /* 31 and 28 days on */
    EXPECT_TEXT(">Jul 2026<");
    EXPECT_NO_TEXT(">Feb 2026<");
    hfd_buf_cut(&out, 0);
    chart.x.high = chart.x.low + 3000;
    hfd_chart_dates_x(&svg, &chart, 5);
    EXPECT_TEXT(">2026</text>");
    EXPECT_TEXT(">2034</text>");
    EXPECT_NO_TEXT(">2027<");
    hfd_buf_cut(&out, 0);
    chart.x.high = chart.x.low + 10;
    hfd_chart_dates_x(&svg, &chart, 2);
    EXPECT_TEXT("x=\"0\" y=\"64\">2025-12-31</text>");
    EXPECT_TEXT("x=\"100\" y=\"64\">2026-01-05</text>");
}
