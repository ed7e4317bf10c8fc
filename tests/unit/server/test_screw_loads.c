/* Rows that no stored visit can have: figures that are missing, and loads beyond the axis. What is drawn of a
 * visit is read back by tests/http/test_curves.py. */
#include "../../../server/draw/screw_loads.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static hf_arena arena;
static struct hfd_buf out;

static void begin(void) {
    hf_arena_init(&arena, 1 << 16, 0);
    hfd_buf_init(&out, &arena, 1024);
}
static void end(void) {
    hf_arena_fini(&arena);
}
TestSuite(screw_loads, .init = begin, .fini = end);

#define EXPECT_TEXT(part) cr_expect(strstr(out.text, part) != NULL, "%s", out.text)
#define EXPECT_NO_TEXT(part) cr_expect(strstr(out.text, part) == NULL, "%s", out.text)

static hf_screw_out a_screw(const char *name) {
    hf_screw_out screw = {.name = name, .insertion_torque_ncm = NAN};
    screw.limits = (hf_screw_limits){50, 150, 0.5, 5, 10, 0.1, 0.5, NAN, NAN};
    screw.loss = (hf_range){NAN, NAN, NAN};
    return screw;
}

Test(screw_loads, what_is_missing_is_said) {
    hf_screw_out screw = a_screw("A");
    screw.load.cortex_peak_mpa = screw.peak.cortex_peak_mpa = NAN;
    hf_answer answer = {.screws = &screw, .screw_count = 1, .notice = "caution"};
    hfd_draw_screw_loads(&out, false, &answer);
    EXPECT_TEXT("<title>Cortex stress not given</title>");
    EXPECT_TEXT(">not recorded</text>");
    EXPECT_TEXT(">no window published</text>");
    EXPECT_TEXT("<title>Without the site there is no published loss to start from.</title>");
    EXPECT_NO_TEXT("nan");
}

Test(screw_loads, without_screws_there_are_no_rows) {
    hf_answer answer = {.notice = "caution"};
    hfd_draw_screw_loads(&out, true, &answer);
    EXPECT_NO_TEXT("class=\"screw\"");
    EXPECT_NO_TEXT("<style");
    EXPECT_NO_TEXT("nan");
    EXPECT_TEXT("caution</desc>");
}

Test(screw_loads, beyond_the_axis_an_arrow) {
    hf_screw_out screws[] = {a_screw("out"), a_screw("in")};
    screws[0].load.axis_moment_nmm = screws[0].peak.axis_moment_nmm = 40;
    screws[1].load.axis_moment_nmm = screws[1].peak.axis_moment_nmm = -40;
    hf_answer answer = {.screws = screws, .screw_count = 2, .notice = "caution"};
    hfd_draw_screw_loads(&out, false, &answer);
    EXPECT_TEXT("class=\"bar stop\" d=\"M");
    EXPECT_TEXT("class=\"bar note\" d=\"M");
    EXPECT_TEXT(">\xE2\x96\xA0 40</text>");
    EXPECT_TEXT(">\xE2\x88\x92"
                "40</text>");
}

Test(screw_loads, a_risk_is_never_told_as_none) {
    hf_screw_out screw = a_screw("A");
    screw.loss = (hf_range){1e-7, 4e-5, 0.0312};
    hf_answer answer = {.screws = &screw, .screw_count = 1, .horizon_days = 42, .notice = "caution"};
    hfd_draw_screw_loads(&out, false, &answer);
    EXPECT_TEXT(">&lt;0.01</text>");
    EXPECT_TEXT(">&lt;0.01 to 3.1</text>");
    EXPECT_TEXT("Lost within 42 days: &lt;0.01 % (95 %: &lt;0.01 to 3.1).");
}
