"""What operators watch: numbers, log lines, the check before serving."""
import json
import re

from chart import Chart
from installation import Daemon

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


def test_metrics_by_route_and_class(api):
    chart = Chart(api)
    daemon = api.daemon
    patient = chart.make("/v1/patients", {"chart_number": "counted"})
    before = metrics(daemon)
    for _ in range(3):
        assert daemon.request("GET", f"/v1/patients/{patient['id']}", token=chart.token)[0] == 200
    for _ in range(2):
        assert daemon.request("GET", "/v1/patients/01890a5d-ac96-774b-bcce-b302099a8057", token=chart.token)[0] == 404
    assert daemon.request("PATCH", f"/v1/patients/{patient['id']}", {}, chart.token)[0] == 428
    assert daemon.request("GET", "/v1/patients?limit=1", token=chart.token)[0] == 200
    assert daemon.request("GET", "/wp-login.php?user=x")[0] == 404
    after = metrics(daemon)
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
    before = metrics(daemon)
    assert before["holdfast_workers"][None] == 1 and before["holdfast_workers_busy"][None] == 0
    assert before["holdfast_database_connects_total"][None] == 1
    assert before["holdfast_database_lost_total"][None] == 0
    api.sql("select pg_terminate_backend(pid) from pg_stat_activity where usename = 'holdfast_app'")
    assert daemon.request("GET", "/v1/patients", token=token)[0] == 200
    after = metrics(daemon)
    assert after["holdfast_database_lost_total"][None] == 1
    assert after["holdfast_database_connects_total"][None] == 2
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
