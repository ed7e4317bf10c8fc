"""What a patient may ask of the clinic: everything that is held, to be made nameless, to be erased."""
import json
import time
import uuid

from chart import Chart, expect, pointers
from installation import Clinic

SECRETS = ["Secretfamily", "Secretgiven", "secret-number", "secret note", "secret title", "secret of the visit",
           "secret of the stage", "secret of the action", "secret reason", "secret-udi", "1990-05-17"]


class Told:
    """A patient of a clinic of its own, in whose records stand secrets wherever text can stand."""

    def __init__(self, api):
        self.api, self.clinic = api, Clinic(api.program, f"Rights clinic {uuid.uuid4()}")
        chart = self.chart = Chart(api, self.clinic)
        self.patient = chart.patient(family_name="Secretfamily", given_name="Secretgiven", note="secret note", sex="female",
                                     birth_date="1990-05-17", cigarettes_per_day=2,
                                     identifiers=[{"system": "urn:x", "value": "secret-number"}])
        self.path = f"/v1/patients/{self.patient['id']}"
        case = self.case = chart.case(self.patient, title="secret title", note="secret note",
                                      stages=[{"name": "first", "note": "secret of the stage"}])
        model = chart.model()
        chart.screw(case, model, "right", 4, udi="secret-udi", lot="L1")
        chart.screw(case, model, "left", -4, state="removed", state_on="2026-05-01", state_reason="secret reason")
        self.setup = chart.setup(case)
        self.visit = chart.visit(case, self.setup, note="secret of the visit",
                                 actions=[{"action": "activated", "note": "secret of the action"}])
        expect(chart.get(f"/v1/visits/{self.visit['id']}/force-system"), 200)
        expect(api.request("POST", "/v1/patients", {"chart_number": f"other-{uuid.uuid4()}", "family_name": "Bystander"},
                           chart.token, {"Idempotency-Key": "bystander"}), 201)
        expect(api.request("POST", "/v1/cases", {"patient_id": self.patient["id"], "title": "secret title"}, chart.token,
                           {"Idempotency-Key": "kept-reply"}), 201)

    def ask(self, method, path, body=None, role="admin", **headers):
        return self.api.request(method, path, body, self.clinic.tokens[role], {k.replace("_", "-"): v for k, v in headers.items()})

    def etag(self):
        return self.ask("GET", self.path)[1]["ETag"]

    def dump(self):
        """All rows of the clinic in all tables, as text."""
        tables = self.api.sql("select table_name from information_schema.columns where table_schema = 'holdfast'"
                              " and column_name = 'clinic_id' and table_name in (select tablename from pg_tables)").split()
        return self.api.sql(";".join(f"select t::text from holdfast.{table} t where clinic_id = '{self.clinic.id}'"
                                     for table in tables))


def test_everything_is_told_in_one_call(api):
    told = Told(api)
    deadline = time.monotonic() + 20
    while True:
        everything = expect(told.ask("GET", f"{told.path}/everything"), 200)
        if any(row["action"] == "read" and row["resource"] == "/v1/visits/{id}/force-system" for row in everything["audit"]):
            break
        assert time.monotonic() < deadline
        time.sleep(0.1)
    assert everything["complete"] is True and everything["patient"] == json.loads(told.ask("GET", told.path)[2])
    for kind, count in [("cases", 2), ("screws", 2), ("setups", 1), ("visits", 1), ("setup-versions", 1), ("evaluations", 1)]:
        assert len(everything[kind]) == count, kind
    assert everything["visits"][0] == json.loads(told.ask("GET", f"/v1/visits/{told.visit['id']}")[2])
    assert everything["evaluations"][0]["answer"]["segments"]
    text = json.dumps(everything)
    assert all(secret in text for secret in SECRETS) and "Bystander" not in text
    assert all(told.patient["id"] in row["patient_ids"] for row in everything["audit"])
    assert told.ask("GET", f"/v1/patients/{uuid.UUID(int=7)}/everything")[0] == 404


