"""A database that refuses, waits or is slow, and a daemon that is told to stop: 503 with Retry-After, nothing in doubt is
called durable, no worker is lost, all of it comes back by itself."""
import http.client
import json
import signal
import socket
import threading
import time
import uuid

from chart import Chart, expect, pointers
from installation import Daemon
from raw import Session, dial, read_answer
from test_outage import PATIENCE_S, eventually, is_outage

STANDBY = "a_standby_that_is_not_there"


def settings(api, *changes):
    for change in changes:
        api.sql(f"alter system {change}")
    api.sql("select pg_reload_conf()")


def drop_connections(api):
    """Returns when they are gone."""
    api.sql("select pg_terminate_backend(pid, 5000) from pg_stat_activity where usename = 'holdfast_app'")


def metric(daemon, name):
    text = daemon.request("GET", "/metrics")[2].decode()
    return float(next(line.split()[1] for line in text.splitlines() if line.startswith(name + " ")))


def in_background(function, *arguments):
    found = []
    thread = threading.Thread(target=lambda: found.append(function(*arguments)))
    thread.start()
    return thread, found


def test_read_only_database(api):
    """What a demoted primary is: writes are refused there until a primary is found again (SQLSTATE 25006)."""
    chart = Chart(api)
    before = api.sql("select count(*) from holdfast.patients")
    settings(api, "set default_transaction_read_only = on")
    try:
        eventually(lambda: api.sql("show default_transaction_read_only") == "on", "the setting")
        drop_connections(api)
        is_outage(chart.post("/v1/patients", {"chart_number": "read only"}))
        assert api.request("GET", "/livez")[0] == 200
    finally:
        settings(api, "reset default_transaction_read_only")
    eventually(lambda: chart.post("/v1/patients", {"chart_number": "writable again"})[0] in (201, 409), "recovery")
    assert api.sql("select count(*) from holdfast.patients") == str(int(before) + 1)
    eventually(lambda: api.request("GET", "/readyz")[0] == 200, "readiness")


def test_no_connection_left(api):
    """SQLSTATE 53300: every worker is turned away, later every worker is let in."""
    chart = Chart(api)
    api.sql("alter role holdfast_app connection limit 0")
    try:
        drop_connections(api)
        begin = time.monotonic()
        for _ in range(8):
            is_outage(chart.get("/v1/patients"))
        assert time.monotonic() - begin < PATIENCE_S
        is_outage(api.request("GET", "/readyz"))
    finally:
        api.sql("alter role holdfast_app connection limit -1")
    eventually(lambda: all(chart.get("/v1/patients")[0] == 200 for _ in range(8)), "recovery of every worker")


def test_a_locked_row_costs_its_time_limit_and_nothing_else(api):
    """lock_timeout is 2 s: who waits for a lock is answered 503 then, others are served meanwhile."""
    chart = Chart(api)
    patient = chart.make("/v1/patients", {"chart_number": "locked"})
    path = f"/v1/patients/{patient['id']}"
    etag = chart.get(path)[1]["ETag"]
    session = Session()
    session.do(f"begin; select 1 from holdfast.patients where id = '{patient['id']}' for update;")
    begin = time.monotonic()
    change = lambda: api.daemon.request("PATCH", path, {"family_name": "x"}, chart.token, {"If-Match": etag, "X-Request-Id": "locked-row"})
    waiting, found = in_background(change)
    others = 0
    while waiting.is_alive():
        assert chart.get("/v1/patients?limit=1")[0] == 200
        others += 1
    took = time.monotonic() - begin
    session.end()
    is_outage(found[0])
    assert 1.8 < took < 6.0, f"{took:.1f} s"
    assert others > 20, "nobody else was served"
    lines = [json.loads(line) for line in api.daemon.log().splitlines() if '"locked-row"' in line]
    assert {line["request_id"] for line in lines} == {"locked-row"} and len(lines) >= 2, lines
    assert any(line.get("sqlstate") == "55P03" for line in lines), lines
    expect(change(), 200)


def test_a_statement_that_does_not_end_is_ended(api):
    """A whole table locked away for longer than the limits: every worker is free again, and so is the database."""
    chart = Chart(api)
    session = Session()
    session.do("begin; lock table holdfast.patients in access exclusive mode;")
    waits = [in_background(chart.get, "/v1/patients") for _ in range(6)]
    for thread, _ in waits:
        thread.join(20)
        assert not thread.is_alive(), "a worker is stuck"
    session.end()
    for _, found in waits:
        is_outage(found[0])
    assert all(chart.get("/v1/patients")[0] == 200 for _ in range(8))
    eventually(lambda: metric(api.daemon, "holdfast_workers_busy") == 0, "idle workers")


