"""What visits see of the screws, and what the clinic's other screws say of a site."""
from chart import Chart, body_of, expect


def document_of(chart, visit, query=""):
    return expect(chart.get(f"/v1/visits/{visit['id']}/mechanics-document{query}"), 200)


def screw_of(document, name="right"):
    return next(s for s in document["screws"] if s["name"] == name)


def check(**seen):
    return {"screw_checks": [{"screw": "right", **seen}]}


def test_scores_reach_the_document(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    chart.visit(case, setup, visited_on="2026-02-20", **check(resonance_score=36.1, percussion_score=4.9))
    later = chart.visit(case, setup, visited_on="2026-03-30", **check(resonance_score=25.1))
    screw = screw_of(document_of(chart, later))
    assert (screw["resonance_score"], screw["resonance_at_placement"]) == (25.1, 36.1)
    assert "percussion_score" not in screw and "resonance_score" not in screw_of(document_of(chart, later), "left")
    found = body_of(chart.get(f"/v1/visits/{later['id']}/stability"))["findings"]
    assert [(f["severity"], f["value"]) for f in found if f["code"] == "resonance-fall"] == [("note", 11)]
    assert not any(f["code"] == "resonance-score" for f in found), "a fall of 11 is usual"


def test_a_late_first_reading_is_none_of_placement(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    chart.visit(case, setup, visited_on="2026-03-02", **check(resonance_score=33))
    later = chart.visit(case, setup, visited_on="2026-03-30", **check(resonance_score=24))
    assert "resonance_at_placement" not in screw_of(document_of(chart, later))
