#include "../../../server/store/guard.h"

#include "database.h"

static hf_arena arena;
static PGconn *owner;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
    migrate();
    owner = connect_to(owner_conninfo());
}
static void tear_down(void) {
    PQfinish(owner);
    hf_arena_fini(&arena);
}

TestSuite(guard, .init = set_up, .fini = tear_down);

static const char *faults(void) {
    const char *found = hfd_store_guard(app_conninfo(), &arena);
    return found != NULL ? found : "";
}

Test(guard, what_the_migrations_made_is_whole) {
    cr_expect_str_eq(faults(), "");
}

Test(guard, all_faults_are_told_a_line_each) {
    run_sql(owner, "alter table holdfast.patients no force row level security;"
                   "create policy everything on holdfast.cases using (true);"
                   "grant truncate on holdfast.visits to holdfast_app;");
    cr_expect_str_eq(faults(), "table cases: policy everything lets the serving role past its clinic\n"
                               "table patients: row security is not enabled and forced\n"
                               "table visits: the serving role may truncate it");
    run_sql(owner, "alter table holdfast.patients force row level security;"
                   "drop policy everything on holdfast.cases;"
                   "revoke truncate on holdfast.visits from holdfast_app;");
    cr_expect_str_eq(faults(), "");
}

/* A table that somebody adds by hand. One that belongs to no clinic is nobody's to keep apart. */
Test(guard, a_new_table_of_clinics_needs_its_policy) {
    run_sql(
        owner, "create table holdfast.forgotten (clinic_id uuid); create table holdfast.shared (word text)");
    cr_expect_str_eq(faults(), "table forgotten: no policy that ties it to the clinic\n"
                               "table forgotten: row security is not enabled and forced");
    run_sql(owner, "select holdfast.tenant_table('forgotten')");
    cr_expect_str_eq(faults(), "");
    run_sql(owner, "drop table holdfast.forgotten; drop table holdfast.shared");
}

/* A policy counts when it opens something to the serving role. */
Test(guard, policies_that_open_and_policies_that_do_not) {
    static const struct {
        const char *policy;
        bool opens;
    } policies[] = {
        {"using (true)", true},
        {"to holdfast_app using (true)", true},
        {"for select to holdfast_app using (true)", true},
        {"for insert to holdfast_app with check (true)", true},
        {"to holdfast_app using (clinic_id = current_setting('app.clinic')::uuid) with check (true)", true},
        {"to holdfast_app using (clinic_id = current_setting('app.clinic')::uuid)", false},
        {"to holdfast_owner using (true)", false},
        {"as restrictive using (true)", false},
    };
    for (size_t i = 0; i < sizeof policies / sizeof *policies; i++) {
        run_sql(
            owner, hf_arena_printf(&arena, "create policy more on holdfast.screws %s", policies[i].policy));
        cr_expect_eq(strstr(faults(), "table screws: policy more lets the serving role past") != NULL,
            policies[i].opens, "%s: %s", policies[i].policy, faults());
        run_sql(owner, "drop policy more on holdfast.screws");
    }
}

/* A database that cannot be asked is no database that is whole. */
Test(guard, no_answer_is_a_fault) {
    cr_expect_neq(hfd_store_guard("host=/nowhere", &arena), NULL);
    const char *empty = hf_arena_printf(&arena, "%s dbname=template1", app_conninfo());
    const char *found = hfd_store_guard(empty, &arena);
    cr_assert_not_null(found);
    cr_expect_not_null(strstr(found, "holdfast"), "%s", found);
}
