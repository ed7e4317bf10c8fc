"""The audit: every read and write of patients' data leaves a row; rows are sealed within a second; a chain that was
tampered with is found out, at the right row."""
import hashlib
import json
import re
import threading
import time
import uuid

from chart import Chart, body_of, expect, pointers
from installation import Clinic, Daemon

# Who may do what, as the contract says it: charts, catalogue, trail, administration, computing, nothing secret.
EVERYONE = {"clinician", "assistant", "dashboard", "integrator", "auditor", "admin"}
READERS, WRITERS = EVERYONE - {"auditor"}, EVERYONE - {"auditor", "dashboard"}
POLICY = [  # the first row that matches
    ("GET", r"/v1/(audit|erasures)", {"auditor", "admin"}),
    ("GET", r"/v1/(tokens|webhooks(/{id})?|deliveries|patients/{id}/everything)", {"admin"}),
    ("POST", r"/v1/(tokens.*|webhooks.*|deliveries.*|patients/{id}/(pseudonymise|erase))", {"admin"}),
    ("PATCH", r"/v1/webhooks/{id}", {"admin"}),
    ("GET", r"/v1/(sites|screw-models|plate-patterns)(/.*)?", EVERYONE),
    ("POST|PATCH", r"/v1/(sites|screw-models|plate-patterns)(/.*)?", {"clinician", "admin"}),
    ("POST", r"/v1/(mechanics|udi)/.*", EVERYONE),
    ("GET", r"/v1/(evidence|materials|openapi.*)(/.*)?|/livez|/readyz|/metrics|/problems.*", None),
    ("GET|POST", r"/(sign-in|sign-out|worklist|api|assets/.*)?", None),
    ("GET", r".*", READERS),
    ("POST|PATCH", r".*", WRITERS),
]


def fresh(api):
    return Clinic(api.program, f"Audit clinic {uuid.uuid4()}")


def as_role(clinic, role):
    return clinic.tokens[role]


def trail(api, clinic, query="", wait_for=lambda rows: True):
    """Sealed rows, oldest first. They are there within a second of the reply; the tests' machine may be slow."""
    deadline = time.monotonic() + 20
    while True:
        rows = expect(api.request("GET", f"/v1/audit?sort=seq&limit=200{query}", token=as_role(clinic, "auditor")), 200)["items"]
        rows = [row for row in rows if row["resource"] != "/v1/audit"]
        if wait_for(rows):
            return rows
        assert time.monotonic() < deadline, f"not in the audit: {rows}"
        time.sleep(0.1)


def request_of(answer_headers):
    return answer_headers["X-Request-Id"]


class Traced:
    """Requests under ids of our own, and the one row each leaves."""

    def __init__(self, api, clinic):
        self.api, self.clinic = api, clinic

    def ask(self, method, path, body=None, role="clinician", headers=None, token=None):
        name = str(uuid.uuid4())
        answer = self.api.request(method, path, body, token or as_role(self.clinic, role),
                                  {**(headers or {}), "X-Request-Id": name})
        return answer, name

    def row(self, name):
        rows = trail(self.api, self.clinic, f"&request_id={name}", wait_for=len)
        assert len(rows) == 1, rows
        return rows[0]


