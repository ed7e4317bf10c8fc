#include "../../../server/store/store.h"

#include <arpa/inet.h>
#include <criterion/criterion.h>
#include <criterion/redirect.h>
#include <sys/socket.h>
#include <unistd.h>

#include "../../../server/base/clock.h"
#include "database.h"

/* One clinic, one store, one arena for each test. */
static struct clinic clinic;
static struct hfd_store *store;
static struct hfd_session session;
static struct hfd_store_error error;
static hf_arena arena;

static void open_store(void) {
    migrate();
    clinic = new_clinic();
    store = hfd_store_new(app_conninfo());
    session = (struct hfd_session){.digest_hex = clinic.digest, .roles = "{clinician,admin}"};
    hf_arena_init(&arena, 4096, 0);
}

static void close_store(void) {
    hfd_store_free(store);
    hf_arena_fini(&arena);
}

TestSuite(store, .init = open_store, .fini = close_store, .timeout = 60);

static enum hfd_store_status run_in(struct hfd_store *where, struct hfd_call *calls, size_t count) {
    return hfd_store_run(where, &session, calls, count, &arena, &error);
}

static enum hfd_store_status run(struct hfd_call *calls, size_t count) {
    return run_in(store, calls, count);
}

/* A statement without parameters, named by its text. */
static struct hfd_call plain(const char *sql) {
    struct hfd_statement *statement = HF_NEW(&arena, struct hfd_statement);
    *statement = (struct hfd_statement){.name = sql, .sql = sql};
    return (struct hfd_call){.statement = statement};
}

static enum hfd_store_status run_plain(const char *sql, struct hfd_rows *rows) {
    struct hfd_call call = plain(sql);
    const enum hfd_store_status status = run(&call, 1);
    *rows = call.rows;
    return status;
}

/* The first cell; fails the test when the statement does. */
static const char *get(const char *sql) {
    struct hfd_rows rows;
    const enum hfd_store_status status = run_plain(sql, &rows);
    cr_assert_eq(status, HFD_STORE_OK, "%s: %d %s %s", sql, status, error.sqlstate, error.message);
    cr_assert_eq(rows.row_count, 1, "%s", sql);
    return hfd_cell(&rows, 0, 0);
}

static double seconds_since(int64_t start_ns) {
    return (double)(hfd_clock_monotonic_ns() - start_ns) * 1e-9;
}

static const struct hfd_statement add_patient = {"test_add_patient",
    "insert into patients (id, chart_number, note) values ($1, $2, $3) returning id, note, version", 3};

static struct hfd_call new_patient(const char *chart_number, const char *note) {
    char *id = hf_arena_alloc(&arena, HFD_UUID_TEXT_SIZE);
    hfd_uuid_new(id);
    const char **params = HF_NEW_ARRAY(&arena, const char *, 3);
    params[0] = id, params[1] = chart_number, params[2] = note;
    return (struct hfd_call){.statement = &add_patient, .params = params};
}

Test(store, authenticates_and_answers_at_once) {
    struct hfd_call calls[] = {new_patient("P1", NULL), plain("select count(*), null from patients")};
    cr_assert_eq(run(calls, 2), HFD_STORE_OK, "%s %s", error.sqlstate, error.message);
    cr_assert_str_eq(session.clinic_id, clinic.id);
    cr_assert_str_eq(session.role, "clinician");
    cr_assert(hfd_uuid_valid(session.token_id));
    cr_assert_eq(calls[0].rows.affected, 1);
    cr_assert_str_eq(hfd_cell(&calls[0].rows, 0, 0), calls[0].params[0]);
    cr_assert_null(hfd_cell(&calls[0].rows, 0, 1));
    cr_assert_str_eq(hfd_cell(&calls[0].rows, 0, 2), "1");
    cr_assert_eq(calls[1].rows.column_count, 2);
    cr_assert_str_eq(hfd_cell(&calls[1].rows, 0, 0), "1");
    cr_assert_null(hfd_cell(&calls[1].rows, 0, 1));
}

Test(store, refuses_who_may_not) {
    struct hfd_rows rows;
    session.roles = "{auditor}";
    cr_assert_eq(run_plain("select 1", &rows), HFD_STORE_FORBIDDEN);
    session.roles = "{clinician}";
    static const char unknown[] = "0000000000000000000000000000000000000000000000000000000000000000";
    session.digest_hex = unknown;
    cr_assert_eq(run_plain("select 1", &rows), HFD_STORE_UNAUTHENTICATED);
    cr_assert_eq(rows.row_count, 0);
    session.digest_hex = clinic.digest;
    cr_assert_str_eq(get("select 1"), "1", "and the connection serves on");
}

