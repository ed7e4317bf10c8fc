"""api/openapi.yaml says exactly what the service does: it is what the service serves, and its examples work. That every
exchange of every test is one that it describes, and that every operation is seen to succeed, is asserted in run.py."""
import os

import jsonschema

from chart import expect
from rows import Rows, fresh_clinic

PATH = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "api", "openapi.yaml")


def test_the_file_is_what_is_served(api):
    with open(PATH) as file:
        kept = file.read()
    assert kept == api.contract.text, "refresh it: make openapi"
    written = api.call("openapi", env={"HOLDFAST_DATABASE": "host=/nowhere"})
    assert written.returncode == 0 and written.stdout.decode() == kept


def test_every_schema_is_one(api):
    contract = api.contract

    def walk(node):
        if isinstance(node, dict):
            if isinstance(node.get("$ref"), str):
                contract.resolve(node)
            for value in node.values():
                walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)

    walk(contract.document)
    for name, schema in contract.document["components"]["schemas"].items():
        jsonschema.Draft202012Validator.check_schema(schema)
        assert schema.get("type") == "object" or "oneOf" in schema or "$ref" in schema, name
    ids = [operation.id for operation in contract.operations]
    assert len(ids) == len(set(ids))


def test_examples_work(api):
    rows = Rows(api, fresh_clinic(api))
    for operation in api.contract.operations:
        if operation.method == "POST" and operation.takes:
            expect(rows.send(operation, body=rows.example(operation)), int(operation.good))
