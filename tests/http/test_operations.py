"""What operators do and watch: numbers, log lines, copies and their return, the step to a new schema."""
import glob
import hashlib
import json
import os
import re
import shutil
import subprocess
import tempfile
import time

import database
from chart import Chart
from installation import Daemon
from test_failure import drop_connections
from test_outage import eventually

SAMPLE = re.compile(r'^([a-zA-Z_:][a-zA-Z0-9_:]*)(?:\{((?:[a-z]+="[^"\\]*",?)*)\})? (\S+)$')


def metrics(daemon):
    """{name: {labels text: value}}, after holding every line against text format 0.0.4
    (https://prometheus.io/docs/instrumenting/exposition_formats/, from memory): HELP and TYPE before the samples."""
    status, headers, text = daemon.request("GET", "/metrics")
    assert status == 200 and headers["Content-Type"] == "text/plain; version=0.0.4; charset=utf-8"
    assert text.endswith(b"\n")
    found, types = {}, {}
    for line in text.decode().splitlines():
        if line.startswith("# HELP "):
            continue
        if line.startswith("# TYPE "):
            _, _, name, kind = line.split()
            assert kind in ("counter", "gauge", "histogram") and name not in types, line
            types[name] = kind
            continue
        name, labels, value = SAMPLE.match(line).groups()
        family = re.sub("_(bucket|sum|count)$", "", name) if name not in types else name
        assert family in types, line
        assert labels not in found.setdefault(name, {}), f"twice: {line}"
        found[name][labels] = float(value)
    return found


def grown(before, after, name, labels):
    return after[name].get(labels, 0) - before[name].get(labels, 0)


def settled(daemon):
    """The metrics once every request that was answered is counted: that happens behind its reply."""
    time.sleep(1)
    return metrics(daemon)


def test_metrics_by_route_and_class(api):
    chart = Chart(api)
    daemon = api.daemon
    patient = chart.make("/v1/patients", {"chart_number": "counted"})
    before = settled(daemon)
    for _ in range(3):
        assert daemon.request("GET", f"/v1/patients/{patient['id']}", token=chart.token)[0] == 200
    for _ in range(2):
        assert daemon.request("GET", "/v1/patients/01890a5d-ac96-774b-bcce-b302099a8057", token=chart.token)[0] == 404
    assert daemon.request("PATCH", f"/v1/patients/{patient['id']}", {}, chart.token)[0] == 428
    assert daemon.request("GET", "/v1/patients?limit=1", token=chart.token)[0] == 200
    assert daemon.request("GET", "/wp-login.php?user=x")[0] == 404
    after = settled(daemon)
    total = "holdfast_requests_total"
    assert grown(before, after, total, 'route="/v1/patients/{id}",status="2xx"') == 3
    assert grown(before, after, total, 'route="/v1/patients/{id}",status="4xx"') == 3
    assert grown(before, after, total, 'route="/v1/patients",status="2xx"') == 1
    assert grown(before, after, total, 'route="none",status="4xx"') == 1
    assert grown(before, after, total, 'route="/metrics",status="2xx"') == 1
    assert grown(before, after, "holdfast_request_seconds_count", None) == 9
    buckets = [after["holdfast_request_seconds_bucket"][f'le="{le}"'] for le in ("0.002", "0.01", "0.05", "0.25", "1", "+Inf")]
    assert buckets == sorted(buckets) and buckets[-1] == after["holdfast_request_seconds_count"][None]
    assert sum(after[total].values()) == buckets[-1]
    # A rest of the shape of an id, a token or a client's words would make a series for each.
    text = daemon.request("GET", "/metrics")[2].decode()
    assert patient["id"] not in text and "wp-login" not in text and "hf_" not in text
    assert not re.search(r"[0-9a-f]{8}-[0-9a-f]{4}-", text)


def test_metrics_of_workers_and_database(api):
    daemon = Daemon(api.program, env={"HOLDFAST_WORKERS": "1"})
    token = api.clinic_a.tokens["clinician"]
    assert daemon.request("GET", "/v1/patients", token=token)[0] == 200
    eventually(lambda: metrics(daemon)["holdfast_workers_busy"][None] == 0, "an idle worker")
    before = metrics(daemon)
    assert before["holdfast_workers"][None] == 1
    assert before["holdfast_database_connects_total"][None] == 2, "the worker's and the audit's"
    assert before["holdfast_database_lost_total"][None] == 0
    drop_connections(api)
    assert daemon.request("GET", "/v1/patients", token=token)[0] == 200
    after = metrics(daemon)
    assert after["holdfast_database_lost_total"][None] == 2
    assert after["holdfast_database_connects_total"][None] == 4
    assert daemon.stop() == 0, daemon.log()[-2000:]


