#include "admin.h"

#include <stdlib.h>
#include <string.h>

#include "../base/digest.h"
#include "../base/secret.h"
#include "../base/uuid.h"
#include "owner.h"

static const char *const roles[] = {"clinician", "assistant", "dashboard", "integrator", "auditor", "admin"};

static bool is_role(const char *role) {
    for (size_t i = 0; i < sizeof roles / sizeof *roles; i++) {
        if (strcmp(roles[i], role) == 0) return true;
    }
    return false;
}

/* Answers the number of rows, -1 after a failure. */
static int rows_of(PGconn *owner, const char *sql, int param_count, const char *const *params) {
    PGresult *result = hfd_owner_query(owner, sql, param_count, params);
    if (result == NULL) return -1;
    const int rows = PQntuples(result);
    PQclear(result);
    return rows;
}

static bool create_clinic(PGconn *owner, const char *id, const char *name, bool demo) {
    const char *const params[] = {id, name, demo ? "true" : "false"};
    if (!hfd_owner_do(owner, "begin")) return false;
    const int rows = rows_of(owner,
        "insert into holdfast.clinics (id, name, demo) values ($1, $2, $3) on conflict (name) do nothing returning id",
        3, params);
    if (rows == 0) fprintf(stderr, "there is a clinic named \"%s\" already\n", name);
    return rows == 1 && hfd_owner_publish_sites(owner, id) && hfd_owner_do(owner, "commit");
}

int hfd_admin_clinic_create(const char *owner_conninfo, const char *name, bool demo, char id_out[37]) {
    if (name[0] == '\0') {
        fprintf(stderr, "a clinic needs a name\n");
        return 1;
    }
    PGconn *owner = hfd_owner_open(owner_conninfo);
    if (owner == NULL) return 1;
    hfd_uuid_new(id_out);
    const bool created = create_clinic(owner, id_out, name, demo);
    PQfinish(owner);
    return created ? 0 : 1;
}

/* A day or a number of days as an expression of SQL over $6; NULL: neither. A day that does not exist is left
 * to the database. */
static const char *end_of(const char *expires) {
    size_t length = strlen(expires), digits = strspn(expires, "0123456789");
    if (digits == length && length > 0 && length <= 5 && strtol(expires, NULL, 10) > 0)
        return "now() + $6::integer * interval '1 day'";
    bool is_day = length == 10 && digits == 4 && strspn(expires + 4, "-0123456789") == 6 &&
                  expires[4] == '-' && expires[7] == '-';
    return is_day ? "$6::date::timestamp at time zone 'utc'" : NULL;
}

int hfd_admin_token_create(const char *owner_conninfo, const char *clinic, const char *role,
    const char *label, const char *expires, char **token_out) {
    *token_out = NULL;
    const char *end = expires != NULL ? end_of(expires) : "$6::timestamptz";
    if (end == NULL) {
        fprintf(stderr, "\"%s\" is neither a day YYYY-MM-DD nor a number of days, 1 to 99999\n", expires);
        return 1;
    }
    if (!is_role(role)) {
        fprintf(stderr, "no role \"%s\"; there are:", role);
        for (size_t i = 0; i < sizeof roles / sizeof *roles; i++)
            fprintf(stderr, " %s", roles[i]);
        fprintf(stderr, "\n");
        return 1;
    }
    PGconn *owner = hfd_owner_open(owner_conninfo);
    if (owner == NULL) return 1;
    char clinic_id[HFD_UUID_TEXT_SIZE], id[HFD_UUID_TEXT_SIZE], text[HFD_SECRET_LENGTH + 1],
        digest[HFD_DIGEST_HEX];
    hfd_uuid_new(id);
    hfd_secret_new(HFD_TOKEN_PREFIX, text);
    hfd_digest_hex(text, HFD_SECRET_LENGTH, digest);
    char sql[256];
    snprintf(sql, sizeof sql,
        "insert into holdfast.tokens (clinic_id, id, digest, role, label, expires_at)"
        " values ($1, $2, decode($3, 'hex'), $4, $5, %s) returning id",
        end);
    const char *const params[] = {clinic_id, id, digest, role, label, expires};
    const bool created =
        hfd_owner_find_clinic(owner, clinic, clinic_id) && rows_of(owner, sql, 6, params) == 1;
    PQfinish(owner);
    if (created) *token_out = strdup(text);
    return *token_out != NULL ? 0 : 1;
}

static bool list_tokens(PGconn *owner, const char *clinic_id, FILE *out) {
    static const char sql[] =
        "select t.id, c.name, t.role, t.label, to_char(t.created_at, 'YYYY-MM-DD\"T\"HH24:MI:SS\"Z\"') as created,"
        " coalesce(to_char(t.expires_at, 'YYYY-MM-DD\"T\"HH24:MI:SS\"Z\"'), 'never') as expires,"
        " coalesce(to_char(t.last_used_at, 'YYYY-MM-DD\"T\"HH24:MI:SS\"Z\"'), 'never') as last_used,"
        " case when t.revoked_at is not null then 'revoked' when t.expires_at <= now() then 'expired' else 'in force' end as state"
        " from holdfast.tokens t join holdfast.clinics c on c.id = t.clinic_id"
        " where $1::uuid is null or t.clinic_id = $1 order by c.name, t.id";
    PGresult *tokens = hfd_owner_query(owner, sql, 1, &clinic_id);
    if (tokens == NULL) return false;
    const int columns = PQnfields(tokens);
    for (int column = 0; column < columns; column++)
        fprintf(out, "%s%c", PQfname(tokens, column), column + 1 < columns ? '\t' : '\n');
    for (int row = 0; row < PQntuples(tokens); row++) {
        for (int column = 0; column < columns; column++)
            fprintf(out, "%s%c", PQgetvalue(tokens, row, column), column + 1 < columns ? '\t' : '\n');
    }
    PQclear(tokens);
    return true;
}

int hfd_admin_token_list(const char *owner_conninfo, const char *clinic, FILE *out) {
    PGconn *owner = hfd_owner_open(owner_conninfo);
    if (owner == NULL) return 1;
    char clinic_id[HFD_UUID_TEXT_SIZE];
    const bool listed = clinic == NULL ? list_tokens(owner, NULL, out)
                                       : hfd_owner_find_clinic(owner, clinic, clinic_id) &&
                                             list_tokens(owner, clinic_id, out);
    PQfinish(owner);
    return listed ? 0 : 1;
}

int hfd_admin_token_revoke(const char *owner_conninfo, const char *token_id) {
    if (!hfd_uuid_valid(token_id)) {
        fprintf(stderr, "\"%s\" is no token's id; see the list of tokens\n", token_id);
        return 1;
    }
    PGconn *owner = hfd_owner_open(owner_conninfo);
    if (owner == NULL) return 1;
    const int rows = rows_of(owner,
        "update holdfast.tokens set revoked_at = coalesce(revoked_at, now()) where id = $1 returning id", 1,
        &token_id);
    PQfinish(owner);
    if (rows == 0) fprintf(stderr, "no token %s\n", token_id);
    return rows > 0 ? 0 : 1;
}