def test_a_nameless_patient_still_counts(api):
    told = Told(api)
    assert all(secret in told.dump() for secret in SECRETS)
    assert told.ask("POST", f"{told.path}/pseudonymise")[0] == 428
    assert told.ask("POST", f"{told.path}/pseudonymise", If_Match='"77"')[0] == 412
    status, headers, body = told.ask("POST", f"{told.path}/pseudonymise", If_Match=told.etag())
    left = json.loads(body)
    assert status == 200 and headers["ETag"] == told.etag() != '"1"'
    assert left["birth_date"] == "1990-01-01" and left["sex"] == "female" and left["cigarettes_per_day"] == 2
    assert left["chart_number"] == f"P-{told.patient['id']}" and not {"given_name", "family_name", "identifiers", "note"} & left.keys()
    dump = told.dump()
    assert [secret for secret in SECRETS if secret in dump] == [] and "Bystander" in dump
    # What was done can still be reckoned with: the same plate on the same screws.
    visit = told.ask("GET", f"/v1/visits/{told.visit['id']}/force-system")
    assert [s["name"] for s in expect(visit, 200)["segments"]] == ["upper right molars"]
    assert expect(told.ask("GET", "/v1/screws?lot=L1"), 200)["items"][0]["name"] == "right"


def test_an_erased_patient_leaves_a_tombstone(api):
    told = Told(api)
    assert told.ask("POST", f"{told.path}/erase", {"reason": "asked for"})[0] == 428
    assert told.ask("POST", f"{told.path}/erase", {"reason": "asked for"}, If_Match='"77"')[0] == 412
    assert pointers(told.ask("POST", f"{told.path}/erase", {"why": 1}, If_Match=told.etag())) == ["/reason", "/why"]
    before = told.etag()
    tombstone = expect(told.ask("POST", f"{told.path}/erase", {"reason": "asked for"}, If_Match=before), 200)
    assert tombstone["id"] == told.patient["id"] and tombstone["reason"] == "asked for" and tombstone["token_id"]
    dump = told.dump()
    assert [secret for secret in SECRETS if secret in dump] == [] and "Bystander" in dump
    for table in ("cases", "screws", "setups", "setup_versions", "visits", "visit_setups", "evaluations"):
        assert api.sql(f"select count(*) from holdfast.{table} where clinic_id = '{told.clinic.id}'") == "0", table
    for path in (told.path, f"{told.path}/everything", f"/v1/cases/{told.case['id']}", f"/v1/visits/{told.visit['id']}"):
        assert told.ask("GET", path)[0] == 404, path
    assert told.ask("POST", f"{told.path}/erase", {"reason": "again"}, If_Match=before)[0] == 404
    erasures = expect(told.ask("GET", "/v1/erasures", role="auditor"), 200)["items"]
    assert erasures == [tombstone]
    # Who looked and who erased stays known, and the chain whole.
    deadline = time.monotonic() + 20
    while True:
        rows = expect(told.ask("GET", f"/v1/audit?patient_id={told.patient['id']}&limit=200", role="auditor"), 200)["items"]
        if any(row["action"] == "erase" for row in rows):
            break
        assert time.monotonic() < deadline
        time.sleep(0.1)
    assert {"create", "read", "erase"} <= {row["action"] for row in rows}
    done = api.call("verify-audit", "--clinic", told.clinic.id)
    assert done.returncode == 0, done.stdout


def test_other_clinics_and_roles_are_not_asked(api):
    told, other = Told(api), Told(api)
    for method, path, body in [("GET", "everything", None), ("POST", "pseudonymise", None), ("POST", "erase", {"reason": "x"})]:
        assert other.ask(method, f"{told.path}/{path}", body, If_Match='"1"')[0] == 404
        assert told.ask(method, f"{told.path}/{path}", body, role="clinician", If_Match='"1"')[0] == 403
    assert told.ask("GET", told.path)[0] == 200
