#include "../../../server/json/course.h"

#include <criterion/criterion.h>
#include <string.h>

static hf_arena arena;
static struct hfd_errors errors;

static void begin(void) {
    hf_arena_init(&arena, 1 << 16, 0);
    hfd_errors_init(&errors, &arena);
}

static void end(void) {
    hf_arena_fini(&arena);
}

TestSuite(course, .init = begin, .fini = end);

static enum hfd_problem_kind tell(const char *text, const char **body) {
    struct hfd_course_told told = {.body = NULL};
    enum hfd_problem_kind kind = hfd_course_progress(text, strlen(text), &arena, &errors, &told);
    if (kind == HFD_OK) cr_assert_eq(strlen(told.body), told.body_len);
    *body = told.body;
    return kind;
}

/* 0.2 cm are 2 mm; posterior intrusion goes 0.4 mm a month (value from memory), so it takes 5 months
 * of 30.4375 days. */
Test(course, a_goal_may_come_in_another_unit) {
    const char *one, *other;
    cr_assert_eq(
        tell(
            "{\"on\": \"2026-03-02\", \"from\": \"2026-03-02\", \"segments\": [{\"name\": \"m\", \"teeth\": [\"16\"], "
            "\"joined\": \"rigid\"}], \"goals\": [{\"segment\": \"m\", \"occlusal_mm\": -2}]}",
            &one),
        HFD_OK);
    cr_assert_eq(
        tell(
            "{\"on\": \"2026-03-02\", \"from\": \"2026-03-02\", \"segments\": [{\"name\": \"m\", \"teeth\": [\"16\"], "
            "\"joined\": \"rigid\"}], \"goals\": [{\"segment\": \"m\", \"occlusal_mm\": {\"value\": -0.2, "
            "\"unit\": \"cm\"}}]}",
            &other),
        HFD_OK);
    cr_expect_str_eq(one, other);
    cr_expect_not_null(
        strstr(one, "\"movement\":\"posterior-intrusion\",\"wished\":-2,\"from\":\"2026-03-02\""), "%s", one);
    cr_expect_not_null(strstr(one, "\"mid\":152.1875,"), "%s", one);
}

Test(course, what_is_not_known_is_left_out) {
    const char *body;
    cr_assert_eq(tell("{\"on\": \"2026-03-02\", \"goals\": [{\"overbite_mm\": 2}]}", &body), HFD_OK);
    cr_expect_not_null(
        strstr(
            body, "\"goals\":[{\"measure\":\"overbite_mm\",\"wished\":2,\"measured\":[]}],\"findings\":[]"),
        "%s", body);
    cr_assert_eq(tell("{\"on\": \"2026-03-02\"}", &body), HFD_OK);
    cr_expect_not_null(strstr(body, "\"goals\":[],\"findings\":[],\"sources\":{}"), "%s", body);
}

Test(course, every_fault_is_told) {
    const char *body;
    cr_expect_eq(tell("{\"on\": ", &body), HFD_MALFORMED_JSON);
    hfd_errors_init(&errors, &arena);
    cr_expect_eq(
        tell(
            "{\"goals\": [{\"tip_deg\": 5}, {\"movement\": \"away\"}], \"visits\": [{\"on\": \"2026-03-02\", "
            "\"segments\": [{\"mesial_mm\": 51}]}]}",
            &body),
        HFD_VALIDATION);
    static const char *const pointers[] = {"/on", "/goals/0/tip_deg", "/goals/1/movement",
        "/visits/0/segments/0/segment", "/visits/0/segments/0/mesial_mm"};
    for (size_t i = 0; i < sizeof pointers / sizeof *pointers; i++) {
        bool told = false;
        for (const struct hfd_error *e = errors.first; e; e = e->next)
            told |= strcmp(e->pointer, pointers[i]) == 0;
        cr_expect(told, "%s", pointers[i]);
    }
}