def sync_waits(api):
    """Of requests; what seals, judges and delivers in the background waits by itself."""
    return int(api.sql("select count(*) from pg_stat_activity where wait_event = 'SyncRep' and usename = 'holdfast_app' "
                       "and query !~ 'seal_audit|seal_events|standing|judge|deliver|trim_events'"))


def test_a_commit_that_no_standby_confirms(api):
    """statement_timeout does not end the wait for a standby, so the daemon has a limit of its own (8 s). What was
    committed here alone is not acknowledged; a retry with the same key finds it and is told 201."""
    chart = Chart(api)
    keys = [{"Idempotency-Key": f"no-standby-{i}"} for i in range(3)]
    post = lambda i: api.daemon.request("POST", "/v1/patients", {"chart_number": f"no standby {i}"}, chart.token, keys[i])
    late = metric(api.daemon, "holdfast_database_late_total")
    settings(api, f"set synchronous_standby_names = '{STANDBY}'")
    api.sql("alter role holdfast_app set synchronous_commit = on")  # goes before what the server was started with
    try:
        eventually(lambda: api.sql("show synchronous_standby_names") == STANDBY, "the setting")
        drop_connections(api)
        begin = time.monotonic()
        waits = [in_background(post, i) for i in range(2)]
        eventually(lambda: sync_waits(api) == 2, "the waits for the standby")
        for thread, found in waits:
            thread.join(25)
            assert not thread.is_alive(), "a worker is stuck"
            is_outage(found[0])
        assert time.monotonic() - begin > 5, "refused before anything was waited for"
        assert metric(api.daemon, "holdfast_database_late_total") >= late + 2
        # Untold, the backends would wait on, each holding one of the server's connections.
        eventually(lambda: sync_waits(api) == 0, "the end of the waits in the database")
        # An administrator who cancels the wait makes the server say that it is committed; only a notice tells the rest.
        waiting, found = in_background(post, 2)
        eventually(lambda: sync_waits(api) == 1, "the third wait")
        api.sql("select pg_cancel_backend(pid) from pg_stat_activity where wait_event = 'SyncRep'")
        waiting.join(25)
        is_outage(found[0])
        # A trace that only this server has is no trace yet.
        waiting, found = in_background(chart.get, "/v1/patients?limit=1")
        eventually(lambda: sync_waits(api) == 1, "the wait of the audit")
        api.sql("select pg_cancel_backend(pid) from pg_stat_activity where wait_event = 'SyncRep'")
        waiting.join(25)
        is_outage(found[0])
    finally:
        settings(api, "reset synchronous_standby_names")
        api.sql("alter role holdfast_app reset synchronous_commit")
    eventually(lambda: api.sql("show synchronous_standby_names") == "", "the setting")
    for i in range(3):
        expect(post(i), 201)
        assert api.sql(f"select count(*) from holdfast.patients where chart_number = 'no standby {i}'") == "1"


def sent_to_audit(daemon, count):
    return eventually(lambda: metric(daemon, "holdfast_replies_waiting_for_audit") == count, f"{count} replies that wait")


def test_nothing_read_is_told_that_the_audit_cannot_hold(api):
    """A row, a tag, a list and a head without a trace would be a leak: 503, and no word of what was read."""
    chart = Chart(api)
    patient = chart.make("/v1/patients", {"chart_number": "untold", "family_name": "Unheard"})
    path = f"/v1/patients/{patient['id']}"
    arguments = ", ".join(["text[]"] * 7)
    api.sql(f"revoke execute on function holdfast.audit_reads({arguments}) from holdfast_app")
    try:
        for asked, headers in [(path, {}), (path, {"If-None-Match": '"1"'}), ("/v1/patients?limit=200", {}),
                               (f"/v1/patients/{uuid.uuid4()}", {}), ("/v1/outcomes/survival", {})]:
            answer = api.daemon.request("GET", asked, None, chart.token, headers)
            is_outage(answer)
            assert b"Unheard" not in answer[2] and answer[1]["ETag"] is None and answer[1]["Link"] is None
        status, headers, _ = api.daemon.request("HEAD", path, None, chart.token)
        assert status == 503 and headers["ETag"] is None and int(headers["Retry-After"]) >= 1
        assert chart.get("/v1/sites?limit=1")[0] == 200, "what is not about patients is told"
        expect(chart.post("/v1/patients", {"chart_number": "written all the same"}), 201)
    finally:
        api.sql(f"grant execute on function holdfast.audit_reads({arguments}) to holdfast_app")
    assert expect(chart.get(path), 200)["family_name"] == "Unheard"


