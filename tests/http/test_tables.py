"""Lists as tables and lines, whole or page by page."""
import csv
import io
import itertools
import json

from chart import Chart, body_of, expect, pointers

NUMBERS = itertools.count(1)


def table(answer, separator=","):
    assert answer[0] == 200 and answer[1]["Content-Type"].startswith("text/csv"), answer[:2]
    return list(csv.DictReader(io.StringIO(answer[2].decode(), newline=""), delimiter=separator))


def people(api, count, chart=None):
    chart, mark = chart or Chart(api), f"list{next(NUMBERS)}"
    text = "chart_number,family_name\n" + "".join(f"{mark}-{i:05},{mark}\n" for i in range(count))
    answer = api.daemon.request("POST", "/v1/patients/import", text.encode(), chart.token, {"Content-Type": "text/csv"})
    assert expect(answer, 200)["created"] == count
    return mark


def test_the_same_rows_as_in_json(api):
    chart = Chart(api)
    mark = f"list{next(NUMBERS)}"
    chart.make("/v1/patients", {"chart_number": f"{mark}-1", "family_name": mark, "given_name": "=cmd|' /C calc'!A0", "cigarettes_per_day": 2.5,
                                "birth_date": "1990-05-17", "identifiers": [{"system": "urn:x", "value": "a,\"b\""}], "note": "one\ntwo"})
    chart.make("/v1/patients", {"chart_number": f"{mark}-2", "family_name": mark})
    items = body_of(chart.get(f"/v1/patients?family_name={mark}"))["items"]
    answer = chart.get(f"/v1/patients?family_name={mark}", Accept="text/csv")
    assert answer[2].startswith(b"id,version,chart_number,") and answer[2].count(b"\r\n") >= 3
    assert answer[1]["Content-Disposition"] == 'attachment; filename="patients.csv"' and "Accept" in answer[1]["Vary"]
    rows = table(answer)
    assert len(rows) == 2
    for row, item in zip(rows, items):
        for name, text in row.items():
            value = item.get(name)
            if name == "given_name" and value:
                assert text == "'" + value, "a spreadsheet takes it for a text"
            elif isinstance(value, (list, dict)):
                assert json.loads(text) == value
            else:
                assert text == ("" if value is None else str(value)), (name, text, value)
    lines = chart.get(f"/v1/patients.ndjson?family_name={mark}")
    assert lines[1]["Content-Type"] == "application/x-ndjson"
    assert [json.loads(line) for line in lines[2].splitlines()] == items
    semicolons = table(chart.get(f"/v1/patients.csv?family_name={mark}&separator=semicolon"), ";")
    assert semicolons == rows
    # What was taken out can be put in again: the rows are there, and say the same.
    back = api.request("POST", "/v1/patients/import?on_existing=update", answer[2], chart.token, {"Content-Type": "text/csv"})
    assert expect(back, 200)["updated"] == 2
    again = body_of(chart.get(f"/v1/patients?family_name={mark}"))["items"]
    kept = [{n: v for n, v in item.items() if n not in ("version", "updated_at")} for item in items]
    assert [{n: v for n, v in item.items() if n not in ("version", "updated_at")} for item in again] == kept


def test_a_whole_list_of_many_pages(api):
    chart = Chart(api, api.clinic_b)
    mark = people(api, 1003, chart)
    answer = chart.get(f"/v1/patients.csv?family_name={mark}&sort=chart_number")
    assert "Link" not in answer[1] and answer[1]["Transfer-Encoding"] == "chunked"
    assert [row["chart_number"] for row in table(answer)] == [f"{mark}-{i:05}" for i in range(1003)]
    lines = chart.get(f"/v1/patients.ndjson?family_name={mark}&sort=-chart_number")[2].splitlines()
    assert [json.loads(line)["chart_number"] for line in lines] == [f"{mark}-{i:05}" for i in reversed(range(1003))]


def test_every_page_of_it_is_in_the_audit(api):
    chart = Chart(api, api.clinic_b)
    mark = people(api, 450, chart)
    lines = chart.get(f"/v1/patients.ndjson?family_name={mark}")
    request = lines[1]["X-Request-Id"]
    trail = api.sql("select action, cardinality(records) from (select * from holdfast.audit_unsealed union all select clinic_id, at, "
                    "token, role, action, resource, records, patients, request, outcome from holdfast.audit) a "
                    f"where request = '{request}' order by 2 desc")
    assert trail.split("\n") == ["list|200", "list|200", "list|50"], trail


def test_page_by_page(api):
    chart = Chart(api, api.clinic_b)
    mark = people(api, 25, chart)
    path, seen = f"/v1/patients.csv?family_name={mark}&limit=10&separator=tab", []
    while path:
        answer = chart.get(path)
        rows = table(answer, "\t")
        seen += [row["chart_number"] for row in rows]
        path = answer[1]["Link"] and answer[1]["Link"].split(">")[0][1:]
    assert seen == [f"{mark}-{i:05}" for i in range(25)]


def test_refusals(api):
    chart = Chart(api)
    assert pointers(chart.get("/v1/patients.csv?total=true&separator=x&limit=0"), 400) == ["?limit", "?separator", "?total"]
    assert api.daemon.request("GET", "/v1/patients.svg", token=chart.token)[0] == 404
    assert chart.get("/v1/patients", Accept="image/png")[0] == 406
    assert chart.get("/v1/patients", Accept="application/json;q=0.1, text/csv;q=0.9")[1]["Content-Type"].startswith("text/csv")
    assert chart.get("/v1/patients")[1]["Content-Type"] == "application/json"
    head = api.request("HEAD", "/v1/patients.csv", token=chart.token)
    assert head[0] == 200 and head[2] == b"" and head[1]["Content-Type"].startswith("text/csv")


def test_a_list_that_cannot_go_on_is_seen_to_be_cut(api):
    """The token ends while its rows are being sent: what has come must not look like all."""
    if api.valgrind:  # the same ways as a small one's, at a hundred times the cost
        return
    import socket
    import threading
    import time
    chart = Chart(api, api.clinic_b)
    mark = people(api, 3000, chart)
    # More than the kernel takes in advance.
    api.sql(f"update holdfast.patients set note = repeat('x', 3900) where family_name = '{mark}'")
    token = expect(api.request("POST", "/v1/tokens", {"role": "dashboard", "label": "short"}, api.clinic_b.tokens["admin"]), 201)
    reader = socket.create_connection(("127.0.0.1", api.port))
    reader.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 65536)
    reader.sendall(f"GET /v1/patients.ndjson?family_name={mark} HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer {token['token']}\r\nConnection: close\r\n\r\n".encode())
    got = reader.recv(1000)
    assert got.startswith(b"HTTP/1.1 200")
    time.sleep(0.3)
    expect(api.request("POST", f"/v1/tokens/{token['id']}/revoke", None, api.clinic_b.tokens["admin"]), 200)
    reader.settimeout(20)
    try:
        while piece := reader.recv(65536):
            got += piece
    except ConnectionResetError:
        pass
    assert not got.endswith(b"0\r\n\r\n"), "ended as if it were whole"
    assert got.count(b"\n{") < 3000
