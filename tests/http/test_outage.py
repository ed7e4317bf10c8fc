"""The database goes away and comes back: the daemon says so, recovers by itself, and nothing is half-written."""
import json
import threading
import time

from installation import Daemon

PATIENCE_S = 15.0


def patient(chart_number):
    return {"chart_number": chart_number}


def is_outage(answer):
    status, headers, body = answer
    assert status == 503, (status, body)
    assert headers["Content-Type"].startswith("application/problem+json")
    assert int(headers["Retry-After"]) >= 1
    assert json.loads(body)["status"] == 503
    return True


def eventually(check, what):
    deadline = time.monotonic() + PATIENCE_S
    while not check():
        assert time.monotonic() < deadline, f"{what}: not within {PATIENCE_S} s"
        time.sleep(0.1)


def test_database_stopped_is_503_and_recovers(api):
    token = api.clinic_a.tokens["clinician"]
    assert api.request("GET", "/v1/patients", token=token)[0] == 200
    api.stop_database()
    try:
        begin = time.monotonic()
        is_outage(api.request("GET", "/v1/patients", token=token))
        is_outage(api.request("POST", "/v1/patients", patient("outage-1"), token))
        is_outage(api.request("GET", "/readyz"))
        assert api.request("GET", "/livez")[0] == 200
        assert time.monotonic() - begin < PATIENCE_S, "an outage must be told at once, not waited out"
    finally:
        api.start_database()
    eventually(lambda: api.request("GET", "/v1/patients", token=token)[0] == 200, "recovery")
    eventually(lambda: api.request("GET", "/readyz")[0] == 200, "readiness")
    assert api.sql("select count(*) from holdfast.patients where chart_number = 'outage-1'") == "0"


def test_what_needs_no_database_works_without_it(api):
    api.stop_database()
    try:
        for path in ["/livez", "/v1/evidence", "/v1/openapi.yaml"]:
            assert api.request("GET", path)[0] == 200, path
        assert api.request("GET", "/v1/nowhere")[0] in (401, 404)
    finally:
        api.start_database()
    eventually(lambda: api.request("GET", "/readyz")[0] == 200, "readiness")


def write_until(api, stop, token, number, stored, refused):
    count = 0
    while not stop.is_set():
        count += 1
        chart_number = f"outage-{number}-{count}"
        try:
            status = api.daemon.request("POST", "/v1/patients", patient(chart_number), token)[0]
        except OSError as dropped:
            status = dropped
        if status == 201:
            stored.append(chart_number)
        else:
            refused.append((chart_number, status))
            time.sleep(0.05)


def test_restart_under_writes_keeps_what_was_acknowledged(api):
    """Every 201 is in the table afterwards; whatever was not acknowledged was refused with 503 and nothing else."""
    token = api.clinic_a.tokens["clinician"]
    stop, stored, refused = threading.Event(), [], []
    writers = [threading.Thread(target=write_until, args=(api, stop, token, n, stored, refused)) for n in range(4)]
    for writer in writers:
        writer.start()
    eventually(lambda: len(stored) >= 20, "first writes")
    for _ in range(2):
        api.restart_database()
        before = len(stored)
        eventually(lambda: len(stored) > before + 10, "writes after the restart")
    stop.set()
    for writer in writers:
        writer.join()
    kept = set(api.sql("select chart_number from holdfast.patients where chart_number like 'outage-%-%'").split())
    assert not set(stored) - kept, f"acknowledged and lost: {sorted(set(stored) - kept)}"
    in_doubt = kept - set(stored)
    assert in_doubt <= {chart_number for chart_number, _ in refused}
    assert {status for _, status in refused} <= {503}, refused[:10]


def test_daemon_started_before_its_database(api):
    token = api.clinic_a.tokens["clinician"]
    api.stop_database()
    daemon = None
    try:
        daemon = Daemon(api.program)
        is_outage(daemon.request("GET", "/v1/patients", token=token))
        is_outage(daemon.request("GET", "/readyz"))
    finally:
        api.start_database()
    eventually(lambda: daemon.request("GET", "/v1/patients", token=token)[0] == 200, "recovery")
    assert daemon.stop() == 0, daemon.log()[-2000:]
    eventually(lambda: api.request("GET", "/readyz")[0] == 200, "readiness of the first daemon")
