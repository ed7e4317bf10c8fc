/* Migrations: each numbered file once and in order, in a transaction of its own; then the functions and
 * views, which are always applied again, in one. What was applied is recorded by digest. */
#include "admin.h"
#include "migrations.h"
#include "owner.h"

#include <string.h>

static const char record_table[] =
    "create schema if not exists holdfast;"
    "create table if not exists holdfast.schema_migrations (name text primary key, sha256 text not null,"
    " applied_at timestamptz not null default now());"
    "comment on table holdfast.schema_migrations is 'Files applied to this schema';"
    "comment on column holdfast.schema_migrations.name is 'File without its ending';"
    "comment on column holdfast.schema_migrations.sha256 is 'SHA-256 of the file, hex';"
    "comment on column holdfast.schema_migrations.applied_at is 'Time of application'";

static const struct hfd_migration *known(const char *name) {
    for (const struct hfd_migration *migration = hfd_migrations; migration->name != NULL; migration++) {
        if (strcmp(migration->name, name) == 0) return migration;
    }
    return NULL;
}

static bool is_applied(const PGresult *applied, const char *name) {
    for (int row = 0; row < PQntuples(applied); row++) {
        if (strcmp(PQgetvalue(applied, row, 0), name) == 0) return true;
    }
    return false;
}

/* What stands in the database must be what this program would have applied. */
static bool agrees(const PGresult *applied) {
    for (int row = 0; row < PQntuples(applied); row++) {
        const char *name = PQgetvalue(applied, row, 0);
        const struct hfd_migration *migration = known(name);
        if (migration == NULL) {
            fprintf(stderr, "migrate: the database has %s, which this program does not know: it is newer\n",
                name);
            return false;
        }
        if (strcmp(PQgetvalue(applied, row, 1), migration->sha256) != 0) {
            fprintf(stderr,
                "migrate: %s was changed after it had been applied; changes need a migration of their own\n",
                name);
            return false;
        }
    }
    return true;
}

static bool record(PGconn *owner, const struct hfd_migration *migration) {
    const char *const params[] = {migration->name, migration->sha256};
    PGresult *result = hfd_owner_query(
        owner, "insert into holdfast.schema_migrations (name, sha256) values ($1, $2)", 2, params);
    PQclear(result);
    return result != NULL;
}

static bool apply(PGconn *owner, const struct hfd_migration *migration) {
    if (hfd_owner_do(owner, migration->sql) && record(owner, migration)) return true;
    fprintf(stderr, "migrate: %s failed, nothing of it was kept\n", migration->name);
    return false;
}

static bool apply_new(PGconn *owner, FILE *log) {
    PGresult *applied = hfd_owner_query(owner,
        "select name, sha256 from holdfast.schema_migrations where name not like 'always/%' order by name", 0,
        NULL);
    bool good = applied != NULL && agrees(applied);
    for (const struct hfd_migration *migration = hfd_migrations; good && migration->name != NULL;
         migration++) {
        if (is_applied(applied, migration->name)) continue;
        good = hfd_owner_do(owner, "begin") && apply(owner, migration) && hfd_owner_do(owner, "commit");
        if (good) fprintf(log, "applied %s\n", migration->name);
    }
    PQclear(applied);
    return good;
}

static bool apply_always(PGconn *owner) {
    bool good =
        hfd_owner_do(owner, "begin; delete from holdfast.schema_migrations where name like 'always/%'");
    for (const struct hfd_migration *migration = hfd_migrations_always; good && migration->name != NULL;
         migration++)
        good = apply(owner, migration);
    return good && hfd_owner_do(owner, "commit");
}

/* Published figures may be newer in this program. */
static bool refresh_sites(PGconn *owner) {
    PGresult *clinics = hfd_owner_query(owner, "select id from holdfast.clinics order by id", 0, NULL);
    bool good = clinics != NULL;
    for (int row = 0; good && row < PQntuples(clinics); row++) {
        good = hfd_owner_do(owner, "begin") && hfd_owner_publish_sites(owner, PQgetvalue(clinics, row, 0)) &&
               hfd_owner_do(owner, "commit");
    }
    PQclear(clinics);
    return good;
}

int hfd_admin_migrate(const char *owner_conninfo, FILE *log) {
    PGconn *owner = hfd_owner_open(owner_conninfo);
    if (owner == NULL) return 1;
    /* One migrator at a time, until the connection ends; the number is the word "holdfast" in ASCII. Then
     * nobody is blocked for long behind a wait of ours for a table in use. */
    const bool good = hfd_owner_do(owner, "select pg_advisory_lock(x'686f6c6466617374'::bigint)") &&
                      hfd_owner_do(owner, "set lock_timeout = '60s'") && hfd_owner_do(owner, record_table) &&
                      apply_new(owner, log) && apply_always(owner) && refresh_sites(owner);
    PQfinish(owner);
    if (good) fprintf(log, "the schema is up to date\n");
    return good ? 0 : 1;
}
