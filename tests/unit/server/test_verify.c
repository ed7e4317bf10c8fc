/* Whether chains are whole, against chains that were made outside: what tampering by the superuser looks like
 * is a black-box test's. */
#include "../../../core/arena.h"
#include "database.h"

#include <criterion/redirect.h>

static hf_arena arena;
static PGconn *owner;
static struct clinic clinic;

static void set_up(void) {
    hf_arena_init(&arena, 0, 0);
    migrate();
    owner = connect_to(owner_conninfo());
    clinic = new_clinic();
}
static void tear_down(void) {
    PQfinish(owner);
    hf_arena_fini(&arena);
}

TestSuite(verify, .init = set_up, .fini = tear_down);

/* The line without the clinic's name, after the exit code. */
static const char *verdict(int code) {
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    cr_expect_eq(hfd_admin_verify_audit(owner_conninfo(), clinic.id, out), code);
    fclose(out);
    const char *told = hf_arena_strdup(&arena, strstr(text, ": ") ? strstr(text, ": ") + 2 : text);
    free(text);
    return told;
}

static void run(const char *format, ...) __attribute__((format(printf, 1, 2)));
static void run(const char *format, ...) {
    va_list values;
    char sql[4096];
    va_start(values, format);
    vsnprintf(sql, sizeof sql, format, values);
    va_end(values);
    run_sql(owner, sql);
}

/* Rows that wait to be sealed, a microsecond apart. */
static void access_times(int count) {
    run("insert into holdfast.audit_unsealed (clinic_id, at, token, role, action, resource, records, patients, request,"
        " outcome) select '%s', now() + n * interval '1 microsecond', gen_random_uuid(), 'clinician', 'read',"
        " '/v1/patients', array[r], array[r], 'request-' || n, 'done'"
        " from (select n, gen_random_uuid() as r from generate_series(1, %d) n) x",
        clinic.id, count);
}

static void seal(int count) {
    access_times(count);
    const char *waiting = hf_arena_printf(
        &arena, "select count(*) from holdfast.audit_unsealed where clinic_id = '%s'", clinic.id);
    while (strcmp(value_of(owner, waiting), "0") != 0)
        run("select holdfast.seal_audit()");
}

Test(verify, a_clinic_without_rows_is_whole) {
    cr_expect_str_eq(verdict(0), "whole; sealed up to row 0; 0 waiting\n");
    access_times(3);
    cr_expect_str_eq(verdict(0), "whole; sealed up to row 0; 3 waiting\n");
}

/* The digests are those of Python's hashlib:
 *   d = bytes(32)
 *   for row in rows: d = hashlib.sha256(d + "\n".join(row).encode()).digest()
 * over these columns as text, lists joined by commas, times in UTC to the microsecond. */
static void seal_outside(void) {
    snprintf(clinic.id, sizeof clinic.id, "01890a5d-ac96-774b-bcce-b302099a8057");
    run("set app.clinic = '%s'; insert into holdfast.clinics (id, name) values ('%s', 'Sealed outside')",
        clinic.id, clinic.id);
    run("insert into holdfast.audit values ('%s', 1, '01890a5d-ac96-774b-bcce-b302099a0001',"
        " '2026-03-02T08:05:09.000001+01:00', '01890a5d-ac96-774b-bcce-b302099a0010', 'clinician', 'read', '/v1/patients',"
        " '{01890a5d-ac96-774b-bcce-b302099a0020,01890a5d-ac96-774b-bcce-b302099a0021}',"
        " '{01890a5d-ac96-774b-bcce-b302099a0020,01890a5d-ac96-774b-bcce-b302099a0021}', 'request-1', 'done',"
        " decode('c330c2e4b83a64d3ec05e9cb46c1a12d4124ed2cfa9e123a79ed99df5a919730', 'hex'))",
        clinic.id);
    run("insert into holdfast.audit values ('%s', 2, '01890a5d-ac96-774b-bcce-b302099a0002', '2026-12-31T23:59:59.12Z',"
        " '01890a5d-ac96-774b-bcce-b302099a0010', 'auditor', 'change', '/v1/cases/{id}', '{}', '{}', 'request-2',"
        " 'forbidden', decode('79be8da06b2128ba05839934318faf870fdee6f3bbd546fe9a1a5c81b0c29212', 'hex'))",
        clinic.id);
    run("insert into holdfast.audit_heads select clinic_id, seq, digest from holdfast.audit"
        " where clinic_id = '%s' and seq = 2",
        clinic.id);
}

Test(verify, a_chain_made_by_others) {
    seal_outside();
    cr_expect_str_eq(verdict(0),
        "whole; sealed up to row 2 of 2026-12-31T23:59:59.120000Z, digest"
        " 79be8da06b2128ba05839934318faf870fdee6f3bbd546fe9a1a5c81b0c29212; 0 waiting\n");
    /* Whatever the database thinks of its own text, this is read here. */
    run("set time zone 'Asia/Tokyo'; alter database %s set datestyle = 'German'", PQdb(owner));
    verdict(0);
    run("update holdfast.audit_heads set digest = set_byte(digest, 31, 1) where clinic_id = '%s'", clinic.id);
    cr_expect_str_eq(verdict(1), "row 2 is not what was sealed; sealed up to row 2\n");
    run("delete from holdfast.audit_heads where clinic_id = '%s'", clinic.id);
    cr_expect_str_eq(verdict(1), "row 1 stands behind the end; sealed up to row 0\n");
}

/* Rows come 2,000 at a time. */
Test(verify, chains_longer_than_one_portion) {
    seal(4001);
    const char *whole = verdict(0);
    cr_expect_not_null(strstr(whole, "whole; sealed up to row 4001 of "), "%s", whole);
    run("alter table holdfast.audit disable trigger stands;"
        "delete from holdfast.audit where clinic_id = '%s' and seq = 2001;"
        "alter table holdfast.audit enable trigger stands",
        clinic.id);
    cr_expect_str_eq(verdict(1), "row 2001 is missing; sealed up to row 2000\n");
}

Test(verify, a_chain_whose_end_is_a_portion) {
    seal(2000);
    const char *whole = verdict(0);
    cr_expect_not_null(strstr(whole, "whole; sealed up to row 2000 of "), "%s", whole);
}

Test(verify, what_cannot_be_looked_at_is_not_whole, .init = cr_redirect_stderr) {
    cr_expect_eq(hfd_admin_verify_audit("host=/nowhere", NULL, stdout), 1);
    const char *empty = hf_arena_printf(&arena, "%s dbname=template1", owner_conninfo());
    cr_expect_eq(hfd_admin_verify_audit(empty, NULL, stdout), 1);
    cr_expect_eq(hfd_admin_verify_audit(owner_conninfo(), "no such clinic", stdout), 1);
}