Test(store, revoked_and_expired_tokens_fail_on_the_next_request) {
    PGconn *owner = connect_to(owner_conninfo());
    struct hfd_rows rows;
    get("select 1");
    char sql[256];
    snprintf(sql, sizeof sql,
        "update holdfast.tokens set expires_at = now() - interval '1 second' where id = '%s'",
        session.token_id);
    run_sql(owner, sql);
    cr_assert_eq(run_plain("select 1", &rows), HFD_STORE_UNAUTHENTICATED);
    snprintf(sql, sizeof sql,
        "update holdfast.tokens set expires_at = now() + interval '1 hour' where id = '%s'",
        session.token_id);
    run_sql(owner, sql);
    get("select 1");
    cr_assert_eq(hfd_admin_token_revoke(owner_conninfo(), session.token_id), 0);
    cr_assert_eq(run_plain("select 1", &rows), HFD_STORE_UNAUTHENTICATED);
    PQfinish(owner);
}

Test(store, last_use_is_kept_to_the_minute) {
    PGconn *owner = connect_to(owner_conninfo());
    char sql[256];
    const char *first;
    get("select 1");
    snprintf(sql, sizeof sql, "select last_used_at from holdfast.tokens where id = '%s'", session.token_id);
    first = hf_arena_strdup(&arena, value_of(owner, sql));
    cr_assert_str_neq(first, "");
    get("select 1");
    cr_assert_str_eq(value_of(owner, sql), first, "not written twice within a minute");
    char age[256];
    snprintf(age, sizeof age,
        "update holdfast.tokens set last_used_at = now() - interval '61 seconds' where id = '%s'",
        session.token_id);
    run_sql(owner, age);
    get("select 1");
    snprintf(age, sizeof age,
        "select last_used_at > now() - interval '10 seconds' from holdfast.tokens where id = '%s'",
        session.token_id);
    cr_assert_str_eq(value_of(owner, age), "t");
    PQfinish(owner);
}

Test(store, the_clinic_ends_with_the_transaction) {
    struct hfd_call patient = new_patient("P1", NULL);
    cr_assert_eq(run(&patient, 1), HFD_STORE_OK);
    struct clinic other = new_clinic();
    session.digest_hex = other.digest;
    cr_assert_str_eq(get("select count(*) from patients"), "0");
    cr_assert_str_eq(session.clinic_id, other.id);
    session.digest_hex = clinic.digest;
    cr_assert_str_eq(get("select count(*) from patients"), "1");
}

Test(store, a_batch_is_all_or_nothing) {
    struct hfd_call calls[] = {new_patient("P1", NULL), new_patient("P1", NULL), plain("select 1")};
    cr_assert_eq(run(calls, 3), HFD_STORE_UNIQUE);
    cr_assert_str_eq(error.sqlstate, "23505");
    cr_assert_str_eq(error.constraint, "patients_chart_number_key");
    cr_assert_eq(calls[2].rows.row_count, 0);
    cr_assert_str_eq(get("select count(*) from patients"), "0");
    cr_assert_eq(run(calls, 1), HFD_STORE_OK,
        "what had been prepared before the failure is known, what had not is not");
    cr_assert_eq(run(calls + 2, 1), HFD_STORE_OK);
}

