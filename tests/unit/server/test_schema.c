/* The catalogue against the rules of the house. Each rule is a query that names offenders; a deed that breaks
 * the rule, rolled back afterwards, shows that the query would see one. */
#include "database.h"

struct rule {
    const char *what, *offenders, *breach;
};

/* Tables of clinics' rows. */
#define TENANT_TABLES                                                                                        \
    "with t as (select c.oid, c.relname, c.relrowsecurity, c.relforcerowsecurity from pg_class c"            \
    " where c.relnamespace = 'holdfast'::regnamespace and c.relkind in ('r', 'p')"                           \
    " and c.relname not in ('schema_migrations', 'clinics')),"                                               \
    " clinic as (select t.oid, a.attnum from t join pg_attribute a on a.attrelid = t.oid and a.attname = 'clinic_id') "

static const struct rule rules[] = {
    {"row security is enabled and forced",
        "select relname from pg_class where relnamespace = 'holdfast'::regnamespace and relkind in ('r', 'p')"
        " and relname <> 'schema_migrations' and not (relrowsecurity and relforcerowsecurity)",
        "alter table visits no force row level security"},
    {"the tenant policy stands, for all commands, on what is read and on what is written",
        "select relname from pg_class c where relnamespace = 'holdfast'::regnamespace and relkind in ('r', 'p')"
        " and relname <> 'schema_migrations' and not exists (select from pg_policies p where p.schemaname = 'holdfast'"
        " and p.tablename = c.relname and p.policyname = 'tenant' and p.cmd = 'ALL' and p.roles = '{public}'"
        " and p.permissive = 'PERMISSIVE' and p.qual like '%app.clinic%' and p.with_check = p.qual)",
        "drop policy tenant on screws"},
    {"no other policy opens a table to the serving role",
        "select tablename || ' ' || policyname from pg_policies where schemaname = 'holdfast'"
        " and policyname <> 'tenant' and (roles && '{public,holdfast_app}')",
        "create policy wide on screws using (true)"},
    {"every table has clinic_id, not null, filled from the transaction's clinic",
        TENANT_TABLES "select relname from t where not exists (select from pg_attribute a join pg_attrdef d"
                      " on d.adrelid = a.attrelid and d.adnum = a.attnum where a.attrelid = t.oid"
                      " and a.attname = 'clinic_id' and a.attnotnull"
                      " and pg_get_expr(d.adbin, d.adrelid) like '%app.clinic%')",
        "alter table visits alter clinic_id drop default"},
    {"every unique key begins with the clinic; the digest of a token or a session alone tells it",
        TENANT_TABLES "select x.indexrelid::regclass::text from pg_index x join t on t.oid = x.indrelid"
                      " left join clinic on clinic.oid = t.oid where x.indisunique"
                      " and x.indkey[0] is distinct from clinic.attnum"
                      " and x.indexrelid not in ('holdfast.tokens_digest_key'::regclass,"
                      " 'holdfast.sessions_digest_key'::regclass)",
        "create unique index narrow on patients (chart_number) where false"},
    {"every reference carries the clinic",
        TENANT_TABLES
        "select k.conname from pg_constraint k join t on t.oid = k.conrelid"
        " join clinic ours on ours.oid = k.conrelid left join clinic theirs on theirs.oid = k.confrelid"
        " where k.contype = 'f' and (k.conkey[1] <> ours.attnum"
        " or k.confkey[1] <> coalesce(theirs.attnum, 1)"
        " or cardinality(k.conkey) < case when theirs.oid is null then 1 else 2 end)",
        "create table wide (clinic_id uuid, id uuid primary key);"
        "create table loose (clinic_id uuid, wide_id uuid references wide (id))"},
    {"every column ending in _id is part of a reference; only rows of audit and feed on their way refer to nothing",
        TENANT_TABLES
        "select t.relname || '.' || a.attname from pg_attribute a join t on t.oid = a.attrelid"
        " where a.attname like '%\\_id' and a.attnum > 0 and t.relname not like '%\\_unsealed' and not exists (select from pg_constraint k"
        " where k.conrelid = t.oid and k.contype = 'f' and a.attnum = any (k.conkey))",
        "alter table screws drop constraint screws_screw_model_id_fkey"},
    {"every table, view and function is described",
        "select relname from pg_class where relnamespace = 'holdfast'::regnamespace and relkind in ('r', 'p', 'v', 'm')"
        " and obj_description(oid, 'pg_class') is null union all select proname from pg_proc"
        " where pronamespace = 'holdfast'::regnamespace and obj_description(oid, 'pg_proc') is null",
        "comment on table visits is null"},
    {"every column is described",
        "select relname || '.' || attname from pg_class c join pg_attribute a on a.attrelid = c.oid"
        " where relnamespace = 'holdfast'::regnamespace and relkind in ('r', 'p') and attnum > 0 and not attisdropped"
        " and col_description(c.oid, attnum) is null",
        "comment on column screws.tissue_mm is null"},
    {"every number with a unit in its name tells the same unit in its description",
        "select relname || '.' || attname from pg_class c join pg_attribute a on a.attrelid = c.oid"
        " left join (values ('mm', 'mm'), ('mpa', 'MPa'), ('deg', 'deg'), ('ncm', 'N cm'), ('day', 'day')) u (ending, unit)"
        " on attname like '%\\_' || u.ending"
        " where relnamespace = 'holdfast'::regnamespace and relkind = 'r' and atttypid = 'float8'::regtype and case"
        " when u.unit is not null then col_description(c.oid, attnum) !~ ('\\m' || u.unit || '\\M')"
        " else col_description(c.oid, attnum) !~ '0 to 1|no unit' end",
        "comment on column screws.tissue_mm is 'Thickness of mucosa under the head, cm'"},
    {"the serving role has no special powers and is in no group",
        "select rolname from pg_roles where rolname = 'holdfast_app' and (rolsuper or rolbypassrls or rolcreaterole"
        " or rolcreatedb or rolreplication or not rolcanlogin)"
        " union all select 'member' from pg_auth_members where member = 'holdfast_app'::regrole",
        "grant pg_read_all_stats to holdfast_app"},
    {"the serving role owns nothing",
        "select classid::regclass::text from pg_shdepend where refobjid = 'holdfast_app'::regrole and deptype = 'o'",
        "grant create on schema holdfast to holdfast_app; grant holdfast_app to current_user;"
        "alter view current_setups owner to holdfast_app"},
    {"the serving role makes nothing",
        "select 'schema' where has_schema_privilege('holdfast_app', 'holdfast', 'create')"
        " or has_schema_privilege('holdfast_app', 'public', 'create')"
        " union all select 'database' where has_database_privilege('holdfast_app', current_database(), 'create, temporary')",
        "grant create on schema holdfast to holdfast_app"},
    {"the serving role reads and writes rows, and removes only what ends: sessions, replies, what a trigger keeps",
        "select table_name || ' ' || privilege_type from information_schema.role_table_grants"
        " where table_schema = 'holdfast' and grantee in ('holdfast_app', 'PUBLIC') and (privilege_type not in ('SELECT', 'INSERT',"
        " 'UPDATE') or table_name in ('tokens') or (privilege_type <> 'SELECT' and table_name in ('audit',"
        " 'erasures', 'events', 'event_heads', 'deliveries')) or (privilege_type <> 'INSERT' and table_name like '%\\_unsealed') or table_name = 'audit_heads' or grantee = 'PUBLIC' or (privilege_type <> 'SELECT'"
        " and table_name in ('clinics', 'schema_migrations')) or (privilege_type = 'UPDATE' and table_name = 'evaluations'))"
        " and (table_name, privilege_type) not in (('visit_setups', 'DELETE'), ('replies', 'DELETE'), ('standings', 'DELETE'),"
        " ('sessions', 'DELETE'))",
        "grant truncate on visits to holdfast_app"},
    {"every view asks with the rights of who asks",
        "select relname from pg_class where relnamespace = 'holdfast'::regnamespace and relkind in ('v', 'm')"
        " and not coalesce(reloptions @> '{security_invoker=true}', false)",
        "create view wide as select * from patients"},
    /* audit_text() and chained() name nothing of the schema: a path would forbid that the one is inlined, and
     * cost more than the other does. */
    {"every function has a fixed path of schemas",
        "select proname from pg_proc where pronamespace = 'holdfast'::regnamespace and prokind = 'f'"
        " and proname not in ('audit_text', 'chained') and not coalesce(proconfig @> array['search_path=holdfast, pg_temp'], false)",
        "create function f() returns int language sql as 'select 1'"},
    {"the serving role calls what it needs, nobody else anything",
        "select p.oid::regprocedure::text from pg_proc p where pronamespace = 'holdfast'::regnamespace"
        " and (has_function_privilege('holdfast_app', p.oid, 'execute')"
        " <> (proname in ('authenticate', 'seal_events', 'events_since', 'in_force', 'trim_events', 'claim_deliveries', 'record_delivery', 'deliver_again', 'rotate_secret', 'visit_document', 'seal_audit', 'audit_refusal', 'audit_reads', 'audited', 'pseudonymise_patient',"
        " 'erase_patient', 'refresh_standings', 'clinics_to_judge', 'standings_to_judge', 'judge_standing', 'judge_anew'))"
        " or exists (select from aclexplode(coalesce(p.proacl,"
        " acldefault('f', p.proowner))) a where a.grantee = 0))",
        "grant execute on function touch() to public"},
    {"of a token the serving role reads all but the digest, and changes the revocation alone",
        "select column_name || ' ' || privilege_type from information_schema.column_privileges"
        " where table_schema = 'holdfast' and table_name = 'tokens' and grantee = 'holdfast_app' and (privilege_type = 'REFERENCES'"
        " or (column_name = 'digest' and privilege_type <> 'INSERT') or (column_name <> 'revoked_at' and privilege_type = 'UPDATE'))",
        "grant update (role) on tokens to holdfast_app"},
    {"only what works before or beside a clinic, or removes, has the owner's rights",
        "select proname from pg_proc where pronamespace = 'holdfast'::regnamespace and prosecdef"
        " and proname not in ('authenticate', 'seal_events', 'in_force', 'trim_events', 'claim_deliveries', 'record_delivery', 'deliver_again', 'rotate_secret', 'seal_audit', 'audit_refusal', 'audit_reads', 'audited', 'forget_replies', 'pseudonymise_patient',"
        " 'erase_patient', 'clinics_to_judge', 'judge_anew')",
        "alter function visit_document(uuid, date) security definer"},
};