def test_every_kind_of_access_leaves_its_row(api):
    clinic = fresh(api)
    chart, traced = Chart(api, clinic), Traced(api, clinic)
    case, setup = chart.worn_case()
    visit, patient = chart.visit(case, setup), case["patient_id"]
    screw = body_of(chart.get("/v1/screws"))["items"][0]["id"]
    reads = [(f"/v1/patients/{patient}", "/v1/patients", patient), (f"/v1/cases/{case['id']}", "/v1/cases", case["id"]),
             (f"/v1/screws/{screw}", "/v1/screws", screw), (f"/v1/setups/{setup['id']}", "/v1/setups", setup["id"]),
             (f"/v1/visits/{visit['id']}", "/v1/visits", visit["id"]),
             (f"/v1/visits/{visit['id']}/force-system", "/v1/visits/{id}/force-system", visit["id"]),
             (f"/v1/visits/{visit['id']}/stability", "/v1/visits/{id}/stability", visit["id"]),
             (f"/v1/visits/{visit['id']}/mechanics-document", "/v1/visits/{id}/mechanics-document", visit["id"]),
             (f"/v1/setups/{setup['id']}/versions", "/v1/setups/{id}/versions", setup["id"]),
             (f"/v1/cases/{case['id']}/progress", "/v1/cases/{id}/progress", case["id"])]
    for path, resource, record in reads:
        answer, name = traced.ask("GET", path, role="dashboard")
        assert answer[0] == 200, (path, answer[2])
        row = traced.row(name)
        got = [row[k] for k in ("action", "resource", "record_ids", "patient_id", "patient_ids", "role", "outcome")]
        assert got == ["read", resource, [record], patient, [patient], "dashboard", "done"], (path, row)
    for path in ("patients", "cases", "screws", "setups", "visits"):
        answer, name = traced.ask("GET", f"/v1/{path}?limit=1&total=true")
        row, shown = traced.row(name), body_of(answer)["items"]
        assert (row["action"], row["resource"]) == ("list", f"/v1/{path}"), row
        assert row["record_ids"] == [item["id"] for item in shown] and len(shown) == 1, "what was shown, no row more"
        assert row["patient_ids"] == [patient] and row["patient_id"] == patient
    answer, name = traced.ask("POST", "/v1/patients", {"chart_number": "T-1", "family_name": "Neverinaudit"})
    row, made = traced.row(name), expect(answer, 201)
    assert (row["action"], row["record_ids"], row["patient_id"]) == ("create", [made["id"]], made["id"]), row
    for change, action in [({"note": "x"}, "change"), ({}, "read")]:
        tag = chart.get(f"/v1/patients/{made['id']}")[1]["ETag"]
        answer, name = traced.ask("PATCH", f"/v1/patients/{made['id']}", change, headers={"If-Match": tag})
        row = traced.row(name)
        assert answer[0] == 200 and (row["action"], row["patient_id"]) == (action, made["id"]), row
    answer, name = traced.ask("POST", "/v1/cases", {"patient_id": made["id"]})
    assert traced.row(name)["patient_id"] == made["id"]
    answer, name = traced.ask("HEAD", f"/v1/patients/{patient}")
    assert traced.row(name)["action"] == "read"
    answer, name = traced.ask("GET", f"/v1/patients/{patient}", headers={"If-None-Match": '"1"'})
    assert answer[0] == 304 and traced.row(name)["patient_id"] == patient
    assert "Neverinaudit" not in api.sql(f"select a from holdfast.audit a where clinic_id = '{clinic.id}'")


def test_a_replayed_reply_leaves_its_row(api):
    clinic = fresh(api)
    traced, headers = Traced(api, clinic), {"Idempotency-Key": str(uuid.uuid4())}
    first, first_name = traced.ask("POST", "/v1/patients", {"chart_number": "R-1"}, headers=headers)
    again, again_name = traced.ask("POST", "/v1/patients", {"chart_number": "R-1"}, headers=headers)
    assert first[0] == again[0] == 201 and first[2] == again[2]
    assert traced.row(first_name)["action"] == "create" and traced.row(again_name)["action"] == "replay"


def test_what_is_not_about_patients_leaves_none(api):
    clinic = fresh(api)
    traced = Traced(api, clinic)
    names = [traced.ask("GET", path)[1] for path in ("/v1/sites", "/v1/screw-models", "/v1/plate-patterns", "/livez")]
    _, last = traced.ask("GET", "/v1/patients")
    traced.row(last)
    assert not [row for row in trail(api, clinic) if row["request_id"] in names]


def test_refusals_leave_their_row(api):
    clinic, other = fresh(api), fresh(api)
    chart, traced = Chart(api, clinic), Traced(api, clinic)
    case = chart.case()
    answer, name = traced.ask("GET", f"/v1/cases/{case['id']}", role="auditor")
    row = traced.row(name)
    assert answer[0] == 403 and (row["outcome"], row["role"], row["patient_id"], row["record_ids"]) == (
        "forbidden", "auditor", case["patient_id"], [case["id"]]), row
    answer, name = traced.ask("PATCH", f"/v1/patients/{case['patient_id']}", {"note": "x"}, "dashboard", {"If-Match": '"1"'})
    assert answer[0] == 403 and traced.row(name)["action"] == "change"
    foreign = Chart(api, other).patient()["id"]
    for method, body in [("GET", None), ("PATCH", {"note": "x"})]:
        answer, name = traced.ask(method, f"/v1/patients/{foreign}", body, headers={"If-Match": '"1"'})
        row = traced.row(name)
        assert answer[0] == 404 and (row["outcome"], row["record_ids"], row["patient_ids"]) == ("not-found", [foreign], []), row
    token = api.program.token(clinic.id, "clinician", "to be revoked for the audit")
    listed = api.program.run("token", "list", clinic.id)
    token_id = next(line for line in listed.splitlines() if "to be revoked for the audit" in line).split("\t")[0]
    api.program.run("token", "revoke", token_id)
    answer, name = traced.ask("GET", f"/v1/patients/{case['patient_id']}", token=token)
    row = traced.row(name)
    assert answer[0] == 401 and (row["outcome"], row["token_id"], row["patient_id"]) == (
        "unauthenticated", token_id, case["patient_id"]), row


