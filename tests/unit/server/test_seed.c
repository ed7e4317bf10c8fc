#include <criterion/criterion.h>
#include <criterion/redirect.h>
#include <sys/wait.h>
#include <unistd.h>

#include "database.h"

static void start_anew(void) {
    PGconn *owner = connect_to(owner_conninfo());
    run_sql(owner, "set client_min_messages = error; drop schema if exists holdfast cascade");
    PQfinish(owner);
    migrate();
}

TestSuite(seed, .init = start_anew);

static int seed(void) {
    FILE *log = fopen("/dev/null", "w");
    const int code = log != NULL ? hfd_admin_seed_demo(owner_conninfo(), log) : 9;
    if (log != NULL) fclose(log);
    return code;
}

static const char *demo_clinics(PGconn *owner) {
    return value_of(owner, "select count(*) from holdfast.clinics where demo");
}

Test(seed, a_failure_in_the_last_case_keeps_nothing, .init = cr_redirect_stderr) {
    PGconn *owner = connect_to(owner_conninfo());
    run_sql(owner,
        "alter table holdfast.patients add constraint no_fifth check (chart_number is distinct from 'DEMO-005')");
    cr_assert_eq(seed(), 1);
    cr_assert_str_eq(demo_clinics(owner), "0");
    run_sql(owner, "alter table holdfast.patients drop constraint no_fifth");
    cr_assert_eq(seed(), 0);
    cr_assert_str_eq(demo_clinics(owner), "1");
    PQfinish(owner);
}

Test(seed, another_clinic_of_that_name_is_left_alone, .init = cr_redirect_stderr) {
    char id[HFD_UUID_TEXT_SIZE];
    cr_assert_eq(hfd_admin_clinic_create(owner_conninfo(), "Invented Demo Practice", false, id), 0);
    cr_assert_eq(seed(), 1);
    PGconn *owner = connect_to(owner_conninfo());
    cr_assert_str_eq(demo_clinics(owner), "0");
    PQfinish(owner);
}

Test(seed, several_at_a_time_plant_once) {
    enum { planters = 4 };
    pid_t pids[planters];
    for (int i = 0; i < planters; i++) {
        pids[i] = fork();
        if (pids[i] == 0) _exit(seed());
    }
    for (int i = 0; i < planters; i++) {
        int status;
        cr_assert_eq(waitpid(pids[i], &status, 0), pids[i]);
        cr_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0, "planter %d: status %d", i, status);
    }
    PGconn *owner = connect_to(owner_conninfo());
    cr_assert_str_eq(demo_clinics(owner), "1");
    value_of(owner, "select set_config('app.clinic', id::text, false) from holdfast.clinics where demo");
    cr_assert_str_eq(value_of(owner, "select count(*) from holdfast.cases"), "13");
    /* Counted in the files of migrations/demo, 1 to 11 and the two of these days: 1 + 2 + 2 + 2 + 2 + 2 + 1 +
     * 2 + 1 + 4 + 2 + 1 + 1 plates as worn. */
    cr_assert_str_eq(value_of(owner, "select count(*) from holdfast.setup_versions"), "23");
    PQfinish(owner);
}

Test(seed, tells_a_server_it_cannot_reach, .init = cr_redirect_stderr) {
    cr_assert_eq(hfd_admin_seed_demo("host=/nonexistent dbname=none connect_timeout=2", stdout), 1);
}