Test(schema, keeps_the_rules_of_the_house, .init = migrate) {
    PGconn *owner = connect_to(owner_conninfo());
    run_sql(owner, "set search_path = holdfast, pg_temp; set client_min_messages = error");
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
        const struct rule *rule = &rules[i];
        cr_expect_str_eq(value_of(owner, rule->offenders), "(none)", "%s: %s", rule->what,
            value_of(owner, rule->offenders));
        run_sql(owner, "begin");
        const char *state = try_sql(owner, rule->breach);
        cr_expect_str_eq(state, "", "%s: %s: %s", rule->what, rule->breach, PQerrorMessage(owner));
        if (state[0] == '\0')
            cr_expect_str_neq(
                value_of(owner, rule->offenders), "(none)", "%s: a breach goes unseen", rule->what);
        run_sql(owner, "rollback");
    }
    PQfinish(owner);
}

/* Two clinics with a patient, a case, a model and a screw each. */
struct tenants {
    PGconn *app;
    struct clinic a, b;
};

static void enter(PGconn *app, const struct clinic *clinic) {
    char sql[256];
    snprintf(sql, sizeof sql, "begin; select * from authenticate(decode('%s', 'hex'), '{clinician}')",
        clinic->digest);
    run_sql(app, sql);
}

static const char fill[] =
    "insert into patients (id, chart_number, birth_date, cigarettes_per_day)"
    " values ('00000000-0000-7000-8000-000000000001', 'P1', '1992-01-15', 3);"
    "insert into cases (id, patient_id, arches, teeth, segments) values ('00000000-0000-7000-8000-000000000002',"
    " '00000000-0000-7000-8000-000000000001', '{\"maxilla\": {\"width_mm\": 58.5}}', '[{\"tooth\": \"16\"}]',"
    " '[{\"name\": \"right\", \"teeth\": [\"16\"], \"joined\": \"rigid\"}]');"
    "insert into screw_models (id, name, diameter_mm, core_mm, length_mm, thread_pitch_mm)"
    " values ('00000000-0000-7000-8000-000000000003', 'M', 2, 1.5, 9, 0.8);"
    "insert into screws (id, patient_id, case_id, name, site, screw_model_id, placed_on, entry, axis, tissue_mm, placed_by_count)"
    " values ('00000000-0000-7000-8000-000000000004', '00000000-0000-7000-8000-000000000001',"
    " '00000000-0000-7000-8000-000000000002', 'A', 'palate-paramedian', '00000000-0000-7000-8000-000000000003',"
    " '2026-02-16', '[-4, 22, 14]', '\"perpendicular\"', 1.5, 40);"
    "insert into screws (id, patient_id, case_id, name, site, screw_model_id, placed_on)"
    " values ('00000000-0000-7000-8000-000000000005', '00000000-0000-7000-8000-000000000001',"
    " '00000000-0000-7000-8000-000000000002', 'B', 'palate-median', '00000000-0000-7000-8000-000000000003', '2026-02-16');"
    "insert into setups (id, case_id, name, purpose) values ('00000000-0000-7000-8000-000000000006',"
    " '00000000-0000-7000-8000-000000000002', 'plate', 'intrusion');"
    "insert into setup_versions (setup_id, worn_from, material, nodes, seats) values"
    " ('00000000-0000-7000-8000-000000000006', '2026-02-20', '\"titanium-grade-4\"', '[{\"name\": \"n\"}]',"
    " '[{\"node\": \"n\", \"screw\": \"A\"}]')";