def test_the_trail_is_asked_by_patient_actor_and_time(api):
    clinic = fresh(api)
    chart = Chart(api, clinic)
    one, two = chart.patient()["id"], chart.patient()["id"]
    for _ in range(3):
        chart.get(f"/v1/patients/{one}")
    _, headers, _ = api.request("GET", "/v1/patients", token=as_role(clinic, "dashboard"))
    rows = trail(api, clinic, wait_for=lambda rows: len(rows) == 6)
    assert [row["seq"] for row in rows] == sorted(row["seq"] for row in rows)
    about = trail(api, clinic, f"&patient_id={one}")
    assert [r["action"] for r in about] == ["create", "read", "read", "read", "list"], "also a list that showed the patient"
    assert sorted(about[-1]["patient_ids"]) == sorted([one, two]) and "patient_id" not in about[-1]
    actor = rows[-1]["token_id"]
    assert [r["action"] for r in trail(api, clinic, f"&token_id={actor}")] == ["list"]
    middle = rows[2]["at"]
    assert [r["seq"] for r in trail(api, clinic, f"&at_to={middle}")] == [1, 2, 3]
    assert [r["seq"] for r in trail(api, clinic, f"&at_from={middle}")] == [3, 4, 5, 6]
    path, seen = "/v1/audit?limit=2&sort=seq&at_to=" + rows[-1]["at"], []
    while path:
        status, headers, body = api.request("GET", path, token=as_role(clinic, "admin"))
        assert status == 200
        seen += [row["seq"] for row in json.loads(body)["items"]]
        link = re.match(r'<(.*)>; rel="next"', headers["Link"] or "")
        path = link.group(1) if link else None
    assert seen == [1, 2, 3, 4, 5, 6]
    assert pointers(api.request("GET", "/v1/audit?patient_id=nobody", token=as_role(clinic, "admin")), 400) == ["?patient_id"]
    _, name = Traced(api, clinic).ask("GET", "/v1/audit", role="auditor")
    own = expect(api.request("GET", "/v1/audit", token=as_role(clinic, "admin")), 200)
    assert all(row["role"] != "admin" or row["resource"] == "/v1/audit" for row in own["items"]), "who reads the trail is in it"


def test_a_chain_is_sha256_over_the_digest_before_and_the_row(api):
    clinic = fresh(api)
    Chart(api, clinic).patient()
    rows = trail(api, clinic, wait_for=len)
    before = bytes(32)
    for row in sorted(rows, key=lambda row: row["seq"]):
        lines = [clinic.id, str(row["seq"]), row["id"], row["at"], row["token_id"], row["role"], row["action"], row["resource"],
                 ",".join(row["record_ids"]), ",".join(row["patient_ids"]), row["request_id"], row["outcome"]]
        before = hashlib.sha256(before + "\n".join(lines).encode()).digest()
        assert before.hex() == row["digest"]
        break  # rows between may be this test's own reading of the trail


def settled(api, clinic, count=6):
    """A clinic with `count` sealed rows and nothing waiting."""
    chart = Chart(api, clinic)
    patient = chart.patient()["id"]
    for _ in range(count - 1):
        chart.get(f"/v1/patients/{patient}")
    deadline = time.monotonic() + 20
    while api.sql(f"select count(*) from holdfast.audit where clinic_id = '{clinic.id}'") != str(count):
        assert time.monotonic() < deadline
        time.sleep(0.05)


def verify(api, clinic):
    done = api.call("verify-audit", "--clinic", clinic.id)
    return done.returncode, done.stdout.decode()


