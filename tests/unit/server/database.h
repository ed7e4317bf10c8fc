/* The database that the runner gives to each test program: empty at first, one program at a time. */
#ifndef TEST_DATABASE_H
#define TEST_DATABASE_H

#include <criterion/criterion.h>
#include <libpq-fe.h>
#include <stdlib.h>
#include <string.h>

#include "../../../server/base/digest.h"
#include "../../../server/base/uuid.h"
#include "../../../server/store/admin.h"

static inline const char *owner_conninfo(void) {
    const char *conninfo = getenv("HOLDFAST_TEST_DATABASE");
    cr_assert_not_null(conninfo, "HOLDFAST_TEST_DATABASE names no database");
    return conninfo;
}

static inline const char *app_conninfo(void) {
    const char *conninfo = getenv("HOLDFAST_TEST_DATABASE_APP");
    cr_assert_not_null(conninfo, "HOLDFAST_TEST_DATABASE_APP names no database");
    return conninfo;
}

static inline void migrate(void) {
    FILE *log = fopen("/dev/null", "w");
    cr_assert_eq(hfd_admin_migrate(owner_conninfo(), log), 0);
    fclose(log);
}

static inline PGconn *connect_to(const char *conninfo) {
    PGconn *connection = PQconnectdb(conninfo);
    cr_assert_eq(PQstatus(connection), CONNECTION_OK, "%s", PQerrorMessage(connection));
    return connection;
}

/* "" when it went well, otherwise the SQLSTATE. */
static inline const char *try_sql(PGconn *connection, const char *sql) {
    static char state[6];
    PGresult *result = PQexec(connection, sql);
    const char *field = PQresultErrorField(result, PG_DIAG_SQLSTATE);
    snprintf(state, sizeof state, "%s", field != NULL ? field : "");
    PQclear(result);
    return state;
}

static inline void run_sql(PGconn *connection, const char *sql) {
    cr_assert_str_eq(try_sql(connection, sql), "", "%s: %s", sql, PQerrorMessage(connection));
}

/* The first cell of the last statement; "" for NULL, "(none)" without rows. */
static inline const char *value_of(PGconn *connection, const char *sql) {
    static char value[16384];
    PGresult *result = PQexec(connection, sql);
    cr_assert_eq(PQresultStatus(result), PGRES_TUPLES_OK, "%s: %s", sql, PQerrorMessage(connection));
    snprintf(value, sizeof value, "%s", PQntuples(result) > 0 ? PQgetvalue(result, 0, 0) : "(none)");
    PQclear(result);
    return value;
}

/* A clinic with one clinician's token; names need not be told apart. */
struct clinic {
    char id[37], digest[HFD_DIGEST_HEX];
};

static inline struct clinic new_clinic(void) {
    struct clinic clinic;
    char name[HFD_UUID_TEXT_SIZE], *token;
    hfd_uuid_new(name);
    cr_assert_eq(hfd_admin_clinic_create(owner_conninfo(), name, true, clinic.id), 0);
    cr_assert_eq(hfd_admin_token_create(owner_conninfo(), name, "clinician", "test", NULL, &token), 0);
    hfd_digest_hex(token, strlen(token), clinic.digest);
    free(token);
    return clinic;
}

#endif