Test(store, tells_failures_apart) {
    static const struct {
        const char *sql, *sqlstate;
        enum hfd_store_status status;
    } failures[] = {
        {"insert into cases (id, patient_id) values (gen_random_uuid(), gen_random_uuid())", "23503",
            HFD_STORE_REFERENCE},
        {"insert into patients (id, chart_number, sex) values (gen_random_uuid(), 'P', 'x')", "23514",
            HFD_STORE_CHECK},
        {"insert into patients (id) values (gen_random_uuid())", "23502", HFD_STORE_CHECK},
        {"select 'x'::text::uuid", "22P02", HFD_STORE_CHECK},
        {"select 1 / 0", "22012", HFD_STORE_CHECK},
        {"insert into patients (id, chart_number) values (gen_random_uuid(), (select string_agg(md5(i::text), '') from generate_series(1, 300) i))",
            "54000", HFD_STORE_CHECK},
        {"selec", "42601", HFD_STORE_ERROR},
        {"delete from patients", "42501", HFD_STORE_ERROR},
        {"select * from nowhere", "42P01", HFD_STORE_ERROR},
    };
    for (size_t i = 0; i < sizeof failures / sizeof *failures; i++) {
        struct hfd_rows rows;
        cr_expect_eq(run_plain(failures[i].sql, &rows), failures[i].status, "%s", failures[i].sql);
        cr_expect_str_eq(error.sqlstate, failures[i].sqlstate, "%s", failures[i].sql);
    }
    struct hfd_rows rows;
    cr_expect_eq(run_plain("insert into patients (id) values (gen_random_uuid())", &rows), HFD_STORE_CHECK);
    cr_expect_str_eq(error.column, "chart_number");
}

Test(store, messages_quote_no_values) {
    struct hfd_call calls[] = {new_patient("Secret-17", NULL), new_patient("Secret-17", NULL)};
    cr_assert_eq(run(calls, 2), HFD_STORE_UNIQUE);
    cr_assert_null(strstr(error.message, "Secret"), "%s", error.message);
    struct hfd_rows rows;
    cr_assert_eq(run_plain("select 'Secret'::text::date", &rows), HFD_STORE_CHECK);
    cr_assert_null(strstr(error.message, "Secret"), "%s", error.message);
}

/* 2^-1074 and its like in the shortest form that reads back; dates and times as ISO 8601, in UTC. */
Test(store, values_come_back_exactly) {
    cr_expect_str_eq(get("select 0.1::float8 + 0.2::float8"), "0.30000000000000004", "IEEE 754 double");
    cr_expect_str_eq(get("select 5e-324::float8"), "5e-324");
    cr_expect_str_eq(get("select date '2026-03-02'"), "2026-03-02");
    /* RFC 3339, 5.6. */
    cr_expect_str_eq(get("select timestamptz '2026-03-02 07:05:09.25+02'"), "2026-03-02T05:05:09.250000Z");
    cr_expect_str_eq(get("select timestamptz '2026-03-02 23:05:09-01:30'"), "2026-03-03T00:35:09.000000Z");
    cr_expect_str_eq(get("select timestamptz '1900-01-01 00:00:00.000001Z'"), "1900-01-01T00:00:00.000001Z");
    cr_expect_str_eq(get("select timestamptz '2026-03-02 05:05:09.123456Z'"), "2026-03-02T05:05:09.123456Z");
    cr_expect_str_eq(get("select timestamptz 'infinity'"), "infinity");
    cr_expect_str_eq(get("select timestamptz '12026-03-02 05:05:09Z'"), "12026-03-02 05:05:09+00");
    cr_expect_str_eq(get("select timestamp '2026-03-02 05:05:09'"), "2026-03-02 05:05:09");
    cr_expect_str_eq(get("select 'zażółć ∂'"), "zażółć ∂");
}

Test(store, settings_stand_unless_the_conninfo_has_its_own) {
    cr_expect_str_eq(get("show statement_timeout"), "5s");
    cr_expect_str_eq(get("show lock_timeout"), "2s");
    cr_expect_str_eq(get("show search_path"), "holdfast,pg_temp");
    char conninfo[512];
    snprintf(conninfo, sizeof conninfo, "%s options='-c statement_timeout=300'", app_conninfo());
    struct hfd_store *own = hfd_store_new(conninfo);
    struct hfd_call calls[] = {plain("show statement_timeout"), plain("show lock_timeout")};
    cr_assert_eq(run_in(own, calls, 2), HFD_STORE_OK);
    cr_expect_str_eq(hfd_cell(&calls[0].rows, 0, 0), "300ms");
    cr_expect_str_eq(hfd_cell(&calls[1].rows, 0, 0), "2s");
    struct hfd_call slow = plain("select pg_sleep(20)");
    const int64_t start = hfd_clock_monotonic_ns();
    cr_expect_eq(run_in(own, &slow, 1), HFD_STORE_DOWN);
    cr_expect_str_eq(error.sqlstate, "57014");
    cr_expect_lt(seconds_since(start), 2.0);
    hfd_store_free(own);
}

