"""The timeline of a case: every dated record once, in the order of the days."""
from chart import NUMBERS, PLATE, Chart, expect


def told(chart, case):
    return expect(chart.get(f"/v1/cases/{case['id']}/timeline"), 200)


def test_everything_that_happened_in_order(api):
    chart = Chart(api)
    case = chart.case(opened_on="2026-01-10", title="<b>\"molars\" & co</b>",
                      stages=[{"name": "intrusion", "planned_from": "2026-02-01", "planned_to": "2026-06-01"}, {"name": "some day"}])
    model = chart.model(name="2.0 x 9")
    right, left = chart.screw(case, model, "right", 4), chart.screw(case, model, "left", -4, placed_on="2026-02-20")
    setup = chart.setup(case, name="plate", worn_from="2026-02-16")
    visit = chart.visit(case, setup, actions=[{"action": "activated", "of": "chain right"}, {"action": "instructed"}])
    expect(chart.patch(f"/v1/setups/{setup['id']}", {"worn_from": "2026-04-01", "nodes": PLATE["nodes"]}), 200)
    expect(chart.patch(f"/v1/screws/{left['id']}", {"state": "lost", "state_on": "2026-05-05", "state_reason": "fell out"}), 200)
    expect(chart.patch(f"/v1/setups/{setup['id']}", {"worn_to": "2026-05-05"}), 200)
    expect(chart.patch(f"/v1/cases/{case['id']}", {"state": "stopped", "closed_on": "2026-06-01"}), 200)
    answer = told(chart, case)
    assert answer["complete"] is True
    assert [(e["on"], e["kind"], e["id"], e["words"]) for e in answer["items"]] == [
        ("2026-01-10", "case-opened", case["id"], "Case opened: <b>\"molars\" & co</b>"),
        ("2026-02-01", "stage-planned", case["id"], "Stage planned: intrusion"),
        ("2026-02-16", "screw-placed", right["id"], "Screw right placed"),
        ("2026-02-16", "setup-worn", setup["id"], "plate worn"),
        ("2026-02-20", "screw-placed", left["id"], "Screw left placed"),
        ("2026-03-02", "visit", visit["id"], "Visit: activated chain right, instructed"),
        ("2026-04-01", "setup-worn", setup["id"], "plate worn, version 2"),
        ("2026-05-05", "setup-ended", setup["id"], "plate no longer worn"),
        ("2026-05-05", "screw-lost", left["id"], "Screw left lost"),
        ("2026-06-01", "case-stopped", case["id"], "Case stopped")]
    by_kind = {e["kind"]: e for e in answer["items"]}
    assert by_kind["screw-lost"]["reason"] == "fell out" and by_kind["stage-planned"]["until"] == "2026-06-01"
    assert by_kind["visit"]["next_on"] == "2026-04-13" and len(by_kind["visit"]["actions"]) == 2
    for entry in answer["items"]:
        assert expect(chart.get(entry["href"]), 200)["id"] == entry["id"]


def test_a_new_case_has_an_empty_one(api):
    chart = Chart(api)
    case = chart.case()
    assert told(chart, case) == {"items": [], "complete": True}
    assert chart.get("/v1/cases/01890a5d-ac96-774b-bcce-b302099a8057/timeline")[0] == 404


def test_the_latest_are_told_where_it_is_too_long(api):
    chart = Chart(api)
    case = chart.case(opened_on="2000-01-01", title=f"long {next(NUMBERS)}")
    api.sql(f"set search_path = holdfast; set app.clinic = '{chart.clinic.id}'; insert into visits (id, case_id, visited_on) "
            f"select gen_random_uuid(), '{case['id']}', date '2000-01-01' + n from generate_series(1, 2000) n")
    answer = told(chart, case)
    assert answer["complete"] is False and len(answer["items"]) == 2000
    assert answer["items"][0]["on"] == "2000-01-02" and answer["items"][-1]["on"] == "2005-06-23"
