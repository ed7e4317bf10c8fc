#include "../../../core/report.h"

#include <criterion/criterion.h>
#include <string.h>

#include "../../../core/evidence.h"

/* What report.h promises: nothing lost, order kept, sources sorted, once each, and only what is a key. */

static hf_arena arena;

static void begin(void) {
    hf_arena_init(&arena, 4096, 0);
}

static void end(void) {
    hf_arena_fini(&arena);
}

TestSuite(report, .init = begin, .fini = end);

static const char *source_of(const hf_answer *answer, const char *key) {
    for (size_t i = 0; i < answer->source_count; i++)
        if (strcmp(answer->sources[i].key, key) == 0) return answer->sources[i].citation;
    return NULL;
}

Test(report, nothing_said_gives_empty_lists) {
    hf_report report = hf_report_on(&arena);
    hf_answer answer = {.finding_count = 9, .source_count = 9, .problem_count = 9, .assumed_count = 9};
    hf_report_finish(&report, &answer);
    cr_assert(
        !answer.finding_count && !answer.source_count && !answer.problem_count && !answer.assumed_count);
}

Test(report, sources_are_sorted_and_stand_once) {
    hf_report report = hf_report_on(&arena);
    const char *cited[] = {"mohammed-2018", "chang-2015", "mohammed-2018", "bayat-2010", "chang-2015"};
    for (size_t i = 0; i < 5; i++)
        hf_report_cite(&report, cited[i]);
    hf_answer answer;
    hf_report_finish(&report, &answer);
    cr_assert_eq(answer.source_count, 3);
    cr_assert_str_eq(answer.sources[0].key, "bayat-2010");
    cr_assert_str_eq(answer.sources[1].key, "chang-2015");
    cr_assert_str_eq(answer.sources[2].key, "mohammed-2018");
    cr_assert_str_eq(answer.sources[2].citation, hf_citation_find("mohammed-2018"));
}

Test(report, a_row_is_told_by_its_paper) {
    hf_report report = hf_report_on(&arena);
    cr_assert_str_eq(hf_report_cite(&report, "loss-palate-paramedian"), "mohammed-2018");   /* read */
    cr_assert_str_eq(hf_report_cite(&report, "loss-mandible-buccal-3-4"), "mohammed-2018"); /* recalled */
    cr_assert_str_eq(hf_report_cite(&report, "loss-span"), "holdfast-judgement");           /* no paper */
    cr_assert_str_eq(hf_report_cite(&report, "default arch"), "default arch");
    cr_assert_null(hf_report_cite(&report, NULL));
    hf_answer answer;
    hf_report_finish(&report, &answer);
    cr_assert_eq(answer.source_count, 2);
    cr_assert(strstr(source_of(&answer, "mohammed-2018"), hf_citation_find("mohammed-2018")));
    cr_assert(
        strstr(source_of(&answer, "mohammed-2018"), "value from memory"), "one of its numbers was recalled");
    cr_assert_str_eq(source_of(&answer, "holdfast-judgement"), hf_citation_find("holdfast-judgement"));
}

Test(report, what_was_read_carries_no_note) {
    hf_report report = hf_report_on(&arena);
    hf_report_cite(&report, "loss-palate-paramedian");
    hf_answer answer;
    hf_report_finish(&report, &answer);
    cr_assert_str_eq(source_of(&answer, "mohammed-2018"), hf_citation_find("mohammed-2018"));
}

Test(report, plain_words_and_nothing_stay_out_of_sources) {
    hf_report report = hf_report_on(&arena);
    hf_report_cite(&report, NULL);
    hf_report_find(&report, (hf_finding){.code = "a", .source = NULL});
    hf_report_assume_real(&report, "/a", 1.5, "default arch");
    hf_report_assume_text(&report, "/b", "attached", "chang-2015");
    hf_report_assume_vec3(&report, "/c", hf_vec3_of(1.0, 2.0, 3.0), "default arch");
    hf_report_find(&report, (hf_finding){.code = "b", .source = "mohammed-2018"});
    hf_answer answer;
    hf_report_finish(&report, &answer);
    cr_assert_eq(answer.source_count, 2);
    cr_assert(source_of(&answer, "chang-2015") && source_of(&answer, "mohammed-2018"));
    cr_assert_eq(answer.assumed_count, 3);
    cr_assert_eq(answer.assumed[0].kind, HF_ASSUMED_REAL);
    cr_assert_eq(answer.assumed[0].real, 1.5);
    cr_assert_str_eq(answer.assumed[1].text, "attached");
    cr_assert_eq(answer.assumed[2].vec3.z, 3.0);
    cr_assert_str_eq(answer.assumed[2].source, "default arch");
}

Test(report, long_lists_keep_everything_in_order) {
    hf_report report = hf_report_on(&arena);
    for (int i = 0; i < 1000; i++) {
        hf_report_find(&report, (hf_finding){.code = "n", .value = i, .source = "chang-2015"});
        hf_report_problem(&report, hf_arena_printf(&arena, "/teeth/%d", i), "number %d of '%s'", i, "x");
        hf_report_assume_real(&report, "/r", i, "plain");
    }
    hf_answer answer;
    hf_report_finish(&report, &answer);
    cr_assert_eq(answer.finding_count, 1000);
    cr_assert_eq(answer.problem_count, 1000);
    cr_assert_eq(answer.assumed_count, 1000);
    cr_assert_eq(answer.source_count, 1);
    for (int i = 0; i < 1000; i++) {
        cr_assert_eq(answer.findings[i].value, i);
        cr_assert_eq(answer.assumed[i].real, i);
    }
    cr_assert_str_eq(answer.problems[999].pointer, "/teeth/999");
    cr_assert_str_eq(answer.problems[999].detail, "number 999 of 'x'");
}

Test(report, a_long_detail_is_cut_not_lost) {
    hf_report report = hf_report_on(&arena);
    hf_report_problem(&report, "/a", "%2000s", "end");
    hf_answer answer;
    hf_report_finish(&report, &answer);
    cr_assert_eq(strlen(answer.problems[0].detail), 511);
}