/* Both directions at once, far beyond what sockets hold: each side must read while it writes. */
Test(store, large_batches_do_not_block) {
    enum { megabytes = 4, count = 6 };
    static const struct hfd_statement echo = {"test_echo", "select $1::text", 1};
    char *text = hf_arena_alloc(&arena, (megabytes << 20) + 1);
    memset(text, 'x', megabytes << 20);
    const char *params[] = {text};
    struct hfd_call calls[count];
    for (size_t i = 0; i < count; i++)
        calls[i] = (struct hfd_call){.statement = &echo, .params = params};
    cr_assert_eq(run(calls, count), HFD_STORE_OK, "%s %s", error.sqlstate, error.message);
    for (size_t i = 0; i < count; i++)
        cr_assert_eq(strlen(hfd_cell(&calls[i].rows, 0, 0)), megabytes << 20);
}

Test(store, a_large_result_comes_whole) {
    struct hfd_rows rows;
    cr_assert_eq(run_plain("select i, i * 2 from generate_series(1, 50000) i", &rows), HFD_STORE_OK);
    cr_assert_eq(rows.row_count, 50000);
    cr_assert_str_eq(hfd_cell(&rows, 49999, 0), "50000");
    cr_assert_str_eq(hfd_cell(&rows, 49999, 1), "100000");
}

struct steps {
    struct hfd_call *calls;
    size_t count;
    bool keep, together; /* together: all in one, with the commit */
    int runs, fail_runs;
};

static bool step(struct hfd_tx *tx, void *ctx) {
    struct steps *steps = ctx;
    steps->runs++;
    if (steps->together) return hfd_tx_run_last(tx, steps->calls, steps->count);
    for (size_t i = 0; i < steps->count; i++) {
        if (!hfd_tx_run(tx, &steps->calls[i], 1)) return false;
    }
    struct hfd_call clash = plain("do $$ begin raise exception using errcode = '40001'; end $$");
    if (steps->runs <= steps->fail_runs && !hfd_tx_run(tx, &clash, 1)) return false;
    return steps->keep;
}

static enum hfd_store_status transact(struct steps *steps) {
    return hfd_store_transact(store, &session, "test", step, steps, &arena, &error);
}

Test(store, a_transaction_keeps_or_drops_all_steps) {
    struct hfd_call calls[] = {new_patient("P1", NULL), new_patient("P2", NULL)};
    struct steps steps = {.calls = calls, .count = 2, .keep = false};
    cr_assert_eq(transact(&steps), HFD_STORE_OK);
    cr_assert_str_eq(session.clinic_id, clinic.id);
    cr_assert_str_eq(get("select count(*) from patients"), "0");
    steps.keep = true;
    cr_assert_eq(transact(&steps), HFD_STORE_OK);
    cr_assert_str_eq(get("select count(*) from patients"), "2");
    calls[0] = new_patient("P2", NULL);
    cr_assert_eq(transact(&steps), HFD_STORE_UNIQUE);
    cr_assert_str_eq(error.constraint, "patients_chart_number_key");
    session.roles = "{admin}";
    calls[0] = new_patient("P3", NULL);
    cr_assert_eq(transact(&steps), HFD_STORE_FORBIDDEN);
    steps.count = 0; /* who asks for nothing is told as well */
    cr_assert_eq(transact(&steps), HFD_STORE_FORBIDDEN);
    session.roles = "{clinician}";
    cr_assert_str_eq(get("select count(*) from patients"), "2", "nothing is done for who may not");
}

Test(store, the_last_calls_take_the_commit_along) {
    struct hfd_call calls[] = {new_patient("P1", NULL), new_patient("P2", NULL)};
    struct steps steps = {.calls = calls, .count = 2, .together = true};
    cr_assert_eq(transact(&steps), HFD_STORE_OK);
    cr_assert_str_eq(session.clinic_id, clinic.id);
    cr_assert_eq(steps.runs, 1);
    cr_assert_str_eq(get("select count(*) from patients"), "2");
    calls[0] = new_patient("P3", NULL);
    cr_assert_eq(transact(&steps), HFD_STORE_UNIQUE, "the second one is there already");
    cr_assert_str_eq(get("select count(*) from patients"), "2", "the first one is taken back");
    calls[1] = plain("do $$ begin raise exception using errcode = '40001'; end $$");
    steps.runs = 0;
    cr_assert_eq(transact(&steps), HFD_STORE_DOWN);
    cr_assert_eq(steps.runs, 4, "once and three times again");
    session.roles = "{admin}";
    steps.count = 1;
    cr_assert_eq(transact(&steps), HFD_STORE_FORBIDDEN);
    session.roles = "{clinician}";
    steps.count = 0;
    cr_assert_eq(transact(&steps), HFD_STORE_OK, "nothing is a transaction too");
    cr_assert_str_eq(get("select count(*) from patients"), "2");
}