def test_reads_that_wait_for_the_audit_go_together(api):
    """While the table is locked away no reply leaves and every worker is free; then the rest share one transaction, whose
    time they all have. A signal meanwhile: every reply still leaves, and its row is there."""
    chart = Chart(api)
    chart.patient()
    daemon = Daemon(api.program, env={"HOLDFAST_WORKERS": "2"})
    names = [f"together-{uuid.uuid4().hex[:8]}-{i}" for i in range(9)]
    ask = lambda name: daemon.request("GET", "/v1/patients?limit=1", None, chart.token, {"X-Request-Id": name})
    expect(ask("first"), 200)
    session = Session()
    session.do("begin; lock table holdfast.audit_unsealed in access exclusive mode;")
    waits = [in_background(ask, names[0])]
    sent_to_audit(daemon, 1)
    waits += [in_background(ask, name) for name in names[1:]]
    sent_to_audit(daemon, 9)
    assert metric(daemon, "holdfast_workers_busy") == 0 and all(thread.is_alive() for thread, _ in waits)
    daemon.process.send_signal(signal.SIGTERM)
    time.sleep(0.2)
    session.end()
    for thread, found in waits:
        thread.join(20)
        expect(found[0], 200)
    assert daemon.process.wait(20) == 0, daemon.log()[-2000:]
    asked = ", ".join(f"'{name}'" for name in names)
    told = api.sql(f"select count(*), count(distinct at) from (select at, request from holdfast.audit union all select at, request"
                   f" from holdfast.audit_unsealed) a where request in ({asked})")
    assert told == "9|2", told


def test_no_reply_outruns_its_trace(api):
    """kill -9 at the moment when an answer is there."""
    chart = Chart(api)
    chart.patient()
    for turn in range(3):
        daemon, told = Daemon(api.program), []

        def ask(number):
            name = f"outrun-{turn}-{number}-{uuid.uuid4().hex[:8]}"
            for count in range(1000):
                try:
                    if daemon.request("GET", "/v1/patients?limit=1", None, chart.token, {"X-Request-Id": f"{name}-{count}"})[0] == 200:
                        told.append(f"{name}-{count}")
                except (OSError, http.client.HTTPException):
                    return

        askers = [threading.Thread(target=ask, args=(number,)) for number in range(8)]
        for asker in askers:
            asker.start()
        eventually(lambda: len(told) > 20 * turn, "answers")
        daemon.process.kill()
        daemon.process.wait()
        for asker in askers:
            asker.join(20)
        kept = set(api.sql(f"select request from holdfast.audit where request like 'outrun-{turn}-%' union all"
                           f" select request from holdfast.audit_unsealed where request like 'outrun-{turn}-%'").split())
        assert told and not set(told) - kept, f"{len(set(told) - kept)} of {len(told)} have no row"


def test_killed_backends_are_replaced_at_once(api):
    chart = Chart(api)
    for _ in range(5):
        drop_connections(api)
        assert [chart.get("/v1/patients")[0] for _ in range(6)] == [200] * 6


