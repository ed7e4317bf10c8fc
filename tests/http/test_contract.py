"""api/openapi.yaml says exactly what the service does: it is what the service serves, and its examples work. That every
exchange of every test is one that it describes, and that every operation is seen to succeed, is asserted in run.py."""
import os

import jsonschema

from chart import expect, pointers
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


BOUNDED_FORMATS = {"date", "date-time", "uuid"}


def leaves(contract, schema, path=(), name=""):
    """Every text and list that a request may hold: (path, schema without references). 0 is a place in a list."""
    name = schema.get("$ref", name)
    schema = contract.resolve(schema)
    kinds = schema.get("type", [])
    if "string" in kinds or "array" in kinds:
        yield path, schema, name
    for choice in ("oneOf", "anyOf", "allOf"):
        for one in schema.get(choice, []):
            yield from leaves(contract, one, path, name)
    for member, below in schema.get("properties", {}).items():
        yield from leaves(contract, below, (*path, member), name)
    if "items" in schema:
        yield from leaves(contract, schema["items"], (*path, 0), name)


def test_every_text_and_list_of_a_request_has_an_end(api):
    count = 0
    for operation in api.contract.operations:
        schemas = [(p["name"], p["schema"]) for p in operation.parameters]
        schemas += [(kind, media["schema"]) for kind, media in operation.takes.items()]
        for where, schema in schemas:
            for path, leaf, _ in leaves(api.contract, schema):
                bounded = "maxItems" in leaf if "array" in leaf["type"] else (
                    {"maxLength", "enum", "const", "pattern"} & leaf.keys() or leaf.get("format") in BOUNDED_FORMATS)
                assert bounded, f"{operation}: {where} {path} has no end: {leaf}"
                count += 1
    assert count > 500


GOES_WITH = {"label": {"fixed_mm": [0, 0, 0]}}


def body_with(path, value):
    """The body that holds `value` at `path` and nothing else but what it goes with."""
    for step in reversed(path):
        value = [value] if step == 0 else {step: value, **GOES_WITH.get(step, {})}
    return value


def test_one_more_than_the_end_is_refused(api):
    """Where the description says how many or how long at most, that many are taken and one more is refused, by name."""
    rows, seen = Rows(api, fresh_clinic(api)), set()
    for operation in api.contract.operations:
        if operation.method != "POST" or not (operation.media_type() or "").endswith("json"):
            continue
        for path, leaf, name in leaves(api.contract, operation.takes[operation.media_type()]["schema"]):
            end = leaf.get("maxItems", leaf.get("maxLength"))
            vector = leaf.get("minItems", 0) > 1  # of so many numbers and no others
            if end is None or vector or "pattern" in leaf or (path[-1], name) in seen:
                continue
            seen.add((path[-1], name))
            pointer = "".join(f"/{step}" for step in path)
            for more in (1, 0):
                value = [{}] * (end + more) if "array" in leaf["type"] else "x" * (end + more)
                answer = rows.send(operation, body=body_with(path, value))
                told = answer[0] == 422 and pointer in pointers(answer)
                assert told == bool(more), (pointer, end + more, answer[0], answer[2][:400])
    assert len(seen) > 50
