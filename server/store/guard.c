#include "guard.h"

#include "dial.h"

/* Asked as the serving role itself, of which it judges. */
static const char faults[] =
    "with tables as (select c.* from pg_class c where c.relnamespace = 'holdfast'::regnamespace and c.relkind in ('r', 'p')),"
    " own as (select t.* from tables t where exists (select from pg_attribute a where a.attrelid = t.oid"
    "  and a.attname = 'clinic_id' and not a.attisdropped) or t.relname = 'clinics'),"
    " me as (select * from pg_roles where rolname = current_user)"
    " select 'table ' || relname || ': row security is not enabled and forced' from own"
    "  where not (relrowsecurity and relforcerowsecurity)"
    " union all select 'table ' || relname || ': no policy that ties it to the clinic' from own where not exists ("
    "  select from pg_policy p where p.polrelid = own.oid and 0 = any (p.polroles) and p.polpermissive"
    "   and pg_get_expr(p.polqual, p.polrelid) like '%app.clinic%'"
    "   and pg_get_expr(p.polwithcheck, p.polrelid) like '%app.clinic%')"
    " union all select 'table ' || relname || ': policy ' || p.polname || ' lets the serving role past its clinic'"
    "  from own join pg_policy p on p.polrelid = own.oid where p.polpermissive"
    "   and (0 = any (p.polroles) or (select oid from me) = any (p.polroles))"
    "   and (pg_get_expr(p.polqual, p.polrelid) not like '%app.clinic%'"
    "    or coalesce(pg_get_expr(p.polwithcheck, p.polrelid), 'app.clinic') not like '%app.clinic%')"
    " union all select 'table ' || relname || ': owned by the serving role' from tables"
    "  where pg_has_role(current_user, relowner, 'member')"
    " union all select 'table ' || relname || ': the serving role may truncate it' from tables"
    "  where has_table_privilege(oid, 'truncate')"
    " union all select 'role ' || rolname || ': is more than a role that serves (superuser, bypassrls, createrole,"
    " createdb or replication)' from me where rolsuper or rolbypassrls or rolcreaterole or rolcreatedb or rolreplication"
    " union all select 'role ' || rolname || ': may create in schema ' || nspname from me, pg_namespace"
    "  where nspname in ('holdfast', 'public') and has_schema_privilege(pg_namespace.oid, 'create')"
    " union all select 'role ' || rolname || ': reads tokens' from me"
    "  where has_table_privilege('holdfast.tokens', 'select')"
    " order by 1";

const char *hfd_store_guard(const char *conninfo, hf_arena *arena) {
    PGconn *connection = hfd_dial(conninfo);
    PGresult *result = PQexec(connection, faults);
    const char *found = NULL;
    if (PQresultStatus(result) != PGRES_TUPLES_OK) found = hf_arena_strdup(arena, PQerrorMessage(connection));
    for (int row = 0; row < PQntuples(result); row++) {
        const char *fault = PQgetvalue(result, row, 0);
        found =
            found != NULL ? hf_arena_printf(arena, "%s\n%s", found, fault) : hf_arena_strdup(arena, fault);
    }
    PQclear(result);
    PQfinish(connection);
    return found;
}
