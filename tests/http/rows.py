"""One row of every resource of a clinic, and for every operation of the description a request that succeeds."""
import copy
import datetime
import itertools
import re
import time
from urllib.parse import urlencode

from chart import CHAIN, Chart, PLATE, expect
from installation import Clinic

UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
# A member that refers to a row, and of what.
REFERENCES = {"patient_id": "patients", "case_id": "cases", "screw_model_id": "screw-models", "setup_id": "setups",
              "pattern_id": "plate-patterns", "visit_id": "visits", "screw_id": "screws", "token_id": "tokens"}
NUMBERS = itertools.count(1)


def fresh_clinic(api):
    return Clinic(api.program, f"Clinic of its own {next(NUMBERS)}")


class Rows:
    """Rows of one clinic, found in every answer of it by `mark`."""

    def __init__(self, api, clinic):
        self.api, self.clinic, self.contract = api, clinic, api.contract
        self.mark = f"mark{next(NUMBERS):04d}"
        self.chart = chart = Chart(api, clinic)
        patient = chart.patient(family_name=f"{self.mark} family", birth_date="1990-05-17", cigarettes_per_day=0)
        case = chart.case(patient, title=f"{self.mark} intrusion", clinician=f"{self.mark} room")
        model = chart.model(name=f"{self.mark} model")
        right = chart.screw(case, model, "right", 4, lot=f"{self.mark}-lot")
        chart.screw(case, model, "left", -4)
        # With the node on which the document's example of a setup sits.
        bare = {name: value for name, value in PLATE.items() if name != "seats"}
        bare["nodes"] = PLATE["nodes"] + [{"name": "seat", "at_mm": [0, 0, 0]}]
        pattern = chart.make("/v1/plate-patterns", {"name": f"{self.mark} pattern", **bare})
        site = chart.make("/v1/sites", {"key": f"{self.mark}-site", "name": f"{self.mark} site", "jaw": "maxilla"})
        setup = chart.setup(case, name=f"{self.mark} plate")
        visit = chart.visit(case, setup, note=f"{self.mark} fine")
        self.rows = {"patients": patient, "cases": case, "screw-models": model, "screws": right, "plate-patterns": pattern,
                     "sites": site, "setups": setup, "visits": visit}

    def token(self, operation):
        """Of the first role, as the contract lists them, that may."""
        if operation.roles is None:
            return None
        return self.clinic.tokens[next(role for role in self.clinic.tokens if role in operation.roles)]

    def row(self, collection):
        """The clinic's row of a resource; of those that nobody creates by POST the first listed."""
        if collection == "deliveries" and collection not in self.rows:
            self.row("webhooks")
            self.chart.patient()  # an event to be told
            deadline = time.monotonic() + 20
            while not expect(self.send(self.contract.operation("GET", "/v1/deliveries")), 200)["items"]:
                assert time.monotonic() < deadline
                time.sleep(0.05)
        if collection not in self.rows:
            listed = self.contract.operation("GET", f"/v1/{collection}")
            create = self.contract.operation("POST", f"/v1/{collection}")
            if create is not None:
                self.rows[collection] = expect(self.send(create), int(create.good))
            elif listed is not None:
                items = expect(self.send(listed), 200)["items"]
                assert items, f"the clinic has no row of {collection}"
                self.rows[collection] = items[0]
            else:
                raise AssertionError(f"rows.py does not know how to come by a row of {collection}")
        return self.rows[collection]

    def word(self, operation, word):
        """What may stand at a place in braces."""
        if word == "id" and operation.path.endswith(("/erase", "/pseudonymise")):
            return self.chart.patient()["id"]  # not the one that other operations need
        if word == "id":
            return self.row(operation.collection)["id"]
        known = {"slug": "validation", "gtin": "00012345678905", "lot": f"{self.mark}-lot"}
        assert word in known, f"rows.py knows nothing that stands at {{{word}}} of {operation}"
        return known[word]

    def path(self, operation):
        return re.sub(r"\{(\w+)\}", lambda found: self.word(operation, found.group(1)), operation.path)

    def refer(self, node):
        """Identifiers of an example become those of rows that are there."""
        if isinstance(node, list):
            return [self.refer(value) for value in node]
        if isinstance(node, str) and "\n" in node:
            return self.refer_table(node)
        if not isinstance(node, dict):
            return node
        return {name: self.row(REFERENCES[name])["id"] if name in REFERENCES and isinstance(value, str) and
                UUID.fullmatch(value) else self.refer(value) for name, value in node.items()}

    def refer_table(self, text):
        """The same in a table: of whole columns."""
        head, *lines = [line.split(",") for line in text.strip().split("\n")]
        lines = [[self.row(REFERENCES[name])["id"] if name in REFERENCES and UUID.fullmatch(value) else value
                  for name, value in zip(head, line)] for line in lines]
        return "".join(",".join(line) + "\n" for line in [head, *lines])

    def example(self, operation):
        """The document's example with identifiers of this clinic."""
        media = operation.takes[operation.media_type()]
        assert "example" in media, f"{operation} has no example"
        body = self.refer(copy.deepcopy(media["example"]))
        if operation.path == "/sign-in":
            body["token"] = self.clinic.tokens["clinician"]
        if operation.path == "/v1/screws":
            body["case_id"] = self.chart.case()["id"]
            body.pop("patient_id", None)
        if operation.path == "/v1/setups":
            # It sits on a screw of the case by the name that the example gives it.
            case = self.chart.case()
            for name in {seat["screw"] for seat in body.get("seats", [])}:
                self.chart.screw(case, self.row("screw-models"), name, 6)
            body["case_id"] = case["id"]
        if operation.path == "/v1/visits":
            case, setup = self.chart.worn_case()
            body["case_id"] = case["id"]
            for check in body.get("screw_checks", []):
                self.chart.screw(case, self.row("screw-models"), check["screw"], 6)
            for worn in body.get("worn", []):
                worn["setup_id"] = setup["id"]
        return body

    def body(self, operation):
        """One that is taken; again and again, where the clinic may have a name only once."""
        n = next(NUMBERS)
        if not operation.takes:
            return None
        if operation.method == "PATCH":
            return {}
        if operation.path == "/v1/screws":
            return {"case_id": self.row("cases")["id"], "name": f"{self.mark}-{n}", "site": "palate-paramedian",
                    "screw_model_id": self.row("screw-models")["id"], "placed_on": "2026-02-16",
                    "entry": {"palate": {"right_mm": 3, "behind_incisors_mm": 26}}, "axis": "perpendicular"}
        if operation.path == "/v1/setups":
            return {"case_id": self.row("cases")["id"], "name": f"{self.mark} plate {n}", "worn_from": "2026-02-16", **PLATE}
        if operation.path == "/v1/webhooks":
            return {"url": f"https://127.0.0.9/{self.mark}"}  # all events; an address that is never called
        if operation.path == "/v1/visits":
            return {"case_id": self.row("cases")["id"], "elements": [CHAIN],
                    "visited_on": str(datetime.date(2026, 3, 2) + datetime.timedelta(days=n)),
                    "worn": [{"setup_id": self.row("setups")["id"]}]}
        if operation.path == "/v1/batch":
            patient = self.row("patients")["id"]
            return {"items": [
                {"method": "POST", "path": "/v1/patients", "body": {"chart_number": f"{self.mark}-{n}"}, "ref": "new"},
                {"method": "POST", "path": "/v1/cases", "body": {"patient_id": patient, "title": f"{self.mark} {n}"}},
                {"method": "PATCH", "path": f"/v1/patients/{patient}", "if_match": "*", "body": {"note": f"{self.mark} {n}"}}]}
        body = self.example(operation)
        if operation.path.endswith("/import"):
            return body.replace(",A,", f",{self.mark}-{n},").replace("T-1042", f"{self.mark}-{n}")
        for name in ("chart_number", "name", "key"):
            if name in body:
                body[name] = f"{self.mark}-{n}"
        return body

    def headers(self, operation):
        needs = {"If-Match": "*"}
        fields = {name: needs[name] for name in operation.named("header") if name in needs}
        if operation.path in ("/sign-in", "/sign-out"):
            fields["Sec-Fetch-Site"] = "same-origin"
        return fields

    def query(self, operation):
        """Of the parameters that must be told."""
        needed = [p["name"] for p in operation.parameters if p["in"] == "query" and p.get("required")]
        assert not needed, f"rows.py does not know ?{needed[0]} of {operation}"
        return ""

    def send(self, operation, token=None, path=None, headers=None, body=None, method=None):
        """The operation on this clinic's row with a role that may, but for what is told otherwise."""
        if body is None and operation.takes:
            body = self.body(operation)
        fields = {**self.headers(operation), **(headers or {})}
        if operation.takes:
            fields.setdefault("Content-Type", operation.media_type())
        if operation.takes_form() and isinstance(body, dict):
            body = urlencode(body)
        return self.api.request(method or operation.method, path or self.path(operation) + self.query(operation), body,
                                token or self.token(operation), fields)