def test_every_log_line_is_json_and_names_its_request(api):
    daemon = Daemon(api.program)
    token = api.clinic_a.tokens["clinician"]
    for i, path in enumerate(["/v1/patients", "/v1/nothing", "/v1/patients?colour=1"]):
        answer = daemon.request("GET", path, token=token, headers={"X-Request-Id": f"log-{i}"})
        assert answer[1]["X-Request-Id"] == f"log-{i}"
    assert daemon.stop() == 0, daemon.log()[-2000:]
    lines = [json.loads(line) for line in daemon.log().splitlines()]
    requests = {line["request_id"]: line for line in lines if line["event"] == "request"}
    for i, status in enumerate([200, 404, 400]):
        assert requests[f"log-{i}"]["status"] == status
    for line in lines:
        assert {"time", "level", "event"} <= line.keys(), line
        # One name for it, wherever it stands.
        assert not {"request", "id", "requestId", "req_id"} & line.keys(), line
    assert token not in daemon.log() and "colour" not in daemon.log()


TABLES = "select relname from pg_class where relnamespace = 'holdfast'::regnamespace and relkind in ('r', 'p') order by 1"
CATALOGUE = """select 'policy', tablename, policyname, roles::text, qual, with_check from pg_policies where schemaname = 'holdfast'
    union all select 'table', relname, relowner::regrole::text, array(select a::text from unnest(relacl) a order by 1)::text,
        relrowsecurity::text, relforcerowsecurity::text
        from pg_class where relnamespace = 'holdfast'::regnamespace and relkind in ('r', 'p', 'v', 'S')
    union all select 'function', oid::regprocedure::text, proowner::regrole::text,
        array(select a::text from unnest(proacl) a order by 1)::text, prosecdef::text, md5(prosrc)
        from pg_proc where pronamespace = 'holdfast'::regnamespace
    union all select 'constraint', conname, pg_get_constraintdef(oid), '', '', '' from pg_constraint
        where connamespace = 'holdfast'::regnamespace
    union all select 'index', indexname, indexdef, '', '', '' from pg_indexes where schemaname = 'holdfast'
    union all select 'trigger', tgname, pg_get_triggerdef(oid), '', '', '' from pg_trigger where not tgisinternal
    union all select 'comment', objoid::regclass::text, objsubid::text, description, '', '' from pg_description
        where classoid = 'pg_class'::regclass and objoid in (select oid from pg_class where relnamespace = 'holdfast'::regnamespace)
    union all select 'setting', setrole::regrole::text, setconfig::text, '', '', '' from pg_db_role_setting
        where setdatabase = (select oid from pg_database where datname = current_database())
    union all select 'database', datname, datdba::regrole::text,
        array(select a::text from unnest(datacl) a order by 1)::text, '', '' from pg_database
        where datname = current_database()
    order by 1, 2, 3"""


def contents(psql):
    """Every row of every table and everything that guards them, as text."""
    found = {"catalogue": psql(CATALOGUE)}
    for table in psql(TABLES).split():
        found[table] = psql(f"select t::text from holdfast.\"{table}\" t order by 1")
    return found


def at_rest(api):
    """The contents once nothing works in the background any more: sealing, judging, delivering."""
    # What other tests left to be tried again and again.
    api.sql("update holdfast.webhooks set active = false where active; delete from holdfast.deliveries")
    before, now = None, contents(api.sql)
    for _ in range(60):
        if before == now:
            return now
        time.sleep(1.5)
        before, now = now, contents(api.sql)
    raise AssertionError("something writes all the time")