# Each by the superuser, past every trigger: what it does to rows 1 to 6, the first row that must be named, how far it is whole.
TAMPERING = [
    ("altered", "update holdfast.audit set outcome = 'not-found' where clinic_id = '{c}' and seq = 3", 3, 2),
    ("another patient", "update holdfast.audit set patients = array[gen_random_uuid()] where clinic_id = '{c}' and seq = 4", 4, 3),
    ("later", "update holdfast.audit set at = at + interval '1 microsecond' where clinic_id = '{c}' and seq = 5", 5, 4),
    ("deleted", "delete from holdfast.audit where clinic_id = '{c}' and seq = 3", 3, 2),
    ("deleted, the rest moved up", "delete from holdfast.audit where clinic_id = '{c}' and seq = 3;"
     " update holdfast.audit set seq = seq + 1000 where clinic_id = '{c}' and seq > 3;"
     " update holdfast.audit set seq = seq - 1001 where clinic_id = '{c}' and seq > 1000", 3, 2),
    ("first deleted", "delete from holdfast.audit where clinic_id = '{c}' and seq = 1", 1, 0),
    ("end cut off", "delete from holdfast.audit where clinic_id = '{c}' and seq > 4", 5, 4),
    ("all deleted", "delete from holdfast.audit where clinic_id = '{c}'", 1, 0),
    ("inserted", "update holdfast.audit set seq = seq + 1000 where clinic_id = '{c}' and seq > 3;"
     " update holdfast.audit set seq = seq - 999 where clinic_id = '{c}' and seq > 1000;"
     " insert into holdfast.audit select clinic_id, 4, gen_random_uuid(), at, token, role, action, resource, records, patients,"
     " request, outcome, digest from holdfast.audit where clinic_id = '{c}' and seq = 3", 4, 3),
    ("hung on", "insert into holdfast.audit select clinic_id, 7, gen_random_uuid(), at, token, role, action, resource, records,"
     " patients, request, outcome, digest from holdfast.audit where clinic_id = '{c}' and seq = 6", 7, 6),
    ("hung on, well made", "insert into holdfast.audit select (r).* from (select x as r from (select clinic_id, 7::bigint as seq,"
     " id, at, token, role, action, resource, records, patients, request, outcome, digest from holdfast.audit"
     " where clinic_id = '{c}' and seq = 6) x) y; update holdfast.audit a set digest = sha256(b.digest ||"
     " convert_to(holdfast.audit_text(a), 'UTF8')) from holdfast.audit b where a.clinic_id = '{c}' and a.seq = 7"
     " and b.clinic_id = a.clinic_id and b.seq = 6", 7, 6),
    ("reordered", "update holdfast.audit set seq = 1003 where clinic_id = '{c}' and seq = 3;"
     " update holdfast.audit set seq = 3 where clinic_id = '{c}' and seq = 4;"
     " update holdfast.audit set seq = 4 where clinic_id = '{c}' and seq = 1003", 3, 2),
]


def test_tampering_is_found_at_the_right_row(api):
    clinic, tables = fresh(api), ("audit", "audit_heads")
    settled(api, clinic)
    past_triggers = "set session_replication_role = replica; "
    for table in tables:
        api.sql(f"create table public.{table}_as_it_was as select * from holdfast.{table} where clinic_id = '{clinic.id}'")
    try:
        for what, sql, row, up_to in TAMPERING:
            code, told = verify(api, clinic)
            assert code == 0 and "sealed up to row 6 " in told, (what, told)
            api.sql(past_triggers + sql.replace("{c}", clinic.id))
            code, told = verify(api, clinic)
            assert code == 1 and re.search(rf"row {row} .*; sealed up to row {up_to}\b", told), (what, told)
            api.sql(past_triggers + ";".join(f"delete from holdfast.{table} where clinic_id = '{clinic.id}';"
                                             f"insert into holdfast.{table} select * from public.{table}_as_it_was"
                                             for table in tables))
    finally:
        for table in tables:
            api.sql(f"drop table public.{table}_as_it_was")


