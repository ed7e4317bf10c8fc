"""How far a course has come: goals against what the visits measured. Every number expected is worked out here from what
the papers print, not by the service."""
import math
from datetime import date, timedelta

from chart import CHAIN, Chart, expect, pointers

MONTH = 30.4375
FIRST = date(2026, 3, 2)
Z = 1.959963984540054
# Posterior intrusion, mm a month (value from memory): middle and range of the published means; persons' spread 0.4.
RATE, LOW, HIGH, PERSONS = 0.4, 0.27, 1.0, 0.4


def day(days):
    return (FIRST + timedelta(days=days)).isoformat()


def close(got, want, tolerance=1e-9):
    assert abs(got - want) <= tolerance * max(abs(want), 1), f"{got} instead of {want}"


def course(chart, goals, figures=()):
    """A case with these goals, a first visit that starts the force, and a visit per (days, measures)."""
    case, model = chart.case(goals=goals), chart.model()
    chart.screw(case, model, "right", 4)
    chart.screw(case, model, "left", -4)
    setup = chart.setup(case)
    chart.visit(case, setup, visited_on=day(0))
    for days, measures in figures:
        chart.visit(case, setup, visited_on=day(days), measures=measures)
    return case


def moved(**figures):
    return {"segments": [{"segment": "upper right molars", **figures}]}


def progress(chart, case, on):
    return expect(chart.get(f"/v1/cases/{case['id']}/progress?on={on}"), 200)


INTRUDE = {"segment": "upper right molars", "occlusal_mm": -2}


def test_before_anything_is_measured_the_published_rate_stands(api):
    chart = Chart(api)
    answer = progress(chart, course(chart, [INTRUDE]), day(61))
    assert answer["on"] == day(61) and answer["findings"] == []
    goal, = answer["goals"]
    assert goal["movement"] == "posterior-intrusion" and goal["measure"] == "occlusal_mm" and goal["measured"] == []
    assert goal["from"] == day(0), "the first visit with a force element"
    assert "estimate" not in goal
    spread = math.exp(Z * math.hypot(math.log(HIGH / LOW) / (2 * Z), PERSONS))
    close(goal["expected"]["per_month"]["mid"], -RATE)
    close(goal["expected"]["per_month"]["low"], -RATE * spread)
    close(goal["expected"]["per_month"]["high"], -RATE / spread)
    close(goal["expected"]["now"]["mid"], -RATE * 61 / MONTH)
    close(goal["remaining"]["days"]["mid"], 2 / RATE * MONTH - 61)
    # Baek et al. 2010: 0.45 of 2.39 mm in three years, 80 % of it in the first.
    close(goal["relapse"]["three_years_mm"]["mid"], 0.45 / 2.39 * 2, 0.005)
    close(goal["relapse"]["first_year_mm"]["mid"], 0.8 * 0.45 / 2.39 * 2, 0.005)
    # Kassem & Marzouk 2018: overbite deepens two-fold, chin point up as much.
    close(goal["autorotation"]["overbite_mm"]["mid"], 4.0, 0.01)
    close(goal["autorotation"]["menton_up_mm"]["mid"], 2.0, 0.01)
    assert "baek-2010" in answer["sources"] and "from memory" in answer["sources"]["molar-intrusion-series"]
    assert "judgement" in answer["notice"]


def test_measurements_are_weighed_against_the_published_rate(api):
    chart = Chart(api)
    case = course(chart, [{**INTRUDE, "by": day(150)}], [(61, moved(occlusal_mm=-0.4)), (122, moved(occlusal_mm=-1.1))])
    answer = progress(chart, case, day(122))
    goal, = answer["goals"]
    assert goal["measured"] == [{"on": day(61), "value": -0.4}, {"on": day(122), "value": -1.1}]
    # Normal prior with the lognormal rate's mean and variance; two measurements of 0.5 mm (common practice).
    variance = (math.log(HIGH / LOW) / (2 * Z)) ** 2 + PERSONS ** 2
    mean = RATE * math.exp(variance / 2)
    before = 1 / (mean ** 2 * math.expm1(variance))
    t = [61 / MONTH, 122 / MONTH]
    precision = before + sum(x * x for x in t) / 0.25
    rate, sd = (before * mean + (t[0] * 0.4 + t[1] * 1.1) / 0.25) / precision, precision ** -0.5
    close(goal["estimate"]["per_month"]["mid"], -rate)
    close(goal["estimate"]["now"]["low"], -(rate + Z * sd) * t[1])
    close(goal["remaining"]["days"]["mid"], 2 / rate * MONTH - 122, 1e-8)
    close(goal["remaining"]["days"]["high"], 2 / (rate - Z * sd) * MONTH - 122, 1e-8)
    assert goal["by"] == day(150) and 0 < goal["remaining"]["chance_by"] < 0.5
    late, = answer["findings"]
    assert late["code"] == "goal-late" and late["subject"] == {"segment": "upper right molars"} and late["limit"] == 28
    # Asked for the day between, the later visit is not known yet.
    earlier, = progress(chart, case, day(100))["goals"]
    assert earlier["measured"] == goal["measured"][:1]