def test_a_copy_restored_into_a_fresh_cluster_is_equal(api):
    if api.valgrind:  # next to nothing of it is the daemon
        return
    assert api.call("seed-demo").returncode == 0
    api.sql("do $$ begin create role holdfast_backup login bypassrls; exception when duplicate_object then null; end $$; "
            "grant pg_read_all_data to holdfast_backup")
    file, folder = os.path.join(api.program.folder, "copy.dump"), tempfile.mkdtemp(prefix="holdfast-restored-")
    environment = {**os.environ, "PGHOST": database.cluster("socket")}
    backup = lambda user, file: subprocess.run([os.path.join(database.ROOT, "deploy", "backup.sh"), file, "holdfast_http"],
                                               env={**environment, "PGUSER": user}, capture_output=True, text=True)
    # A role that row security holds gets an error and no file, not a copy without rows.
    refused = backup("holdfast_owner", file + ".refused")
    assert refused.returncode != 0 and "row-level security" in refused.stderr, refused
    assert not glob.glob(file + ".refused*")
    for _ in range(6):
        before = at_rest(api)
        done = backup("holdfast_backup", file)
        assert done.returncode == 0 and os.stat(file).st_mode & 0o077 == 0, done
        after = contents(api.sql)
        if before == after:
            break
        os.unlink(file)  # something was written meanwhile
    wrote = {name: sorted(set(before[name].splitlines()) ^ set(after[name].splitlines()))[:2] for name in before
             if before[name] != after[name]}
    assert not wrote, f"something writes all the time: {wrote}"
    here = os.environ["HOLDFAST_TEST_CLUSTER"]
    os.environ["HOLDFAST_TEST_CLUSTER"] = os.path.join(folder, "pg")
    try:
        database.cluster("start")
        restore = lambda: subprocess.run([os.path.join(database.ROOT, "deploy", "restore.sh"), file], capture_output=True,
                                         text=True, env={**environment, "PGHOST": database.cluster("socket"), "PGUSER": "postgres"})
        done = restore()
        assert done.returncode == 0, done
        after = contents(api.sql)
        assert before.keys() == after.keys() and len(before) > 10
        for name in before:
            lost = set(before[name].splitlines()) ^ set(after[name].splitlines())
            assert before[name] == after[name], f"{name} is not the same: {sorted(lost)[:6]}"
        assert int(api.sql("select count(*) from holdfast.patients")) > 3
        again = restore()
        assert again.returncode != 0 and "rename" in again.stderr, again
        # It can be served at once, to the same tokens, with the same bytes.
        app = f"host={database.cluster('socket')} dbname=holdfast_http user=holdfast_app"
        daemon = Daemon(api.program, env={"HOLDFAST_DATABASE": app})
        for path in ("/v1/patients", "/v1/sites", "/v1/visits"):
            token = api.clinic_a.tokens["clinician"]
            restored, original = daemon.request("GET", path, token=token), api.request("GET", path, token=token)
            assert restored[0] == 200 and restored[2] == original[2], path
        assert daemon.request("GET", "/readyz")[0] == 200
        assert daemon.stop() == 0, daemon.log()[-2000:]
    finally:
        database.cluster("stop")
        os.environ["HOLDFAST_TEST_CLUSTER"] = here
        shutil.rmtree(folder, ignore_errors=True)


MIGRATIONS = sorted(glob.glob(os.path.join(database.ROOT, "migrations", "[0-9]*.sql")))
COLUMNS = """select string_agg(quote_ident(attname), ',' order by attnum) from pg_attribute
    where attrelid = 'holdfast.{}'::regclass and attnum > 0 and not attisdropped and attgenerated = ''"""


def psql(name, sql, input=None, user="postgres"):
    done = subprocess.run(["psql", "-X", "-q", "-t", "-A", "-v", "ON_ERROR_STOP=1", "-h", database.cluster("socket"), "-U", user,
                           "-d", name, *(["-c", sql] if sql else [])], input=input, capture_output=True, text=True)
    assert done.returncode == 0, (sql, done.stderr)
    return done.stdout


def old_schema(name, files):
    """A database as a program with these migrations left it, filled with what the tables of today hold of it."""
    owner, app = database.create(name)
    psql(name, None, "create schema holdfast; create table holdfast.schema_migrations (name text primary key, "
         "sha256 text not null, applied_at timestamptz not null default now());", "holdfast_owner")
    for file in files:
        text = open(file).read()
        psql(name, None, f"begin;\n{text}\ncommit;", "holdfast_owner")
        key, digest = os.path.basename(file)[:-4], hashlib.sha256(text.encode()).hexdigest()
        psql(name, f"insert into holdfast.schema_migrations (name, sha256) values ('{key}', '{digest}')", user="holdfast_owner")
    return owner, app