static struct tenants two_clinics(void) {
    migrate();
    struct tenants two = {.app = connect_to(app_conninfo()), .a = new_clinic(), .b = new_clinic()};
    run_sql(two.app, "set search_path = holdfast, pg_temp");
    enter(two.app, &two.a);
    run_sql(two.app, fill);
    run_sql(two.app, "commit");
    return two;
}

Test(schema, a_clinic_sees_and_changes_its_own_rows_only) {
    static const char *const tables[] = {"clinics", "patients", "cases", "screw_models", "plate_patterns",
        "sites", "screws", "setups", "setup_versions", "visits", "visit_setups", "evaluations", "audit",
        "erasures", "standings"};
    struct tenants two = two_clinics();
    enter(two.app, &two.b);
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        char sql[256];
        snprintf(sql, sizeof sql, "select count(*) from %s where %s = '%s'", tables[i],
            i == 0 ? "id" : "clinic_id", two.a.id);
        cr_expect_str_eq(value_of(two.app, sql), "0", "%s", tables[i]);
    }
    PGresult *update = PQexec(two.app, "update patients set note = 'seen'");
    cr_expect_str_eq(PQcmdTuples(update), "0");
    PQclear(update);
    cr_expect_str_eq(value_of(two.app, "select count(*) > 0 and count(*) = count(distinct key) from sites"),
        "t", "its own sites, each once");
    run_sql(two.app, "rollback");
    enter(two.app, &two.a);
    cr_expect_str_eq(value_of(two.app, "select count(*) from patients"), "1");
    run_sql(two.app, "rollback");
    PQfinish(two.app);
}

