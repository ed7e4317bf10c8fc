#include <criterion/criterion.h>

#include <string.h>

#include "../../../server/base/problem.h"

static hf_arena arena;
static struct hfd_errors errors;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
    hfd_errors_init(&errors, &arena);
}
static void tear_down(void) {
    hf_arena_fini(&arena);
}

TestSuite(problem, .init = set_up, .fini = tear_down);

/* RFC 9457 §3.1: type, title, status, detail; the rest are extension members. */
Test(problem, whole_text) {
    hfd_errors_add(&errors, "/screws/0/length_mm", "expected %s", "\"a number\"");
    hfd_errors_add(&errors, "?limit", "at most %d", 200);
    hfd_errors_add(&errors, NULL, "something else");
    size_t length;
    static const struct hfd_request request = {.id = "abc", .trace_id = "4bf92f3577b34da6a3ce929d0e0e4736"};
    const char *text = hfd_problem_text(HFD_VALIDATION, "3 members", &request, &errors, &length);
    cr_assert_str_eq(text,
        "{\"type\":\"/problems/validation\",\"title\":\"The body says something that is not allowed\",\"status\":422,"
        "\"detail\":\"3 members\",\"request_id\":\"abc\",\"trace_id\":\"4bf92f3577b34da6a3ce929d0e0e4736\",\"error_count\":3,\"errors\":["
        "{\"pointer\":\"/screws/0/length_mm\",\"detail\":\"expected \\\"a number\\\"\"},"
        "{\"parameter\":\"limit\",\"detail\":\"at most 200\"},{\"detail\":\"something else\"}]}");
    cr_assert_eq(length, strlen(text));
}

Test(problem, bare) {
    size_t length;
    cr_assert_str_eq(hfd_problem_text(HFD_NOT_FOUND, NULL, NULL, &errors, &length),
        "{\"type\":\"/problems/not-found\",\"title\":\"There is nothing here\",\"status\":404}");
}

Test(problem, pointer_is_copied) {
    char pointer[] = "/a";
    hfd_errors_add(&errors, pointer, "%s", "");
    pointer[1] = 'z';
    cr_assert_str_eq(errors.first->pointer, "/a");
    cr_assert_str_eq(errors.first->detail, "");
}

/* A flood is counted but not kept. */
Test(problem, flood) {
    for (int i = 0; i < 100000; i++)
        hfd_errors_add(&errors, "/x", "error %d", i);
    cr_assert_eq(errors.count, 100000);
    size_t kept = 0;
    for (const struct hfd_error *error = errors.first; error; error = error->next)
        kept++;
    cr_assert_eq(kept, 200);
    cr_assert_str_eq(errors.last->detail, "error 199");
    size_t length;
    cr_assert(
        strstr(hfd_problem_text(HFD_VALIDATION, NULL, NULL, &errors, &length), "\"error_count\":100000"));
}

/* Every kind has its row; the slug is a path segment and is not used twice; the status is an error's. */
Test(problem, rows) {
    for (int i = HFD_OK + 1; i < HFD_PROBLEM_COUNT; i++) {
        const struct hfd_problem_row *row = &hfd_problem_rows[i];
        cr_assert_not_null(row->slug);
        cr_assert(strspn(row->slug, "abcdefghijklmnopqrstuvwxyz-") == strlen(row->slug) && *row->slug);
        cr_assert(row->title && *row->title);
        cr_assert(row->status >= 400 && row->status < 600);
        for (int j = HFD_OK; j < i; j++)
            cr_assert_str_neq(row->slug, hfd_problem_rows[j].slug);
    }
}