/* What failed is taken back alone: PostgreSQL's manual, SAVEPOINT. */
static bool step_over_a_stone(struct hfd_tx *tx, void *ctx) {
    enum hfd_store_status *stone = ctx;
    struct hfd_call calls[] = {
        new_patient("S1", NULL), new_patient("S2", NULL), new_patient("S1", NULL), new_patient("S3", NULL)};
    struct hfd_store_error told = {0};
    if (!hfd_tx_save(tx) || !hfd_tx_run(tx, &calls[0], 1) || !hfd_tx_save(tx)) return false;
    if (hfd_tx_run(tx, &calls[1], 2) || hfd_tx_run(tx, &calls[3], 1)) return false;
    return hfd_tx_undo(tx, stone, &told) && strcmp(told.sqlstate, "23505") == 0 && hfd_tx_save(tx) &&
           hfd_tx_run(tx, &calls[3], 1);
}

Test(store, a_failed_step_can_be_taken_back) {
    enum hfd_store_status stone = HFD_STORE_OK;
    cr_assert_eq(
        hfd_store_transact(store, &session, "test", step_over_a_stone, &stone, &arena, &error), HFD_STORE_OK);
    cr_assert_eq(stone, HFD_STORE_UNIQUE);
    cr_assert_str_eq(
        get("select string_agg(chart_number, ' ' order by chart_number) from patients"), "S1 S3");
}

static bool clash_and_go_on(struct hfd_tx *tx, void *ctx) {
    int *runs = ctx;
    if (++*runs > 1) return true;
    struct hfd_call clash = plain("do $$ begin raise exception using errcode = '40001'; end $$");
    enum hfd_store_status status;
    struct hfd_store_error told;
    if (!hfd_tx_save(tx) || hfd_tx_run(tx, &clash, 1)) return false;
    return hfd_tx_undo(tx, &status, &told);
}

Test(store, a_clash_cannot_be_taken_back_in_part) {
    int runs = 0;
    cr_assert_eq(
        hfd_store_transact(store, &session, "test", clash_and_go_on, &runs, &arena, &error), HFD_STORE_OK);
    cr_assert_eq(runs, 2);
}

Test(store, a_clash_runs_the_steps_again) {
    struct hfd_call patient = new_patient("P1", NULL);
    struct steps steps = {.calls = &patient, .count = 1, .keep = true, .fail_runs = 2};
    cr_assert_eq(transact(&steps), HFD_STORE_OK, "%s", error.sqlstate);
    cr_assert_eq(steps.runs, 3);
    cr_assert_str_eq(get("select count(*) from patients"), "1");
    struct steps hopeless = {.keep = true, .fail_runs = 99};
    cr_assert_eq(transact(&hopeless), HFD_STORE_DOWN);
    cr_assert_str_eq(error.sqlstate, "40001");
    cr_assert_eq(hopeless.runs, 4, "once, and three times again");
}

Test(store, a_transaction_left_open_is_dropped, .init = cr_redirect_stderr) {
    struct hfd_call calls[] = {plain("begin"), new_patient("P1", NULL)};
    cr_assert_eq(run(calls, 2), HFD_STORE_OK);
    cr_assert_str_eq(get("select count(*) from patients"), "0");
}

static void kill_connections(void) {
    PGconn *other = connect_to(app_conninfo());
    run_sql(other,
        "select pg_terminate_backend(pid, 5000) from pg_stat_activity"
        " where usename = 'holdfast_app' and datname = current_database() and pid <> pg_backend_pid()");
    PQfinish(other);
}

Test(store, a_connection_lost_while_idle_is_not_noticed) {
    get("select 1");
    const char *before = get("select pg_backend_pid()");
    kill_connections();
    cr_assert_str_neq(get("select pg_backend_pid()"), before);
}

