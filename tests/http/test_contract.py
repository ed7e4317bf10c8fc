"""api/openapi.yaml says exactly what the service does: it is what the service serves, every answer of the other tests is
one that it describes, every body that was taken too, and its examples work."""
import itertools
import json
import os
import re
from urllib.parse import parse_qsl, urlsplit

import jsonschema
import yaml

import test_batch
import test_conditions
import test_idempotency
import test_lists
import test_outcomes
import test_progress
import test_resources
import test_service
import test_setups
import test_visits
from chart import Chart, PLATE, expect
from installation import Clinic

PATH = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "api", "openapi.yaml")
ANY_ID = "01890a5d-ac96-774b-bcce-b302099a8057"


class Contract:
    def __init__(self, text):
        self.document = yaml.safe_load(text)
        self.paths = [(re.compile("^" + re.sub(r"\{\w+\}", "[^/]+", path) + "$"), item)
                      for path, item in self.document["paths"].items()]
        self.validators = {}

    def resolve(self, node):
        while "$ref" in node:
            target = self.document
            for step in node["$ref"].lstrip("#/").split("/"):
                target = target[step]
            node = target
        return node

    def faults(self, schema, value):
        key = json.dumps(schema, sort_keys=True)
        if key not in self.validators:
            whole = {**schema, "components": self.document["components"]}
            self.validators[key] = jsonschema.Draft202012Validator(whole, format_checker=jsonschema.FormatChecker())
        return [f"{list(e.absolute_path)}: {e.message[:300]}" for e in self.validators[key].iter_errors(value)][:5]

    def operation(self, method, path):
        for pattern, item in self.paths:
            if pattern.match(path) and method.lower() in item:
                return item[method.lower()]
        return None


def fresh_clinics(api, numbers=itertools.count(1)):
    """The same tests run beside this one; names that must be unique are so within a clinic."""
    return [Clinic(api.program, f"Contract clinic {next(numbers)}") for _ in range(2)]


class Checked:
    """An api whose every exchange is held against the contract."""

    def __init__(self, api, contract):
        self.api, self.contract = api, contract
        self.seen = set()
        self.clinic_a, self.clinic_b = fresh_clinics(api)

    def __getattr__(self, name):
        return getattr(self.api, name)

    def request(self, method, path, body=None, token=None, headers=None):
        answer = self.api.request(method, path, body, token, headers)
        split = urlsplit(path)
        operation = self.contract.operation("GET" if method == "HEAD" else method, split.path)
        if operation is None:
            assert answer[0] in (204, 404, 405), f"{method} {path} answers {answer[0]} and is not described"
            return answer
        self.check_answer(f"{method} {path}", method, operation, answer)
        if answer[0] < 400:
            self.check_query(operation, split.query)
            self.check_body(f"{method} {path}", operation, body, headers or {})
        return answer

    def check_answer(self, what, method, operation, answer):
        status, headers, text = answer
        described = operation["responses"].get(str(status))
        assert described, f"{what} answers {status}, which is not described: {text[:300]!r}"
        described = self.contract.resolve(described)
        self.seen.add((operation["operationId"], status))
        for name, header in described.get("headers", {}).items():
            required = self.contract.resolve(header).get("required", False)
            assert headers[name] or not required, f"{what}: {status} without {name}"
        if method == "HEAD" or status == 304:
            assert text == b""
            return
        if status == 204 or (status == 201 and text == b""):
            assert text == b"" and headers["Content-Type"] is None
            return
        kind = headers["Content-Type"].removesuffix("; charset=utf-8")
        assert kind in described["content"], f"{what}: {status} as {kind}"
        if kind.endswith("json"):
            faults = self.contract.faults(described["content"][kind]["schema"], json.loads(text))
            assert not faults, f"{what}: {status} is not as described: {faults}\n{text[:1500]!r}"

    def check_query(self, operation, query):
        names = {self.contract.resolve(p)["name"] for p in operation.get("parameters", [])
                 if self.contract.resolve(p)["in"] == "query"}
        for name, _ in parse_qsl(query):
            assert name in names, f"{operation['operationId']} takes ?{name}, which is not described"

    def check_body(self, what, operation, body, headers):
        if body is None:
            return
        value = json.loads(body) if isinstance(body, (str, bytes)) else json.loads(json.dumps(body))
        kind = next((v for k, v in headers.items() if k.lower() == "content-type"), None)
        content = operation["requestBody"]["content"]
        schema = content[kind or next(iter(content))]["schema"]
        faults = self.contract.faults(schema, value)
        assert not faults, f"{what} takes a body that is not described: {faults}\n{json.dumps(value)[:1500]}"


def served(api):
    return api.request("GET", "/v1/openapi.yaml")[2].decode()


def test_the_file_is_what_is_served(api):
    with open(PATH) as file:
        kept = file.read()
    assert kept == served(api), "refresh it: curl -s localhost:8080/v1/openapi.yaml > api/openapi.yaml"


def test_every_schema_is_one(api):
    contract = Contract(served(api))

    def walk(node):
        if isinstance(node, dict):
            if "$ref" in node:
                contract.resolve(node)
            for value in node.values():
                walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)

    walk(contract.document)
    for name, schema in contract.document["components"]["schemas"].items():
        jsonschema.Draft202012Validator.check_schema(schema)
        assert schema.get("type") == "object" or "oneOf" in schema, name
    ids = [o["operationId"] for item in contract.document["paths"].values() for o in item.values()]
    assert len(ids) == len(set(ids))


def test_every_exchange_is_described(api):
    checked = Checked(api, Contract(served(api)))
    count = 0
    for module in (test_resources, test_lists, test_setups, test_visits, test_progress, test_outcomes, test_service,
                   test_batch, test_conditions, test_idempotency):
        for name, function in list(vars(module).items()):
            if name.startswith("test_") and callable(function):
                function(checked)
                count += 1
    assert count > 40
    for path, item in checked.contract.document["paths"].items():
        for method, operation in item.items():
            good = 201 if "201" in operation["responses"] else 200
            assert (operation["operationId"], good) in checked.seen, f"no test saw {method} {path} succeed"


def test_examples_work(api):
    chart = Chart(api, fresh_clinics(api)[0])
    case, _ = chart.worn_case()
    chart.screw(case, chart.model(), "A", 6)
    pattern = chart.make("/v1/plate-patterns", {"name": "for the example", **PLATE, "nodes": PLATE["nodes"] +
                                                [{"name": "seat", "at_mm": [0, 0, 0]}], "seats": None})
    setup = chart.make("/v1/setups", {"case_id": case["id"], "name": "worn", "worn_from": "2026-02-16", **PLATE})
    rows = {"patient_id": case["patient_id"], "case_id": chart.case()["id"], "screw_model_id": chart.model()["id"]}
    for path, item in Contract(served(api)).document["paths"].items():
        body = item.get("post", {}).get("requestBody", {}).get("content", {}).get("application/json", {}).get("example")
        if body is None:
            assert "post" not in item, f"{path} has no example"
            continue
        for name in body.keys() & rows.keys():
            body[name] = rows[name]
        if path in ("/v1/setups", "/v1/visits"):
            body.update({"case_id": case["id"]}, **({"pattern_id": pattern["id"]} if "pattern_id" in body else {}))
        if "worn" in body:
            body["worn"][0]["setup_id"] = setup["id"]
        assert ANY_ID not in json.dumps(body), path
        expect(chart.post(path, body), 200 if path in ("/v1/mechanics/evaluate", "/v1/batch") else 201)
