"""What visits see of the screws, and what the clinic's other screws say of a site."""
from chart import NUMBERS, Chart, body_of, expect, pointers
from installation import Clinic


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


def filled(api):
    """A clinic of its own with seven screws in another case and the visit of a second case."""
    chart = Chart(api, Clinic(api.program, f"Monitoring clinic {next(NUMBERS)}"))
    other, model = chart.case(), chart.model()
    lives = [("2025-01-01", {"state": "lost", "state_on": "2025-02-01"}),
             ("2024-01-01", {"state": "removed", "state_on": "2025-06-01"}),  # longer than a treatment
             ("2025-09-03", {}),  # 180 days on 2026-03-02
             ("2026-02-20", {"state": "lost", "state_on": "2026-03-20"}),  # 10 days, still in place on that day
             ("2026-03-02", {})]
    for i, (placed, state) in enumerate(lives):
        chart.screw(other, model, f"s{i}", 3 + i, placed_on=placed, **state)
    case, setup = chart.worn_case()
    return chart, other, model, chart.visit(case, setup)


def test_own_screws_reach_the_document(api):
    chart, other, model, visit = filled(api)
    rows = {row["key"]: row["value"] for row in expect(chart.get("/v1/evidence"), 200)["constants"]
            if row["key"] in ("loss-span", "loss-shape")}
    span, shape = rows["loss-span"], rows["loss-shape"]
    site, = document_of(chart, visit)["sites"]
    assert (site["key"], site["own_placed"], site["own_lost"]) == ("palate-paramedian", 5, 1)
    stood = 1 + 1 + (180 / span) ** shape + (10 / span) ** shape + 0
    assert abs(site["own_treatments"] - stood) < 1e-5, (site, stood)
    later, = document_of(chart, visit, "?on=2026-04-01")["sites"]
    assert later["own_lost"] == 2, "lost by then"
    answer = body_of(chart.get(f"/v1/visits/{visit['id']}/stability"))
    base, own = answer["stability"]["screws"][0]["because"][:2]
    assert base["base_loss"] == 0.048 and (own["placed"], own["lost"]) == (5, 1)
    assert own["base_loss"] > 0.048, "1 of 3.2 treatments is more than 4.8 %"


def test_few_own_screws_say_nothing(api):
    chart, other, model, visit = filled(api)
    assert "sites" not in document_of(chart, visit, "?on=2026-03-01"), "four screws by then, and this case's own two"


def test_a_figure_of_the_clinic_stands_for_itself(api):
    chart, other, model, visit = filled(api)
    admin = Chart(api, chart.clinic)
    admin.token = chart.clinic.tokens["admin"]
    row = next(s for s in expect(admin.get("/v1/sites?limit=200"), 200)["items"] if s["key"] == "palate-paramedian")
    changed = admin.patch(f"/v1/sites/{row['id']}",
                          {"loss_low": 0.02, "loss_mid": 0.05, "loss_high": 0.11, "source": "own measurement"})
    expect(changed, 200)
    site, = document_of(chart, visit)["sites"]
    assert site["loss"]["mid"] == 0.05 and "own_placed" not in site


def test_stability_tells_how_sure_it_is(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    path = f"/v1/visits/{visit['id']}"
    whole = chart.get(f"{path}/force-system")
    part, again = chart.get(f"{path}/stability"), chart.get(f"{path}/stability")
    assert part[2] == again[2], "the draws are fixed"
    told = expect(part, 200)["uncertainty"]
    assert "uncertainty" not in expect(whole, 200) and "uncertainty" not in document_of(chart, visit)
    assert chart.get(f"{path}/force-system")[2] == whole[2], "and not kept"
    assert (told["samples"], told["seed"]) == (2000, 1)
    assert {s["name"] for s in told["screws"]} == {"left", "right"}
    asked = chart.post("/v1/mechanics/evaluate", {**document_of(chart, visit), "uncertainty": {"samples": 2000, "seed": 1}})
    assert expect(asked, 200)["uncertainty"] == told, "whoever asks the document for them gets the same"
    other = chart.post("/v1/mechanics/evaluate", {**document_of(chart, visit), "uncertainty": {"samples": 2000, "seed": 2}})
    assert expect(other, 200)["uncertainty"]["screws"] != told["screws"]


def test_draws_have_a_price(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    document = document_of(chart, chart.visit(case, setup))

    def asked(**members):
        return {**document, "uncertainty": members}
    assert pointers(chart.post("/v1/mechanics/evaluate", asked(samples=99))) == ["/uncertainty/samples"]
    assert pointers(chart.post("/v1/mechanics/evaluate", asked(samples=20001))) == ["/uncertainty/samples"]
    assert pointers(chart.post("/v1/mechanics/evaluate", asked(seed=1))) == ["/uncertainty/samples"]
    many = {"variants": [asked(samples=20000)] * 10}
    assert pointers(chart.post("/v1/mechanics/evaluate", many)) == ["/variants"]