Test(schema, nothing_is_seen_without_a_clinic_also_after_one) {
    struct tenants two = two_clinics();
    cr_expect_str_eq(
        value_of(two.app, "select count(*) from patients"), "0", "the setting ended with its transaction");
    cr_expect_str_eq(value_of(two.app, "select count(*) from clinics"), "0");
    cr_expect_str_eq(
        try_sql(two.app, "insert into patients (id, chart_number) values (gen_random_uuid(), 'X')"), "42501");
    PQfinish(two.app);
}

Test(schema, other_clinics_ids_lead_nowhere) {
    struct tenants two = two_clinics();
    char sql[512];
    enter(two.app, &two.b);
    snprintf(sql, sizeof sql,
        "insert into patients (clinic_id, id, chart_number) values ('%s', gen_random_uuid(), 'X')", two.a.id);
    cr_expect_str_eq(try_sql(two.app, sql), "42501", "row security: no writing into another clinic");
    run_sql(two.app, "rollback");
    enter(two.app, &two.b);
    cr_expect_str_eq(try_sql(two.app, "insert into cases (id, patient_id) values (gen_random_uuid(),"
                                      " '00000000-0000-7000-8000-000000000001')"),
        "23503", "a patient of the other clinic");
    run_sql(two.app, "rollback");
    enter(two.app, &two.b);
    run_sql(two.app,
        "insert into patients (id, chart_number) values ('00000000-0000-7000-8000-000000000001', 'P1')");
    cr_expect_str_eq(
        value_of(two.app, "select count(*) from patients"), "1", "same id, same chart number: no clash");
    snprintf(sql, sizeof sql, "update patients set clinic_id = '%s'", two.a.id);
    cr_expect_str_eq(try_sql(two.app, sql), "23514", "a row keeps its clinic");
    run_sql(two.app, "rollback");
    PQfinish(two.app);
}