# Tables that a later migration drops: what they held, told by those that stay.
DROPPED = {"audit_patients": "select distinct clinic_id, unnest(patients) as patient, seq from holdfast.audit"}


def test_every_earlier_schema_is_brought_up_with_its_data(api):
    """Databases of every state that a release may have had, with the rows of the demo clinic in them: after migrate every
    row is still there with every value, and the schema is the one of a fresh database."""
    if api.valgrind:
        return
    assert api.call("seed-demo").returncode == 0 and len(MIGRATIONS) >= 2
    name, guards = "holdfast_earlier", lambda name: [line for line in psql(name, CATALOGUE).splitlines()
                                                     if not line.startswith(("database", "setting"))]
    for count in range(1, len(MIGRATIONS)):
        owner, app = old_schema(name, MIGRATIONS[:count])
        tables = [t for t in psql(name, TABLES).split() if t != "schema_migrations"]
        columns = {t: psql(name, COLUMNS.format(t)).strip() for t in tables}
        take = lambda t, of: psql(of, f"copy ({DROPPED.get(t) or f'select {columns[t]} from holdfast.{t}'} order by 1, 2, 3) to stdout")
        rows = 0
        for table in tables:
            text = take(table, "holdfast_http")
            rows += len(text.splitlines())
            psql(name, None, f"set session_replication_role = replica; copy holdfast.{table} ({columns[table]}) from stdin;\n{text}\\.\n")
        before = {t: take(t, name) for t in tables}
        assert rows > 10 and all(before["clinics"].splitlines())
        done = api.call("migrate", env={"HOLDFAST_DATABASE_OWNER": owner})
        assert done.returncode == 0, done
        assert done.stdout.count(b"applied") == len(MIGRATIONS) - count, done.stdout
        for table in tables:
            if table not in DROPPED and table != "sites":  # their published figures are refreshed, and every clinic has all of them
                assert before[table] == take(table, name), f"{table} after {count} of {len(MIGRATIONS)}"
        assert guards(name) == guards("holdfast_http")
        assert api.call("check", env={"HOLDFAST_DATABASE": app}).returncode == 0


GUARDS = [
    ("alter table holdfast.patients no force row level security", "alter table holdfast.patients force row level security",
     b"patients: row security is not enabled and forced"),
    ("alter table holdfast.visits disable row level security", "alter table holdfast.visits enable row level security",
     b"visits: row security is not enabled and forced"),
    ("alter policy tenant on holdfast.screws to holdfast_owner", "alter policy tenant on holdfast.screws to public",
     b"screws: no policy that ties it to the clinic"),
    ("create policy everything on holdfast.cases using (true)", "drop policy everything on holdfast.cases",
     b"cases: policy everything lets the serving role past its clinic"),
    # An owner's rights go with the ownership: the serving role gets its own back.
    ("alter table holdfast.sites owner to holdfast_app",
     "alter table holdfast.sites owner to holdfast_owner; grant select, insert, update on holdfast.sites to holdfast_app",
     b"sites: owned by the serving role"),
    ("grant truncate on holdfast.patients to holdfast_app", "revoke truncate on holdfast.patients from holdfast_app",
     b"may truncate"),
    ("alter role holdfast_app createrole", "alter role holdfast_app nocreaterole", b"more than a role that serves"),
    ("alter role holdfast_app bypassrls", "alter role holdfast_app nobypassrls", b"more than a role that serves"),
    ("grant create on schema holdfast to holdfast_app", "revoke create on schema holdfast from holdfast_app", b"may create"),
    # Revoking a whole table takes the rights on single columns along.
    ("grant select on holdfast.tokens to holdfast_app",
     "revoke select on holdfast.tokens from holdfast_app; grant select (clinic_id, id, role, label, created_at, expires_at, "
     "revoked_at, last_used_at) on holdfast.tokens to holdfast_app", b"reads tokens"),
]


def test_check_sees_what_would_let_clinics_see_each_other(api):
    assert api.call("check").returncode == 0
    for harm, mend, word in GUARDS:
        api.sql(harm)
        try:
            done = api.call("check")
        finally:
            api.sql(mend)
        assert done.returncode == 1 and word in done.stderr, (harm, done)
    done = api.call("check")
    assert done.returncode == 0, done.stderr
