"""Plates as worn: versions with their days, patterns that are copied, seats on the case's screws."""
from chart import Chart, PLATE, body_of, expect, pointers


def versions(chart, setup):
    return expect(chart.get(f"/v1/setups/{setup['id']}/versions"), 200)["items"]


def test_a_setup_shows_its_plate(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    assert setup["plate_version"] == 1 and setup["version"] == 1 and setup["worn_from"] == "2026-02-16"
    for name, part in PLATE.items():
        assert setup[name] == part, name
    assert [v["version"] for v in versions(chart, setup)] == [1]
    assert body_of(chart.get(f"/v1/setups?case_id={case['id']}"))["items"] == [setup]


def test_a_changed_plate_is_a_new_version(api):
    chart = Chart(api)
    _, setup = chart.worn_case()
    path = f"/v1/setups/{setup['id']}"
    bars = [dict(PLATE["bars"][0]), {**PLATE["bars"][1], "section": {"round_mm": 1.5}}]
    changed = expect(chart.patch(path, {"bars": bars, "worn_from": "2026-04-01"}), 200)
    assert changed["plate_version"] == 2 and changed["version"] == 2 and changed["bars"] == bars
    assert changed["nodes"] == setup["nodes"] and "worn_to" not in changed
    first, second = versions(chart, setup)
    assert (first["version"], first["worn_from"], first["worn_to"]) == (1, "2026-02-16", "2026-04-01")
    assert first["bars"] == PLATE["bars"], "the old version is kept as it was"
    assert (second["version"], second["worn_from"], second.get("worn_to")) == (2, "2026-04-01", None)


def test_a_changed_plate_needs_a_later_day(api):
    chart = Chart(api)
    _, setup = chart.worn_case()
    path = f"/v1/setups/{setup['id']}"
    for change in [{"fittings": []}, {"fittings": [], "worn_from": "2026-02-16"}, {"fittings": [], "worn_from": "2026-02-01"},
                   {"material": "stainless-steel"}, {"worn_from": "2026-02-01"}]:
        assert pointers(chart.patch(path, change)) == ["/worn_from"], change
    assert len(versions(chart, setup)) == 1 and chart.get(path)[1]["ETag"] == '"1"'


def test_name_and_end_are_no_new_version(api):
    chart = Chart(api)
    _, setup = chart.worn_case()
    path = f"/v1/setups/{setup['id']}"
    changed = expect(chart.patch(path, {"name": "renamed", "purpose": "intrusion", "worn_to": "2026-06-01"}), 200)
    assert changed["plate_version"] == 1 and changed["version"] == 2 and changed["worn_to"] == "2026-06-01"
    assert versions(chart, setup)[0]["worn_to"] == "2026-06-01"
    assert pointers(chart.patch(path, {"worn_to": "2026-02-01"})) == ["/worn_to"]


def test_a_pattern_supplies_what_is_left_out(api):
    chart = Chart(api)
    case, _ = chart.worn_case()
    pattern = chart.make("/v1/plate-patterns", {"name": "palatal", **PLATE})
    body = {"case_id": case["id"], "name": "from a pattern", "worn_from": "2026-03-01", "pattern_id": pattern["id"],
            "material": "stainless-steel"}
    setup = chart.make("/v1/setups", body)
    assert setup["nodes"] == PLATE["nodes"] and setup["seats"] == PLATE["seats"] and setup["material"] == "stainless-steel"
    expect(chart.patch(f"/v1/plate-patterns/{pattern['id']}", {"fittings": []}), 200)
    assert body_of(chart.get(f"/v1/setups/{setup['id']}"))["fittings"] == PLATE["fittings"], "the copy is kept"


def test_a_plate_must_hang_together(api):
    chart = Chart(api)
    case, _ = chart.worn_case()
    body = {"case_id": case["id"], "name": "broken", "worn_from": "2026-03-01", **PLATE,
            "seats": [{"node": "right seat", "screw": "right"}, {"node": "nowhere", "screw": "gone"}],
            "fittings": [{"node": "no hook", "kind": "hook"}],
            "bars": [{"from": "right seat", "to": "x", "section": {"round_mm": 1.2}}]}
    assert pointers(chart.post("/v1/setups", body)) == \
        ["/bars/0/to", "/fittings/0/node", "/seats/1/node", "/seats/1/screw"]
    assert pointers(chart.post("/v1/setups", {"case_id": case["id"], "name": "empty", "worn_from": "2026-03-01"})) == ["/nodes"]
    other = Chart(api, api.clinic_b)
    foreign = other.make("/v1/plate-patterns", {"name": "foreign", **PLATE})
    assert pointers(chart.post("/v1/setups", {"case_id": case["id"], "name": "f", "worn_from": "2026-03-01",
                                              "pattern_id": foreign["id"]})) == ["/pattern_id"]
    assert pointers(chart.post("/v1/plate-patterns", {"name": "loose", **PLATE, "nodes": PLATE["nodes"][:2]})) == \
        ["/bars/1/to", "/fittings/0/node"]


def test_names_within_a_case(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    answer = chart.post("/v1/setups", {"case_id": case["id"], "name": setup["name"], "worn_from": "2026-03-01", **PLATE})
    assert pointers(answer, 409) == ["/name"]