def test_sigterm_finishes_what_it_has_begun(api):
    """A request in the database, one half sent and an idle connection when the signal comes."""
    chart = Chart(api)
    patient = chart.make("/v1/patients", {"chart_number": "drained"})
    etag = chart.get(f"/v1/patients/{patient['id']}")[1]["ETag"]
    daemon = Daemon(api.program)
    session = Session()
    session.do(f"begin; select 1 from holdfast.patients where id = '{patient['id']}' for update;")
    waiting, found = in_background(daemon.request, "PATCH", f"/v1/patients/{patient['id']}", {"family_name": "Drained"},
                                   chart.token, {"If-Match": etag})
    eventually(lambda: api.sql("select count(*) from pg_locks where not granted") != "0", "the wait for the lock")
    head = f"Host: x\r\nAuthorization: Bearer {chart.token}\r\n"
    body = json.dumps({"chart_number": "half sent"})
    with dial(daemon) as half, dial(daemon) as idle:
        idle.sendall(b"GET /livez HTTP/1.1\r\nHost: x\r\n\r\n")
        idle_file = idle.makefile("rb")
        assert read_answer(idle_file)[0] == 200
        half.sendall(f"POST /v1/patients HTTP/1.1\r\n{head}Content-Type: application/json\r\n"
                     f"Content-Length: {len(body)}\r\n\r\n{body[:5]}".encode())
        time.sleep(0.2)
        daemon.process.send_signal(signal.SIGTERM)

        def turned_away():
            try:
                dial(daemon).close()
                return False
            except OSError:
                return True

        eventually(turned_away, "the end of new connections")
        half.sendall(body[5:].encode())
        status, headers, _ = read_answer(half.makefile("rb"))
        assert status == 201 and headers["connection"].lower() == "close"
        assert waiting.is_alive() and daemon.alive(), "it did not wait for its request"
        session.end()
        waiting.join(10)
        status, headers, answer = found[0]
        assert status == 200 and json.loads(answer)["family_name"] == "Drained" and headers["Connection"].lower() == "close"
        assert daemon.process.wait(10) == 0, daemon.log()[-2000:]
        try:
            assert idle_file.read() == b""
        except ConnectionError:
            pass
    assert api.sql("select count(*) from holdfast.patients where chart_number = 'half sent'") == "1"


def test_a_second_signal_hurries(api):
    """Somebody who sends half a request cannot keep the daemon from ending."""
    daemon = Daemon(api.program, env={"HOLDFAST_DRAIN_S": "600", "HOLDFAST_REQUEST_DEADLINE_S": "600"})
    with socket.create_connection(("127.0.0.1", daemon.port)) as half:
        half.sendall(b"POST /v1/patients HTTP/1.1\r\nHost: x\r\nContent-Length: 50\r\n\r\n{")
        time.sleep(0.2)
        daemon.process.send_signal(signal.SIGTERM)
        time.sleep(0.5)
        assert daemon.alive()
        daemon.process.send_signal(signal.SIGTERM)
        assert daemon.process.wait(20) == 0, daemon.log()[-2000:]


def test_what_the_tables_refuse_is_said_without_their_words(api):
    """Checks of the tables are the last line behind the service's own. A column that is named by the constraint is blamed; what
    fails otherwise is a fault of the service, and no text of the database reaches the client."""
    chart = Chart(api)
    post = lambda note: chart.post("/v1/patients", {"chart_number": f"tables {note}", "note": note})
    api.sql("alter table holdfast.patients add constraint patients_note_check check (note <> 'refused'); "
            "create function holdfast.break_it() returns trigger language plpgsql as "
            "$$ begin raise exception 'inner words %', new.note; end $$; "
            "create trigger break_it before insert on holdfast.patients for each row when (new.note = 'broken') "
            "execute function holdfast.break_it()")
    try:
        assert pointers(post("refused")) == ["/note"]
        status, _, text = post("broken")
        assert status == 500 and b"inner" not in text and b"broken" not in text, text
        assert "statement failed" in api.daemon.log() and "inner words" not in api.daemon.log()
        assert post("taken")[0] == 201
    finally:
        api.sql("drop trigger break_it on holdfast.patients; drop function holdfast.break_it; "
                "alter table holdfast.patients drop constraint patients_note_check")


def test_who_waited_too_long_for_a_worker_is_told(api):
    """A request that waited longer than its deadline is not run: its client may have given up."""
    chart = Chart(api)
    one = chart.patient()["id"]
    tag = chart.get(f"/v1/patients/{one}")[1]["ETag"]
    daemon = Daemon(api.program, env={"HOLDFAST_WORKERS": "1", "HOLDFAST_REQUEST_DEADLINE_S": "1"})
    session = Session()
    session.do(f"begin; select 1 from holdfast.patients where id = '{one}' for update;")
    ask = lambda method, path, *more: in_background(lambda: daemon.request(method, path, *more))
    slow, changed = ask("PATCH", f"/v1/patients/{one}", {"note": "slow"}, chart.token, {"If-Match": tag})
    eventually(lambda: metric(daemon, "holdfast_workers_busy") == 1, "the slow request")
    late, found = ask("POST", "/v1/patients", {"chart_number": "too late"}, chart.token)
    time.sleep(1.5)
    session.do("commit;")
    session.end()
    for thread in (slow, late):
        thread.join(20)
    assert changed[0][0] == 200, changed
    is_outage(found[0])
    assert b"waited too long" in found[0][2]
    assert api.sql("select count(*) from holdfast.patients where chart_number = 'too late'") == "0"
    assert daemon.stop() == 0, daemon.log()[-2000:]