Test(schema, the_serving_role_reaches_no_token) {
    struct tenants two = two_clinics();
    enter(two.app, &two.a);
    cr_expect_str_eq(try_sql(two.app, "select digest from tokens"), "42501");
    run_sql(two.app, "rollback");
    enter(two.app, &two.a);
    cr_expect_str_eq(try_sql(two.app, "truncate patients"), "42501");
    run_sql(two.app, "rollback");
    cr_expect_str_eq(try_sql(two.app, "create temporary table t ()"), "42501");
    cr_expect_str_eq(try_sql(two.app, "create table holdfast.t ()"), "42501");
    PQfinish(two.app);
}

static void change(const struct tenants *two, const char *sql, const char *sqlstate) {
    enter(two->app, &two->a);
    cr_assert_str_eq(try_sql(two->app, sql), sqlstate, "%s: %s", sql, PQerrorMessage(two->app));
    run_sql(two->app, sqlstate[0] == '\0' ? "commit" : "rollback");
}

static const char *look(const struct tenants *two, const char *sql) {
    enter(two->app, &two->a);
    const char *value = value_of(two->app, sql);
    run_sql(two->app, "commit");
    return value;
}

Test(schema, versions_count_and_identity_stays) {
    struct tenants two = two_clinics();
    change(&two, "update patients set note = 'a'", "");
    change(&two, "update patients set note = 'b', version = 99, created_at = '2000-01-01'", "");
    cr_expect_str_eq(look(&two, "select version from patients"), "3");
    cr_expect_str_eq(
        look(&two, "select created_at > now() - interval '1 hour' and updated_at > created_at from patients"),
        "t");
    change(&two, "update patients set id = gen_random_uuid()", "23514");
    PQfinish(two.app);
}

Test(schema, a_site_whose_figure_changes_is_the_clinics_own_for_good) {
    struct tenants two = two_clinics();
    change(&two, "update sites set name = 'Midline' where key = 'palate-median'", "");
    cr_expect_str_eq(
        look(&two, "select published from sites where key = 'palate-median'"), "t", "a name is no figure");
    change(&two, "update sites set cortex_mm = 1.23 where key = 'palate-median'", "");
    cr_expect_str_eq(look(&two, "select published from sites where key = 'palate-median'"), "f");
    migrate();
    cr_expect_str_eq(look(&two, "select cortex_mm from sites where key = 'palate-median'"), "1.23");
    PGconn *owner = connect_to(owner_conninfo());
    char sql[256];
    snprintf(sql, sizeof sql,
        "begin; set local app.clinic = '%s'; update holdfast.sites set cortex_mm = 99 where published; commit",
        two.a.id);
    run_sql(owner, sql);
    migrate();
    cr_expect_str_eq(
        look(&two, "select count(*) from sites where cortex_mm = 99"), "0", "published figures come back");
    cr_expect_str_eq(look(&two, "select count(*) from sites where not published"), "1");
    PQfinish(owner);
    PQfinish(two.app);
}

Test(schema, dimensions_of_a_model_in_use_stand_still) {
    struct tenants two = two_clinics();
    change(&two, "update screw_models set note = 'good', effective_to = '2027-01-01'", "");
    change(&two, "update screw_models set length_mm = 11", "23514");
    change(&two, "delete from screws", "42501");
    PQfinish(two.app);
}