def test_verify_tells_all_clinics_and_refuses_strangers(api):
    one, two = fresh(api), fresh(api)
    settled(api, one, 2)
    settled(api, two, 3)
    done = api.call("verify-audit")
    told = done.stdout.decode()
    assert done.returncode == 0, told
    assert re.search(rf"{one.name}: whole; sealed up to row 2 of \d{{4}}-.*, digest [0-9a-f]{{64}}; 0 waiting", told), told
    assert re.search(rf"{two.name}: whole; sealed up to row 3 ", told), told
    assert api.call("verify-audit", "--clinic", "nobody").returncode == 1
    assert api.call("verify-audit", one.id).returncode == 2


def test_the_owner_too_cannot_change_a_sealed_row_by_accident(api):
    clinic = fresh(api)
    settled(api, clinic, 1)
    for sql in ("update holdfast.audit set outcome = 'done'", "delete from holdfast.audit", "truncate holdfast.audit cascade"):
        try:
            api.sql(sql)
        except Exception:
            continue
        raise AssertionError(f"{sql} went through")


def test_two_daemons_seal_one_chain(api):
    clinic = fresh(api)
    chart = Chart(api, clinic)
    patient = chart.patient()["id"]
    second = Daemon(api.program)

    def read(daemon):
        for _ in range(60):
            assert daemon.request("GET", f"/v1/patients/{patient}", token=chart.token)[0] == 200

    readers = [threading.Thread(target=read, args=(daemon,)) for daemon in (api.daemon, second, api.daemon, second)]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join()
    assert second.stop() == 0
    rows = trail(api, clinic, f"&patient_id={patient}&action=read", wait_for=lambda rows: len(rows) == 200)
    deadline = time.monotonic() + 20
    while api.sql(f"select count(*) from holdfast.audit where clinic_id = '{clinic.id}' and action <> 'list'") != "241":
        assert time.monotonic() < deadline
        time.sleep(0.1)
    assert len({row["seq"] for row in rows}) == 200
    code, told = verify(api, clinic)
    assert code == 0, told


def test_rows_are_sealed_within_a_second(api):
    clinic = fresh(api)
    settled(api, clinic, 1)
    Chart(api, clinic).patient()
    time.sleep(1.0)
    assert api.sql(f"select count(*) from holdfast.audit_unsealed where clinic_id = '{clinic.id}'") == "0"


def test_what_cannot_be_sealed_waits_and_is_told(api):
    """The service goes on, the rows wait, the log says so; they are sealed when it is mended."""
    clinic = fresh(api)
    waiting = f"select count(*) from holdfast.audit_unsealed where clinic_id = '{clinic.id}'"
    api.sql("alter function holdfast.seal_audit() rename to seal_audit_away")
    try:
        Chart(api, clinic).patient()
        deadline = time.monotonic() + 20
        while '"audit not sealed","sqlstate":"42883"' not in api.daemon.log():
            assert time.monotonic() < deadline, api.daemon.log()[-500:]
            time.sleep(0.1)
        assert api.sql(waiting) == "1" and verify(api, clinic)[1].endswith("; 1 waiting\n")
    finally:
        api.sql("alter function holdfast.seal_audit_away() rename to seal_audit")
    assert len(trail(api, clinic, wait_for=len)) == 1 and verify(api, clinic)[0] == 0


def test_another_clinic_sees_nothing_of_it(api):
    one, two = fresh(api), fresh(api)
    patient = Chart(api, one).patient()["id"]
    trail(api, one, wait_for=len)
    assert trail(api, two, f"&patient_id={patient}") == []


def contract(api):
    import yaml
    return yaml.safe_load(api.request("GET", "/v1/openapi.yaml")[2])


def test_every_operation_lets_in_whom_the_policy_names_and_nobody_else(api):
    clinic = fresh(api)
    count = 0
    for path, item in contract(api)["paths"].items():
        for method, operation in item.items():
            policy = next(roles for methods, pattern, roles in POLICY
                          if re.fullmatch(methods, method.upper()) and re.fullmatch(pattern, path))
            assert set(operation.get("x-roles", [])) == (policy or set()), (method, path)
            assert ("security" in operation) == (policy is None), (method, path)
            target = re.sub(r"{\w+}", str(uuid.UUID(int=7)), path)
            if policy is None:
                assert api.request(method.upper(), target)[0] != 401, path
                continue
            assert api.request(method.upper(), target)[0] == 401, path
            for role in sorted(EVERYONE):
                status = api.request(method.upper(), target, token=as_role(clinic, role))[0]
                assert (status == 403) == (role not in policy), (method, path, role, status)
                count += 1
    assert count > 150
