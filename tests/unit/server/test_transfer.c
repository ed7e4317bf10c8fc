/* A clinic taken out and put in again. */
#include <stdio.h>

#include "database.h"

static FILE *log_file;

static void begin(void) {
    migrate();
    log_file = fopen("/dev/null", "w");
    cr_assert_eq(hfd_admin_seed_demo(owner_conninfo(), log_file), 0);
}
static void end(void) {
    fclose(log_file);
}
TestSuite(transfer, .init = begin, .fini = end);

static const char *demo_id(PGconn *owner) {
    static char id[37];
    const char *found =
        value_of(owner, "select id from holdfast.clinics where demo order by created_at limit 1");
    cr_assert_eq(strlen(found), sizeof id - 1);
    return memcpy(id, found, sizeof id);
}

static char *exported(const char *clinic) {
    char *out;
    size_t size;
    FILE *stream = open_memstream(&out, &size);
    cr_assert_eq(hfd_admin_export(owner_conninfo(), clinic, stream, log_file), 0);
    fclose(stream);
    return out;
}

static int import_text(const char *lines, const char *name, char id[37]) {
    FILE *in = fmemopen((void *)(size_t)lines, strlen(lines), "r");
    int code = hfd_admin_import(owner_conninfo(), name, in, log_file, id);
    fclose(in);
    return code;
}

static const char *behind_head(const char *lines) {
    return strchr(lines, '\n') + 1;
}

Test(transfer, a_clinic_comes_back_as_it_was) {
    PGconn *owner = connect_to(owner_conninfo());
    char *one = exported(demo_id(owner)), id[37];
    cr_assert(strstr(one, "{\"table\":\"visits\",\"row\":{") != NULL);
    cr_assert_eq(import_text(one, "Copy of the demo", id), 0);
    char *two = exported("Copy of the demo");
    cr_expect_str_eq(behind_head(one), behind_head(two));
    cr_expect_str_neq(id, demo_id(owner), "its id was taken");
    char sql[256];
    snprintf(sql, sizeof sql,
        "begin; select set_config('app.clinic', '%s', true); select count(*) from holdfast.visit_setups", id);
    cr_expect_str_neq(value_of(owner, sql), "0", "what follows from visits is there too");
    PQfinish(owner);
    free(one);
    free(two);
}

Test(transfer, that_it_was_taken_is_in_the_audit) {
    PGconn *owner = connect_to(owner_conninfo());
    free(exported(demo_id(owner)));
    char sql[256];
    snprintf(sql, sizeof sql,
        "begin; select set_config('app.clinic', '%s', true); select action || ' ' || role from holdfast.audit_unsealed "
        "where action = 'export'",
        demo_id(owner));
    cr_expect_str_eq(value_of(owner, sql), "export owner");
    PQfinish(owner);
}

static const char clinics[] = "select count(*) from holdfast.clinics";

/* All or nothing: what is not whole, not ours or already there leaves no trace. */
Test(transfer, what_is_not_whole_is_refused) {
    PGconn *owner = connect_to(owner_conninfo());
    char *one = exported(demo_id(owner)), id[37], *before = strdup(value_of(owner, clinics));
    cr_expect_eq(import_text(one, NULL, id), 1, "its name is taken");
    char *cut = strdup(one);
    *strstr(cut, "{\"end\"") = '\0';
    cr_expect_eq(import_text(cut, "Cut", id), 1);
    char *fewer = strdup(one), *first = (char *)(size_t)behind_head(fewer), *second = strchr(first, '\n') + 1;
    memmove(first, second, strlen(second) + 1);
    cr_expect_eq(import_text(fewer, "Fewer", id), 1, "a row is missing");
    char *older = strdup(one), *schema = strstr(older, "\"schema\" : \"00");
    cr_assert_not_null(schema);
    schema[strlen("\"schema\" : \"")] = '9';
    cr_expect_eq(import_text(older, "Older", id), 1);
    cr_expect_eq(import_text("{}\n", "Empty", id), 1);
    cr_expect_eq(import_text("not json\n", "None", id), 1);
    cr_expect_str_eq(value_of(owner, clinics), before);
    PQfinish(owner);
    free(before), free(one), free(cut), free(fewer), free(older);
}

/* A table that is added must be thought of: it goes with the clinic, or it is named here. */
Test(transfer, every_table_of_a_clinic_goes_or_stays_knowingly) {
    PGconn *owner = connect_to(owner_conninfo());
    char *one = exported(demo_id(owner));
    PGresult *tables = PQexec(owner,
        "select c.relname from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attname = 'clinic_id' "
        "where c.relnamespace = 'holdfast'::regnamespace and c.relkind = 'r' and c.relname not in ("
        "'tokens', 'replies', 'audit', 'audit_unsealed', 'audit_heads', 'erasures', 'visit_setups', "
        "'standings', 'sessions', 'events', 'events_unsealed', 'event_heads', 'webhooks', 'webhook_secrets', 'deliveries')");
    cr_assert_gt(PQntuples(tables), 8);
    for (int i = 0; i < PQntuples(tables); i++) {
        char begins[96];
        snprintf(begins, sizeof begins, "{\"table\":\"%s\"", PQgetvalue(tables, i, 0));
        cr_expect(strstr(one, begins) != NULL || strcmp(PQgetvalue(tables, i, 0), "evaluations") == 0,
            "%s does not go with the clinic", PQgetvalue(tables, i, 0));
    }
    PQclear(tables);
    PQfinish(owner);
    free(one);
}