Test(schema, a_screw_that_is_gone_says_since_when) {
    struct tenants two = two_clinics();
    change(&two, "update screws set state = 'lost' where name = 'A'", "23514");
    change(&two, "update screws set state = 'lost', state_on = '2026-02-15' where name = 'A'", "23514");
    change(&two, "update screws set state = 'lost', state_on = '2026-02-16' where name = 'A'", "");
    PQfinish(two.app);
}

#define SETUP "'00000000-0000-7000-8000-000000000006'"
#define CASE "'00000000-0000-7000-8000-000000000002'"

Test(schema, a_new_version_of_a_setup_closes_the_one_before) {
    struct tenants two = two_clinics();
    change(&two, "insert into setup_versions (setup_id, worn_from) values (" SETUP ", '2026-03-10')", "");
    change(
        &two, "insert into setup_versions (setup_id, worn_from) values (" SETUP ", '2026-03-09')", "23514");
    cr_expect_str_eq(
        look(&two,
            "select string_agg(format('%s:%s:%s', version, worn_from, worn_to), ' ' order by version) from setup_versions"),
        "1:2026-02-20:2026-03-10 2:2026-03-10:");
    cr_expect_str_eq(
        look(&two, "select format('%s %s %s', version, plate_version, worn_from) from current_setups"),
        "1 2 2026-03-10");
    change(&two, "update setup_versions set nodes = '[]'", "42501");
    PQfinish(two.app);
}

Test(schema, what_is_worn_at_a_visit_is_resolved_and_must_be_there) {
    struct tenants two = two_clinics();
    change(&two, "insert into setup_versions (setup_id, worn_from) values (" SETUP ", '2026-03-10')", "");
    change(&two,
        "insert into visits (id, case_id, visited_on, worn) values (gen_random_uuid(), " CASE
        ", '2026-03-01',"
        " '[{\"setup_id\": \"00000000-0000-7000-8000-000000000006\"}]')",
        "");
    change(&two,
        "insert into visits (id, case_id, visited_on, worn) values (gen_random_uuid(), " CASE
        ", '2026-03-10',"
        " '[{\"setup_id\": \"00000000-0000-7000-8000-000000000006\"}]')",
        "");
    cr_expect_str_eq(
        look(&two, "select string_agg(worn -> 0 ->> 'version', ' ' order by visited_on) from visits"), "1 2");
    change(&two,
        "update visits set worn = '[{\"setup_id\": \"00000000-0000-7000-8000-000000000006\", \"version\": 3}]'",
        "23503");
    change(&two,
        "update visits set worn = '[{\"setup_id\": \"00000000-0000-7000-8000-00000000000f\", \"version\": 1}]'",
        "23503");
    change(&two, "update visits set worn = '{}'", "23514");
    change(&two, "update visits set worn = null where visited_on = '2026-03-10'", "");
    cr_expect_str_eq(look(&two, "select count(*) from visit_setups"), "1");
    /* Another course of treatment of the same patient does not wear this plate. */
    change(&two,
        "insert into cases (id, patient_id) values ('00000000-0000-7000-8000-00000000000a', '00000000-0000-7000-8000-000000000001')",
        "");
    change(&two,
        "insert into visits (id, case_id, visited_on, worn) values (gen_random_uuid(), '00000000-0000-7000-8000-00000000000a',"
        " '2026-03-01', '[{\"setup_id\": \"00000000-0000-7000-8000-000000000006\"}]')",
        "23503");
    change(&two,
        "insert into visits (id, case_id, visited_on) values (gen_random_uuid(), " CASE ", '2026-03-10')",
        "23505");
    PQfinish(two.app);
}

/* Member names and their order: the service's contract of the mechanics document. 2026-03-02 is 12465 days
 * after the birth date: 34.1 years of 365.2425 days. */
