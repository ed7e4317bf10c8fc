#include <criterion/criterion.h>
#include <criterion/redirect.h>
#include <sys/wait.h>
#include <unistd.h>

#include "../../../server/store/migrations.h"
#include "database.h"

static void forget_schema(void) {
    PGconn *owner = connect_to(owner_conninfo());
    run_sql(owner, "set client_min_messages = error; drop schema if exists holdfast cascade");
    PQfinish(owner);
}

/* Answers its exit code; what it says stands in `said`. */
static int migrate_saying(char *said, size_t size) {
    FILE *log = tmpfile();
    cr_assert_not_null(log);
    const int code = hfd_admin_migrate(owner_conninfo(), log);
    rewind(log);
    said[fread(said, 1, size - 1, log)] = '\0';
    fclose(log);
    return code;
}

Test(migrate, applies_all_in_order_and_then_nothing) {
    char said[4096], expected[4096] = "";
    forget_schema();
    for (const struct hfd_migration *m = hfd_migrations; m->name != NULL; m++)
        snprintf(expected + strlen(expected), sizeof expected - strlen(expected), "applied %s\n", m->name);
    cr_assert_eq(migrate_saying(said, sizeof said), 0);
    cr_assert_eq(strncmp(said, expected, strlen(expected)), 0, "%s", said);
    cr_assert_not_null(strstr(said, "applied 0001_"));
    cr_assert_eq(migrate_saying(said, sizeof said), 0);
    cr_assert_null(strstr(said, "applied"), "%s", said);
}

Test(migrate, names_are_in_order_and_digests_are_of_the_texts) {
    for (const struct hfd_migration *m = hfd_migrations; m->name != NULL; m++) {
        char digest[HFD_DIGEST_HEX];
        hfd_digest_hex(m->sql, strlen(m->sql), digest);
        cr_assert_str_eq(
            digest, m->sha256, "%s: sha256sum of the file differs from that of the embedded text", m->name);
        if (m[1].name != NULL) cr_assert_lt(strcmp(m->name, m[1].name), 0);
    }
}

Test(migrate, refuses_an_edited_file, .init = cr_redirect_stderr) {
    char said[4096];
    migrate();
    PGconn *owner = connect_to(owner_conninfo());
    run_sql(owner, "update holdfast.schema_migrations set sha256 = repeat('0', 64) where name like '0002_%'");
    cr_assert_eq(migrate_saying(said, sizeof said), 1);
    cr_assert_str_eq(
        value_of(owner, "select sha256 from holdfast.schema_migrations where name like '0002_%'"),
        "0000000000000000000000000000000000000000000000000000000000000000", "nothing was touched");
    PQfinish(owner);
    forget_schema();
}

Test(migrate, refuses_a_newer_database, .init = cr_redirect_stderr) {
    char said[4096];
    migrate();
    PGconn *owner = connect_to(owner_conninfo());
    run_sql(owner,
        "insert into holdfast.schema_migrations (name, sha256) values ('9999_later', repeat('0', 64))");
    cr_assert_eq(migrate_saying(said, sizeof said), 1);
    PQfinish(owner);
    forget_schema();
}

Test(migrate, tells_a_server_it_cannot_reach, .init = cr_redirect_stderr) {
    FILE *log = tmpfile();
    cr_assert_eq(hfd_admin_migrate("host=/nonexistent dbname=none connect_timeout=2", log), 1);
    fclose(log);
}

/* What was applied by hand halfway through is rolled back as a whole: the second file fails on a table that
 * is there already. */
Test(migrate, a_failed_file_leaves_nothing, .init = cr_redirect_stderr) {
    char said[4096];
    forget_schema();
    PGconn *owner = connect_to(owner_conninfo());
    run_sql(owner, "create schema holdfast; create table holdfast.plate_patterns ()");
    cr_assert_eq(migrate_saying(said, sizeof said), 1);
    cr_assert_str_eq(said, "applied 0001_clinics\n");
    cr_assert_str_eq(value_of(owner, "select to_regclass('holdfast.clinics') is not null"), "t");
    cr_assert_str_eq(
        value_of(owner, "select to_regclass('holdfast.sites') is null"), "t", "first table of 0002");
    cr_assert_str_eq(value_of(owner, "select count(*) from holdfast.schema_migrations"), "1");
    PQfinish(owner);
    forget_schema();
}

Test(migrate, several_at_a_time_apply_each_file_once) {
    enum { migrators = 4 };
    pid_t pids[migrators];
    forget_schema();
    for (int i = 0; i < migrators; i++) {
        pids[i] = fork();
        if (pids[i] != 0) continue;
        FILE *log = fopen("/dev/null", "w");
        _exit(log != NULL ? hfd_admin_migrate(owner_conninfo(), log) : 9);
    }
    for (int i = 0; i < migrators; i++) {
        int status;
        cr_assert_eq(waitpid(pids[i], &status, 0), pids[i]);
        cr_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0, "migrator %d: status %d", i, status);
    }
    size_t files = 0;
    while (hfd_migrations[files].name != NULL)
        files++;
    PGconn *owner = connect_to(owner_conninfo());
    cr_assert_eq(
        (size_t)strtol(
            value_of(owner, "select count(*) from holdfast.schema_migrations where name not like 'always/%'"),
            NULL, 10),
        files);
    PQfinish(owner);
}
