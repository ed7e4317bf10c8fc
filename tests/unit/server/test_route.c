#include "../../../server/rest/route.h"

#include <criterion/criterion.h>
#include <string.h>

#include "../../../server/rest/op.h"
#include "../../../server/rest/rest.h"

static enum hfd_problem_kind extra(struct hfd_op *op) {
    (void)op;
    return HFD_OK;
}

static const struct hfd_column columns[] = {
    {.name = "id", .kind = HFD_COLUMN_UUID, .flags = HFD_READ_ONLY | HFD_SORT, .what = "id"},
    {.name = "version", .kind = HFD_COLUMN_INT, .flags = HFD_READ_ONLY | HFD_ETAG, .what = "version"},
};
static const struct hfd_route extra_route = {
    .method = HFD_POST, .path = "/v1/things/{id}/extra", .roles = HFD_PUBLIC, .operation = extra};
static struct hfd_resource things; /* made anew for every test: each test is a process of its own */
static const struct hfd_resource *const list[] = {&things, NULL};
static hf_arena arena;
static struct hfd_match match;

static void fresh(void) {
    things = (struct hfd_resource){.path = "/v1/things",
        .table = "things",
        .columns = columns,
        .column_count = 2,
        .example = "{}",
        .change = "{}",
        .verbs = HFD_LIST | HFD_READ | HFD_CREATE | HFD_CHANGE,
        .read_roles = HFD_CHART_READERS,
        .write_roles = HFD_CATALOGUE_WRITERS,
        .sort = "id",
        .routes = &extra_route,
        .route_count = 1};
}
static void setup(void) {
    hf_arena_init(&arena, 4096, 0);
    fresh();
}
static void teardown(void) {
    hf_arena_fini(&arena);
}

static void find(enum hfd_method method, size_t count, const char *last, const char *tail) {
    struct hfd_request request = {
        .method = method, .segments = {"v1", "things", last, tail}, .segment_count = count};
    hfd_route_match(list, &request, &arena, &match);
}
static const char id[] = "01890a5d-ac96-774b-bcce-b302099a8057";

/* A suffix stands for an Accept field, where what it stands for is offered; else it is part of the name. */
Test(route, a_suffix_asks_for_a_form, .init = setup, .fini = teardown) {
    things.read_page = extra;
    find(HFD_GET, 3, "01890a5d-ac96-774b-bcce-b302099a8057.html", NULL);
    cr_assert_eq(match.operation, hfd_op_read);
    cr_assert_eq(match.page, extra);
    cr_assert_str_eq(match.wanted, "text/html");
    cr_assert_str_eq(match.id, id);
    cr_assert_str_eq(match.route, "/v1/things/{id}");
    find(HFD_GET, 3, "01890a5d-ac96-774b-bcce-b302099a8057.svg", NULL);
    cr_assert_null(match.allow, "not offered");
    find(HFD_GET, 3, id, NULL);
    cr_assert_null(match.wanted);
    cr_assert_str_eq(match.produces, "application/json, text/html");
    find(HFD_GET, 2, NULL, NULL);
    cr_assert_null(match.page, "no page of the list");
    cr_assert_str_eq(match.produces, "application/json, text/csv, application/x-ndjson");
}

Test(route, finds_the_operation, .init = setup, .fini = teardown) {
    find(HFD_GET, 2, NULL, NULL);
    cr_assert_eq(match.operation, hfd_op_list);
    cr_assert_str_eq(match.roles, HFD_CHART_READERS);
    find(HFD_HEAD, 2, NULL, NULL);
    cr_assert_eq(match.operation, hfd_op_list, "HEAD is GET without the body");
    find(HFD_POST, 2, NULL, NULL);
    cr_assert_eq(match.operation, hfd_op_create);
    cr_assert_str_eq(match.roles, HFD_CATALOGUE_WRITERS);
    find(HFD_GET, 3, id, NULL);
    cr_assert_eq(match.operation, hfd_op_read);
    cr_assert_str_eq(match.id, id);
    find(HFD_PATCH, 3, id, NULL);
    cr_assert_eq(match.operation, hfd_op_change);
    cr_assert_str_eq(match.roles, HFD_CATALOGUE_WRITERS);
    find(HFD_POST, 4, id, "extra");
    cr_assert_eq(match.operation, extra);
    cr_assert_str_eq(match.id, id);
}

Test(route, allow_lists_the_methods_of_the_path, .init = setup, .fini = teardown) {
    find(HFD_DELETE, 2, NULL, NULL);
    cr_assert_null(match.operation);
    cr_assert_str_eq(match.allow, "OPTIONS, GET, HEAD, POST");
    find(HFD_OPTIONS, 3, id, NULL);
    cr_assert_null(match.operation);
    cr_assert_str_eq(match.allow, "OPTIONS, GET, HEAD, PATCH");
}

Test(route, everything_else_is_nowhere, .init = setup, .fini = teardown) {
    find(HFD_GET, 3, "no-uuid", NULL);
    cr_assert_null(match.allow);
    find(HFD_GET, 1, NULL, NULL);
    cr_assert_null(match.allow);
    find(HFD_GET, 4, id, "other");
    cr_assert_null(match.allow);
    find(HFD_GET, 0, NULL, NULL);
    cr_assert_null(match.allow);
}

Test(route, a_table_without_roles_is_not_served, .init = setup, .fini = teardown) {
    cr_assert_null(hfd_rest_check(list, &arena));
    things.read_roles = NULL;
    cr_assert_not_null(hfd_rest_check(list, &arena));
    fresh();
    things.write_roles = NULL;
    cr_assert_not_null(hfd_rest_check(list, &arena));
    fresh();
    struct hfd_route open = extra_route;
    open.roles = NULL;
    things.routes = &open;
    cr_assert_not_null(hfd_rest_check(list, &arena));
}

Test(route, a_table_without_tag_or_sort_is_not_served, .init = setup, .fini = teardown) {
    things.column_count = 1;
    cr_assert_not_null(hfd_rest_check(list, &arena));
    fresh();
    things.sort = "version";
    cr_assert_not_null(hfd_rest_check(list, &arena));
}

/* Whoever reads the description has something to try. */
Test(route, a_table_without_examples_of_bodies_is_not_served, .init = setup, .fini = teardown) {
    things.example = NULL;
    cr_assert_not_null(hfd_rest_check(list, &arena));
    fresh();
    things.change = NULL;
    cr_assert_not_null(hfd_rest_check(list, &arena));
    things.verbs &= ~(unsigned)HFD_CHANGE;
    cr_assert_null(hfd_rest_check(list, &arena));
    struct hfd_route taking = extra_route;
    taking.takes = "{}";
    things.routes = &taking;
    cr_assert_not_null(hfd_rest_check(list, &arena));
    taking.example = "{}";
    cr_assert_null(hfd_rest_check(list, &arena));
}