Test(schema, a_visit_amounts_to_its_document) {
    struct tenants two = two_clinics();
    change(&two,
        "insert into visits (id, case_id, visited_on, worn, elements, screw_checks, next_interval_days)"
        " values ('00000000-0000-7000-8000-000000000007', " CASE ", '2026-03-02',"
        " '[{\"setup_id\": \"00000000-0000-7000-8000-000000000006\"}]', '[{\"name\": \"e\"}]',"
        " '[{\"screw\": \"B\", \"mobility_grade\": 3}, {\"screw\": \"A\", \"mobility_grade\": 1}]', 42)",
        "");
    static const char document[] = "select visit_document('00000000-0000-7000-8000-000000000007', null)";
    cr_expect_str_eq(look(&two, document),
        "{\"frame\":\"occlusal-lps\",\"on\":\"2026-03-02\",\"arches\":{\"maxilla\":{\"width_mm\":58.5}},\"teeth\":[{\"tooth\":\"16\"}],"
        "\"segments\":[{\"name\":\"right\",\"teeth\":[\"16\"],\"joined\":\"rigid\"}],"
        "\"screws\":[{\"name\":\"A\",\"site\":\"palate-paramedian\",\"entry_mm\":[-4,22,14],\"axis\":\"perpendicular\","
        "\"diameter_mm\":2,\"core_mm\":1.5,\"length_mm\":9,\"thread_pitch_mm\":0.8,\"tissue_mm\":1.5,"
        "\"placed_on\":\"2026-02-16\",\"placed_by\":{\"screws_placed_before\":40},\"mobility_grade\":1}],"
        "\"plates\":[{\"name\":\"plate\",\"purpose\":\"intrusion\",\"material\":\"titanium-grade-4\",\"nodes\":[{\"name\":\"n\"}],"
        "\"seats\":[{\"node\":\"n\",\"screw\":\"A\"}]}],\"elements\":[{\"name\":\"e\"}],"
        "\"patient\":{\"age_years\":34.1,\"cigarettes_per_day\":3},\"horizon_days\":42}");
    change(&two, "update sites set cortex_mm = 1.25 where key = 'palate-median'", "");
    cr_expect_null(strstr(look(&two, document), "\"sites\""), "no screw of the document is there");
    change(&two,
        "update sites set cortex_mm = 1.25, loss_low = 0.01, loss_mid = 0.02, loss_high = 0.03, source = 'ours'"
        " where key = 'palate-paramedian'",
        "");
    cr_expect_not_null(strstr(look(&two, document),
                           "\"sites\":[{\"key\":\"palate-paramedian\",\"jaw\":\"maxilla\","
                           "\"loss\":{\"low\":0.01,\"mid\":0.02,\"high\":0.03},\"cortex_mm\":1.25,"),
        "%s", look(&two, document));
    PQfinish(two.app);
}

Test(schema, a_document_knows_no_screw_before_its_insertion_nor_after_its_loss) {
    struct tenants two = two_clinics();
    change(&two,
        "insert into visits (id, case_id, visited_on, worn) values ('00000000-0000-7000-8000-000000000007', " CASE
        ", '2026-03-02', '[{\"setup_id\": \"00000000-0000-7000-8000-000000000006\"}]')",
        "");
    change(&two, "update screws set state = 'lost', state_on = '2026-03-05' where name = 'A'", "");
    static const struct {
        const char *day, *screws, *seats;
    } days[] = {{"2026-02-15", "0", "0"}, {"2026-02-16", "1", "1"}, {"2026-03-04", "1", "1"},
        {"2026-03-05", "0", "0"}};
    for (size_t i = 0; i < sizeof days / sizeof *days; i++) {
        char sql[512];
        snprintf(sql, sizeof sql,
            "select coalesce(json_array_length(d -> 'screws'), 0) from visit_document('00000000-0000-7000-8000-000000000007', '%s') d",
            days[i].day);
        cr_expect_str_eq(look(&two, sql), days[i].screws, "screws on %s", days[i].day);
        snprintf(sql, sizeof sql,
            "select coalesce(json_array_length(d -> 'plates' -> 0 -> 'seats'), 0) from"
            " visit_document('00000000-0000-7000-8000-000000000007', '%s') d",
            days[i].day);
        cr_expect_str_eq(look(&two, sql), days[i].seats, "seats on %s", days[i].day);
    }
    cr_expect_str_eq(
        look(&two, "select visit_document('00000000-0000-7000-8000-00000000000f', null) is null"), "t");
    enter(two.app, &two.b);
    cr_expect_str_eq(
        value_of(two.app, "select visit_document('00000000-0000-7000-8000-000000000007', null) is null"), "t",
        "another clinic's visit is no visit");
    PQfinish(two.app);
}
