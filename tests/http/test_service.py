"""The what-if door and what the service says about itself."""
import json
import os

from chart import Chart, body_of, expect, pointers

EXAMPLES = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "api", "examples")

# Rows of each table of the service. Those of the audit and of the feed move on by themselves, from requests before.
ROWS = """select string_agg(tablename || query_to_xml(format('select count(*) from holdfast.%I', tablename), false, true, '')::text,
    ' ' order by tablename) from pg_tables where schemaname = 'holdfast' and tablename !~ '^(audit|event|deliver)'"""


def example(name):
    with open(os.path.join(EXAMPLES, name)) as file:
        return json.load(file)


def test_evaluate_writes_nothing_and_needs_a_token(api):
    document = example("posterior-intrusion.json")
    assert api.request("POST", "/v1/mechanics/evaluate", document)[0] == 401
    before = api.sql(ROWS)
    for role in api.clinic_a.tokens:
        answer = api.request("POST", "/v1/mechanics/evaluate", document, api.clinic_a.tokens[role])
        assert expect(answer, 200)["digest"].startswith("sha256:"), role
    assert before == api.sql(ROWS)


def test_variants_in_order(api):
    chart = Chart(api)
    documents = [example("posterior-intrusion.json") for _ in range(3)]
    for i, document in enumerate(documents):
        document["elements"][0]["force_n"] = 0.5 + i
    answers = expect(chart.post("/v1/mechanics/evaluate", {"variants": documents}), 200)["variants"]
    assert [a["elements"][0]["force_n"] for a in answers] == [0.5, 1.5, 2.5]
    alone = expect(chart.post("/v1/mechanics/evaluate", documents[1]), 200)
    assert answers[1] == alone
    documents[2]["frame"] = "other"
    documents[0]["colour"] = 1
    assert pointers(chart.post("/v1/mechanics/evaluate", {"variants": documents})) == ["/variants/0/colour", "/variants/2/frame"]


def test_refusals_of_documents(api):
    chart = Chart(api)
    assert expect(chart.post("/v1/mechanics/evaluate", '{"frame":'), 400)["type"] == "/problems/malformed-json"
    found = pointers(chart.post("/v1/mechanics/evaluate", {"on": "2026-13-01", "elements": 5}))
    assert "/frame" in found and "/on" in found and "/elements" in found


def test_evidence_and_materials(api):
    evidence = expect(api.request("GET", "/v1/evidence"), 200)
    assert len(evidence["constants"]) > 20
    for constant in evidence["constants"]:
        assert constant["key"] and constant["unit"] and constant["held"], constant
        if "low" in constant:
            assert constant["low"] <= constant["value"] <= constant["high"], constant
        if "source" in constant:
            assert constant["source"] in evidence["sources"], constant
    materials = {m["name"]: m for m in expect(api.request("GET", "/v1/materials"), 200)["items"]}
    # Austenitic stainless steel: Young's modulus 193 GPa (ASM handbook); commercially pure titanium: 100 to 110 GPa.
    assert 180000 <= materials["stainless-steel"]["modulus_mpa"] <= 200000
    assert 100000 <= materials["titanium-grade-4"]["modulus_mpa"] <= 115000
    etag = api.request("GET", "/v1/evidence")[1]["ETag"]
    assert api.request("GET", "/v1/evidence", headers={"If-None-Match": etag})[0] == 304


def test_problem_types_resolve(api):
    token = api.clinic_a.tokens["clinician"]
    refusals = [api.request("GET", "/v1/patients"), api.request("GET", "/v1/patients/17", token=token),
                api.request("DELETE", "/v1/patients", token=token), api.request("POST", "/v1/patients", "{", token),
                api.request("POST", "/v1/patients", {}, token), api.request("GET", "/v1/patients?x=1", token=token)]
    listed = {p["type"] for p in expect(api.request("GET", "/problems"), 200)["items"]}
    for answer in refusals:
        problem = body_of(answer)
        page = expect(api.request("GET", problem["type"]), 200)
        assert page["type"] == problem["type"] and page["title"] == problem["title"] and page["status"] == answer[0]
        assert page["what"] and problem["type"] in listed and problem["request_id"]
    assert api.request("GET", "/problems/nonsense")[0] == 404


def test_health_and_contract(api):
    assert expect(api.request("GET", "/livez"), 200) == {"status": "alive"}
    assert expect(api.request("GET", "/readyz"), 200) == {"status": "ready"}
    status, headers, text = api.request("GET", "/v1/openapi.yaml")
    assert status == 200 and headers["Content-Type"] == "application/yaml" and text.startswith(b"openapi: 3.1")
