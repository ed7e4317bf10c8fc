"""Visits and what their forces come to: the same bytes as their mechanics document evaluated by itself."""
import json

from chart import CHAIN, Chart, PLATE, body_of, expect, pointers


def evaluate(chart, document):
    return chart.post("/v1/mechanics/evaluate", document)


def test_force_system_is_the_evaluation_of_the_document(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    path = f"/v1/visits/{visit['id']}"
    for query in ["", "?on=2026-03-30"]:
        document = chart.get(f"{path}/mechanics-document{query}")
        expect(document, 200)
        force_system = chart.get(f"{path}/force-system{query}")
        expect(force_system, 200)
        assert evaluate(chart, document[2].decode())[2] == force_system[2]
        again = api.call("evaluate", "-", input=document[2])
        assert again.returncode == 0 and again.stdout == force_system[2], "the command line answers the same bytes"


def test_the_document_says_what_was_recorded(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    document = body_of(chart.get(f"/v1/visits/{visit['id']}/mechanics-document"))
    assert document["frame"] == "occlusal-lps" and document["on"] == "2026-03-02"
    assert document["horizon_days"] == 42 and document["elements"] == [CHAIN]
    assert [s["name"] for s in document["screws"]] == ["left", "right"]
    assert document["screws"][0]["diameter_mm"] == 2.0 and document["screws"][0]["mobility_grade"] == 0
    assert document["plates"][0]["nodes"] == PLATE["nodes"] and document["plates"][0]["name"] == setup["name"]
    # Born 1990-05-17: 35 years and 289 days old on 2026-03-02.
    assert document["patient"] == {"age_years": 35.8, "cigarettes_per_day": 0}
    assert not any("loss" in site or "cortex_mm" in site for site in document.get("sites", [])), \
        "published figures are the model's own"


# 150 gf = 1.4709975 N (UCUM: gf is 9.80665 m/s2 times a gram).
def test_answer_of_a_visit(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    answer = body_of(chart.get(f"/v1/visits/{visit['id']}/force-system"))
    assert abs(answer["elements"][0]["force_n"] - 1.4709975) < 1e-9
    assert {s["name"] for s in answer["screws"]} == {"left", "right"}
    assert answer["on"] == "2026-03-02" and answer["stability"]["horizon_days"] == 42
    # What the chain pulls on the hook comes out at the two screws, whatever the plate is like (statics).
    pull = [c * answer["elements"][0]["force_n"] for c in answer["elements"][0]["direction"]]
    heads = [sum(s["head"]["force_n"][i] for s in answer["screws"]) for i in range(3)]
    assert all(abs(pull[i] - heads[i]) < 1e-6 for i in range(3)), (pull, heads)
    later = body_of(chart.get(f"/v1/visits/{visit['id']}/force-system?on=2026-03-30"))
    assert later["elements"][0]["days_active"] == 28
    assert later["elements"][0]["force_n"] < answer["elements"][0]["force_n"], "an elastic chain relaxes"


def test_stability_is_the_part_of_the_whole(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    whole = body_of(chart.get(f"/v1/visits/{visit['id']}/force-system"))
    part = body_of(chart.get(f"/v1/visits/{visit['id']}/stability"))
    assert part["stability"] == whole["stability"] and part["digest"] == whole["digest"]
    assert "segments" not in part


def test_an_element_begins_at_its_first_visit(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    bare = {name: value for name, value in CHAIN.items() if name != "activated_on"}
    load = {"name": "known", "kind": "applied", "to": {"fitting": "right hook"}, "force_n": [0, 0, 1]}
    first = chart.visit(case, setup, elements=[bare, load])
    assert first["elements"] == [{**bare, "activated_on": "2026-03-02"}, load]
    second = chart.visit(case, setup, visited_on="2026-03-30", elements=first["elements"])
    answer = body_of(chart.get(f"/v1/visits/{second['id']}/force-system"))
    assert answer["elements"][0]["days_active"] == 28, "copied to the next visit it keeps its day"
    assert chart.visit(case, setup, visited_on="2026-04-30", elements=[])["elements"] == []


def kept(api, visit):
    return int(api.sql(f"select count(*) from holdfast.evaluations where visit_id = '{visit['id']}'"))


def test_an_answer_is_kept_once(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    path = f"/v1/visits/{visit['id']}"
    for _ in range(2):
        expect(chart.get(f"{path}/stability"), 200)
        whole = chart.get(f"{path}/force-system")
    assert kept(api, visit) == 1
    stored = api.sql(f"select answer from holdfast.evaluations where visit_id = '{visit['id']}'")
    assert stored.encode() == whole[2], "what is kept is the answer as it was sent"
    expect(chart.get(f"{path}/force-system?on=2026-04-13"), 200)
    assert kept(api, visit) == 2
    expect(chart.patch(path, {"elements": [{**CHAIN, "force_n": 1.0}]}), 200)
    changed = chart.get(f"{path}/force-system")
    assert changed[2] != whole[2] and kept(api, visit) == 3, "a corrected visit adds an answer, the old one stays"


def test_entity_tags_of_answers(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    first = chart.get(f"/v1/visits/{visit['id']}/force-system")
    etag = first[1]["ETag"]
    assert body_of(first)["digest"] in etag and not etag.startswith("W/")
    assert chart.get(f"/v1/visits/{visit['id']}/force-system", **{"If-None-Match": etag})[0] == 304
    later = chart.get(f"/v1/visits/{visit['id']}/force-system?on=2026-03-03", **{"If-None-Match": etag})
    assert later[0] == 200 and later[1]["ETag"] != etag


def test_a_plate_change_keeps_old_visits(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    first = chart.visit(case, setup)
    before = chart.get(f"/v1/visits/{first['id']}/force-system")
    bars = [PLATE["bars"][0], {**PLATE["bars"][1], "section": {"round_mm": 0.9}}]
    expect(chart.patch(f"/v1/setups/{setup['id']}", {"bars": bars, "worn_from": "2026-04-01"}), 200)
    second = chart.visit(case, setup, visited_on="2026-04-13")
    assert first["worn"] == [{"setup_id": setup["id"], "version": 1}]
    assert second["worn"] == [{"setup_id": setup["id"], "version": 2}], "left out: the version worn that day"
    document = body_of(chart.get(f"/v1/visits/{second['id']}/mechanics-document"))
    assert document["plates"][0]["bars"] == bars
    assert chart.get(f"/v1/visits/{first['id']}/force-system")[2] == before[2]


def test_own_site_figures_enter_the_document(api):
    chart = Chart(api, api.clinic_b)
    case, setup = chart.worn_case()
    site = body_of(chart.get("/v1/sites?key=palate-paramedian"))["items"][0]
    expect(chart.patch(f"/v1/sites/{site['id']}", {"loss_low": 0.2, "loss_mid": 0.3, "loss_high": 0.4}), 200)
    visit = chart.visit(case, setup)
    document = body_of(chart.get(f"/v1/visits/{visit['id']}/mechanics-document"))
    assert document["sites"][0]["key"] == "palate-paramedian"
    assert document["sites"][0]["loss"] == {"low": 0.2, "mid": 0.3, "high": 0.4}
    answer = body_of(chart.get(f"/v1/visits/{visit['id']}/force-system"))
    causes = answer["stability"]["screws"][0]["because"]
    assert [c["base_loss"] for c in causes if "base_loss" in c] == [0.3]


def test_what_a_visit_may_not_say(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    other_case, other_setup = chart.worn_case()
    body = {"case_id": case["id"], "visited_on": "2026-03-02",
            "worn": [{"setup_id": setup["id"], "version": 9}, {"setup_id": other_setup["id"]}, {"setup_id": "17"},
                     {"setup_id": setup["id"]}],
            "screw_checks": [{"screw": "gone", "mobility_grade": 1}]}
    assert pointers(chart.post("/v1/visits", body)) == \
        ["/screw_checks/0/screw", "/worn/0/version", "/worn/1/setup_id", "/worn/2/setup_id", "/worn/3/setup_id"]
    early = {"case_id": case["id"], "visited_on": "2026-01-01", "worn": [{"setup_id": setup["id"]}]}
    assert pointers(chart.post("/v1/visits", early)) == ["/worn/0/setup_id"]
    grade = {"case_id": case["id"], "visited_on": "2026-03-02", "screw_checks": [{"screw": "right", "mobility_grade": 4}],
             "actions": [{"action": "painted"}], "measures": {"overjet_cm": 1}}
    assert pointers(chart.post("/v1/visits", grade)) == \
        ["/actions/0/action", "/measures/overjet_cm", "/screw_checks/0/mobility_grade"]
    chart.visit(case, setup)
    assert pointers(chart.post("/v1/visits", {"case_id": case["id"], "visited_on": "2026-03-02"}), 409) == ["/visited_on"]


def test_a_visit_that_cannot_be_evaluated_yet(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    elements = [{**CHAIN, "from": {"fitting": "no such hook"}}]
    visit = chart.visit(case, setup, elements=elements)
    answer = chart.get(f"/v1/visits/{visit['id']}/force-system")
    assert any(p.startswith("/elements/0") for p in pointers(answer)), answer
    assert kept(api, visit) == 0


def test_days_are_days(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    for part in ("force-system", "stability", "mechanics-document"):
        path = f"/v1/visits/{visit['id']}/{part}"
        assert pointers(chart.get(f"{path}?on=2026-02-30"), 400) == ["?on"]
        assert pointers(chart.get(f"{path}?at=2026-03-02"), 400) == ["?at"]
        assert pointers(chart.get(f"{path}?on=2026-03-02&on=2026-03-03"), 400) == ["?on"]


def test_a_record_that_is_not_complete_says_what_is_missing(api):
    """A screw may be stored before its place is measured: the document lacks it, the force system names it."""
    chart = Chart(api)
    case, model = chart.case(), chart.model()
    screw = chart.screw(case, model, "right", 4)
    chart.screw(case, model, "left", -4)
    visit = chart.visit(case, chart.setup(case))
    expect(chart.patch(f"/v1/screws/{screw['id']}", {"entry": None}), 200)
    document = expect(chart.get(f"/v1/visits/{visit['id']}/mechanics-document"), 200)
    place = next(i for i, told in enumerate(document["screws"]) if told["name"] == "right")
    assert "entry_mm" not in document["screws"][place]
    problem = expect(chart.get(f"/v1/visits/{visit['id']}/force-system"), 422)
    assert f"/screws/{place}/entry_mm" in [error["pointer"] for error in problem["errors"]]