def test_figures_of_the_bite(api):
    chart = Chart(api)
    case = course(chart, [{"overbite_mm": 1}], [(1, {"overbite_mm": -3}), (123, {"overbite_mm": -1.2})])
    goal, = progress(chart, case, day(123))["goals"]
    assert "segment" not in goal and goal["movement"] == "overbite-change"
    # Eur J Orthod 2009: 2.25 mm in 4.55 months.
    close(goal["expected"]["per_month"]["mid"], 2.25 / 4.55, 0.01)
    close(goal["expected"]["now"]["mid"], -3 + 2.25 / 4.55 * 122 / MONTH, 0.02)
    assert -1.6 < goal["estimate"]["now"]["mid"] < -0.9
    unknown, = progress(chart, case, day(0))["goals"]
    assert "expected" not in unknown and "remaining" not in unknown, "nobody has measured from where"


def test_findings_of_a_course(api):
    chart = Chart(api)
    still = course(chart, [{"segment": "upper right molars", "mesial_mm": -5}],
                   [(91, moved(mesial_mm=-0.1, tip_deg=-12)), (183, moved(mesial_mm=-0.2, tip_deg=-13))])
    codes = {f["code"]: f for f in progress(chart, still, day(183))["findings"]}
    assert codes.keys() == {"no-progress", "side-effect"}, codes
    assert codes["side-effect"]["value"] == -13 and codes["side-effect"]["message"].startswith("tip, crown to mesial:")
    there = course(chart, [INTRUDE], [(183, moved(occlusal_mm=-2.6))])
    answer = progress(chart, there, day(183))
    assert {f["code"] for f in answer["findings"]} == {"goal-reached", "relapse-to-expect"}
    goal, = answer["goals"]
    assert goal["estimate"]["reached_on"] == day(183) and goal["estimate"]["now"]["mid"] == -2.6
    assert goal["remaining"]["days"] == {"low": 0, "mid": 0, "high": 0}


def test_force_and_movement_may_be_told(api):
    chart = Chart(api)
    # 4 N on two molars are as 129 gf on a canine: above 100 gf Iwasaki et al. saw a lag of 21 days.
    case = course(chart, [{"segment": "upper right molars", "mesial_mm": -3, "force_n": 4, "from": day(7)},
                          {"segment": "upper right molars", "buccal_mm": 2, "movement": "maxillary-protraction"}])
    driven, drawn = progress(chart, case, day(7))["goals"]
    assert driven["movement"] == "molar-distalisation" and driven["lag_days"] == 21 and driven["from"] == day(7)
    assert driven["expected"]["now"]["mid"] == 0
    # Sar et al. 2014: 3.11 mm in 7.4, 3.82 in 7.6 months.
    close(drawn["expected"]["per_month"]["mid"], (3.11 / 7.4 + 3.82 / 7.6) / 2, 0.01)


def test_goals_are_checked(api):
    chart = Chart(api)
    case = course(chart, [INTRUDE])
    assert pointers(chart.patch(f"/v1/cases/{case['id']}", {"goals": [
        {"occlusal_mm": -1}, {"segment": "upper right molars", "movement": "sideways", "force_n": 21, "tip_deg": "5"},
        {"segment": "nowhere", "by": "2026-02-30"}]})) == [
            "/goals/0/occlusal_mm", "/goals/1/force_n", "/goals/1/movement", "/goals/1/tip_deg", "/goals/2/by"]
    assert pointers(chart.patch(f"/v1/cases/{case['id']}", {"goals": [
        {"overbite_mm": 2}, {"segment": "nowhere"}]})) == ["/goals/1/segment"]
    expect(chart.patch(f"/v1/cases/{case['id']}", {"goals": [{"overbite_mm": {"value": 0.2, "unit": "cm"}}]}), 200)


def test_a_case_without_goals_and_one_of_another_clinic(api):
    chart = Chart(api)
    answer = expect(chart.get(f"/v1/cases/{chart.case()['id']}/progress"), 200)
    assert answer["goals"] == [] and answer["findings"] == [] and answer["on"] >= "2025-01-01"
    other = Chart(api, api.clinic_b).case()
    assert chart.get(f"/v1/cases/{other['id']}/progress")[0] == 404
    assert chart.get("/v1/cases/01890a5d-ac96-774b-bcce-b302099a8057/progress")[0] == 404
    path = f"/v1/cases/{chart.case()['id']}/progress"
    assert pointers(chart.get(path + "?on=yesterday"), 400) == ["?on"]
    assert pointers(chart.get(path + "?of=it"), 400) == ["?of"]
    assert api.request("GET", path)[0] == 401
    assert api.request("GET", path, token=chart.clinic.tokens["auditor"])[0] == 403


def test_the_course_begins_with_the_first_force(api):
    chart = Chart(api)
    case = chart.case(goals=[INTRUDE], opened_on=day(-30))
    path = f"/v1/cases/{case['id']}/progress?on={day(60)}"
    assert expect(chart.get(path), 200)["goals"][0]["from"] == day(-30)
    chart.make("/v1/visits", {"case_id": case["id"], "visited_on": day(0), "elements": []})
    assert expect(chart.get(path), 200)["goals"][0]["from"] == day(-30)
    load = {"name": "known", "kind": "applied", "to": {"tooth": "16", "at": "bracket"}, "force_n": [0, 0, 1]}
    chart.make("/v1/visits", {"case_id": case["id"], "visited_on": day(14), "elements": [load]})
    chart.make("/v1/visits", {"case_id": case["id"], "visited_on": day(42), "elements": [CHAIN]})
    assert expect(chart.get(path), 200)["goals"][0]["from"] == day(14)