Test(store, a_connection_lost_on_the_way_is_told) {
    struct hfd_rows rows;
    struct hfd_call calls[] = {
        new_patient("P1", NULL), plain("select pg_terminate_backend(pg_backend_pid())"), plain("select 1")};
    cr_assert_eq(run(calls, 3), HFD_STORE_DOWN);
    cr_assert_str_eq(get("select count(*) from patients"), "0", "and the next request is served");
    struct steps steps = {.calls = calls, .count = 3, .keep = true};
    cr_assert_eq(transact(&steps), HFD_STORE_DOWN);
    cr_assert_eq(steps.runs, 1, "what may have been committed is not done again");
    cr_assert_eq(run_plain("select count(*) from patients", &rows), HFD_STORE_OK);
    cr_assert_str_eq(hfd_cell(&rows, 0, 0), "0");
}

Test(store, a_server_that_is_not_there_costs_no_time, .init = cr_redirect_stderr) {
    struct hfd_store *nowhere = hfd_store_new("host=/nonexistent dbname=none");
    struct hfd_call call = plain("select 1");
    const int64_t start = hfd_clock_monotonic_ns();
    for (int i = 0; i < 1000; i++) {
        cr_assert_eq(run_in(nowhere, &call, 1), HFD_STORE_DOWN);
        cr_assert_eq(hfd_store_ready(nowhere), false);
    }
    cr_assert_lt(seconds_since(start), 1.0);
    cr_assert_str_eq(error.sqlstate, "08001");
    hfd_store_free(nowhere);
}

/* The owner without forced row security would see all clinics: such a role must not serve. */
Test(store, a_role_free_of_row_security_does_not_serve, .init = cr_redirect_stderr) {
    struct hfd_store *owned = hfd_store_new(owner_conninfo());
    struct hfd_call call = plain("select 1");
    cr_assert_eq(run_in(owned, &call, 1), HFD_STORE_OK, "forced: held too");
    hfd_store_free(owned);
    PGconn *owner = connect_to(owner_conninfo());
    run_sql(owner, "alter table holdfast.patients no force row level security");
    owned = hfd_store_new(owner_conninfo());
    cr_assert_eq(run_in(owned, &call, 1), HFD_STORE_DOWN);
    run_sql(owner, "alter table holdfast.patients force row level security");
    hfd_store_free(owned);
    PQfinish(owner);
}

/* Listens, but nobody ever answers: the connection is given up in seconds, and then refused at once for a
 * while. */
Test(store, a_server_that_says_nothing_does_not_hold_us, .init = cr_redirect_stderr) {
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t length = sizeof address;
    const int fd = socket(AF_INET, SOCK_STREAM, 0);
    cr_assert_eq(bind(fd, (struct sockaddr *)&address, length), 0);
    cr_assert_eq(listen(fd, 8), 0);
    cr_assert_eq(getsockname(fd, (struct sockaddr *)&address, &length), 0);
    char conninfo[128];
    snprintf(conninfo, sizeof conninfo, "host=127.0.0.1 port=%d dbname=x user=x", ntohs(address.sin_port));
    struct hfd_store *silent = hfd_store_new(conninfo);
    struct hfd_call call = plain("select 1");
    int64_t start = hfd_clock_monotonic_ns();
    cr_assert_eq(run_in(silent, &call, 1), HFD_STORE_DOWN);
    cr_assert_lt(seconds_since(start), 6.0);
    start = hfd_clock_monotonic_ns();
    cr_assert_eq(run_in(silent, &call, 1), HFD_STORE_DOWN);
    cr_assert_lt(seconds_since(start), 0.04);
    hfd_store_free(silent);
    close(fd);
}

Test(store, ready_means_this_very_schema) {
    PGconn *owner = connect_to(owner_conninfo());
    cr_assert(hfd_store_ready(store));
    run_sql(owner, "insert into holdfast.schema_migrations (name, sha256) values ('9999_later', '')");
    cr_assert_not(hfd_store_ready(store), "newer");
    run_sql(owner, "delete from holdfast.schema_migrations where name = '9999_later'");
    cr_assert(hfd_store_ready(store));
    run_sql(owner, "update holdfast.schema_migrations set sha256 = 'x' where name = 'always/views'");
    cr_assert_not(hfd_store_ready(store), "other");
    run_sql(owner, "delete from holdfast.schema_migrations where name = 'always/views'");
    cr_assert_not(hfd_store_ready(store), "older");
    PQfinish(owner);
    migrate();
    cr_assert(hfd_store_ready(store));
}
