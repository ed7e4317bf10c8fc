"""What became of the clinic's screws. The screws stay as long as the patients of a data set that comes with R: its package
survival (3.5, R 4.2.2) has told their product limit, survfit(Surv(time, status) ~ 1, conf.type = "log-log")."""
import math
from datetime import date, timedelta

from chart import NUMBERS, Chart, expect, pointers
from installation import Clinic

TODAY = date(2026, 3, 2)
# aml (Miller 1997), maintained and not; negative: not lost by then.
MAINTAINED = [9, 13, -13, 18, 23, -28, 31, 34, -45, 48, -161]
OTHERS = [5, 5, 8, 8, 12, -16, 23, 27, 30, 33, 43, 45]
# days, at risk, lost, survival, standard error, low, high
MAINTAINED_TOLD = [
    (9, 11, 1, 0.909090909090909, 0.0866784172041448, 0.5080802057699297, 0.986673822667823),
    (13, 10, 1, 0.818181818181818, 0.1162912998303329, 0.4474286146821814, 0.951162228582492),
    (18, 8, 1, 0.715909090909091, 0.1396649705572278, 0.3501903859079384, 0.899023974191053),
    (23, 7, 1, 0.613636363636364, 0.1526323310273120, 0.2657520400012861, 0.835299243250221),
    (31, 5, 1, 0.490909090909091, 0.1641932672211358, 0.1673309097768508, 0.753399790370811),
    (34, 4, 1, 0.368181818181818, 0.1626688858270948, 0.0928295749369852, 0.657040832398164),
    (48, 2, 1, 0.184090909090909, 0.1534927457862937, 0.0117384801231896, 0.525014842726641)]
MEMBERS = ("days", "at_risk", "lost", "survival", "standard_error", "low", "high")


class Fresh(Chart):
    """A clinic of its own: outcomes count every screw of it."""

    def __init__(self, api):
        super().__init__(api, Clinic(api.program, f"Outcomes clinic {next(NUMBERS)}"))

    def screws(self, case, model, lives, **more):
        """One per life. Those not lost are removed, or in place when the day is today's."""
        for i, life in enumerate(lives):
            placed = TODAY - timedelta(days=abs(life)) - timedelta(days=0 if life < 0 and i % 2 else 100)
            end = placed + timedelta(days=abs(life))
            state = {"state": "lost" if life > 0 else "removed", "state_on": end.isoformat()} if end != TODAY else {}
            self.make("/v1/screws", {"case_id": case["id"], "name": f"s{i}", "site": "palate-paramedian",
                                     "screw_model_id": model["id"], "placed_on": placed.isoformat(), **state, **more})

    def survival(self, query=""):
        return expect(self.get(f"/v1/outcomes/survival?on={TODAY.isoformat()}{query}"), 200)


def close(got, want, tolerance=1e-9):
    assert abs(got - want) <= tolerance * max(abs(want), 1e-3), f"{got} instead of {want}"


def compare(steps, told):
    assert len(steps) == len(told)
    for step, want in zip(steps, told):
        for member, figure in zip(MEMBERS, want):
            close(step[member], figure)


def filled(api):
    chart = Fresh(api)
    first, second = chart.case(clinician="first"), chart.case(clinician="second")
    models = chart.model(name="thick"), chart.model(name="thin")
    chart.screws(first, models[0], MAINTAINED)
    chart.screws(second, models[1], OTHERS)
    return chart, models


def test_the_curve_is_the_one_r_tells(api):
    chart, models = filled(api)
    answer = chart.survival("&by=operator")
    assert answer["on"] == TODAY.isoformat() and answer["by"] == "operator"
    first, second = answer["groups"]
    assert (first["key"], first["screws"], first["lost"], first["last_days"]) == ("first", 11, 7, 161)
    compare(first["steps"], MAINTAINED_TOLD)
    assert first["median_days"] == {"low": 13, "mid": 31} and second["median_days"] == {"low": 5, "mid": 23, "high": 33}
    last = second["steps"][-1]
    assert last["survival"] == 0 and "low" not in last and "standard_error" not in last
    assert "base" not in first, "only sites have published losses"
    by_model = {g["name"]: g for g in chart.survival("&by=model")["groups"]}
    compare(by_model["thick"]["steps"], MAINTAINED_TOLD)
    assert by_model["thin"]["key"] == models[1]["id"] and by_model["thin"]["lost"] == 11


def below(share, lost, treatments):
    """Share of the posterior under `share`: logit-normal prior of Mohammed et al. 2018, 4.8 % (1.6 to 13.4), widened by
    what clinics differ (0.86, from Katyal et al. 2024), times the binomial; midpoint rule."""
    def logit(p):
        return math.log(p / (1 - p))
    sd = math.hypot((logit(0.134) - logit(0.016)) / (2 * 1.959963984540054), 0.86)
    points, under, whole = 20000, 0.0, 0.0
    for i in range(points):
        p = (i + 0.5) / points
        weight = math.exp(-((logit(p) - logit(0.048)) / sd) ** 2 / 2 + lost * math.log(p) + (treatments - lost) * math.log(1 - p)
                          ) / (p * (1 - p))
        whole += weight
        under += weight if p < share else 0.0
    return under / whole


def test_own_screws_weigh_in_on_the_published_loss(api):
    chart, _ = filled(api)
    answer = chart.survival()
    group, = answer["groups"]
    assert answer["by"] == "site" and group["key"] == "palate-paramedian" and group["screws"] == 23
    base = group["base"]
    assert base["published"] == {"low": 0.016, "mid": 0.048, "high": 0.134}
    # Lost: one treatment each. Kept: the danger of the first days by the share of a year to the power of 0.265.
    kept = [-life for life in MAINTAINED + OTHERS if life < 0]
    assert base["own"]["lost"] == 18
    close(base["own"]["treatments"], 18 + sum((days / 365) ** 0.265 for days in kept), 1e-9)
    for end, share in (("low", 0.025), ("mid", 0.5), ("high", 0.975)):
        close(below(base["result"][end], 18, base["own"]["treatments"]), share, 0.02)
    assert base["prior"]["low"] < base["published"]["low"] and base["prior"]["high"] > base["published"]["high"]
    assert base["source"] in answer["sources"] and "katyal-2024" in answer["sources"]


def test_small_groups_are_named_and_not_told(api):
    chart = Fresh(api)
    case, model = chart.case(clinician="careful"), chart.model()
    chart.screws(case, model, [5, -7, -9, -11])
    group, = chart.survival("&by=operator")["groups"]
    assert group == {"key": "careful", "name": "careful", "suppressed": True}
    chart.make("/v1/screws", {"case_id": case["id"], "name": "fifth", "site": "palate-paramedian",
                              "screw_model_id": model["id"], "placed_on": TODAY.isoformat()})
    group, = chart.survival("&by=operator")["groups"]
    assert group["screws"] == 5 and group["lost"] == 1 and len(group["steps"]) == 1


def test_age_is_that_at_placement(api):
    chart = Fresh(api)
    model = chart.model()
    # Placed 110 days before TODAY, 2025-11-12: the day before the 20th birthday, and that of the 20th and the 30th.
    for born, many in (("2005-11-13", 5), ("2005-11-12", 6), ("1995-11-12", 7), (None, 5)):
        patient = chart.patient(**({"birth_date": born} if born else {}))
        chart.screws(chart.case(patient=patient), model, [10] * many)
    groups = chart.survival("&by=age_group")["groups"]
    assert [(g.get("key"), g["screws"]) for g in groups] == [("0-19", 5), ("20-29", 6), ("30-up", 7), (None, 5)]


def test_the_day_decides_what_is_known(api):
    chart = Fresh(api)
    chart.screws(chart.case(clinician="one"), chart.model(), [50, 50, 50, 50, -60])
    late, = chart.survival("&by=operator")["groups"]
    assert late["lost"] == 4
    # Placed 150 days before TODAY, lost 50 days later: on the 20th day all are in place.
    early = expect(chart.get(f"/v1/outcomes/survival?by=operator&on={(TODAY - timedelta(days=130)).isoformat()}"), 200)
    group, = early["groups"]
    assert group.get("suppressed") is None and group["screws"] == 5 and group["lost"] == 0 and group["steps"] == []
    assert group["last_days"] == 30 and "median_days" not in group
    before = expect(chart.get("/v1/outcomes/survival?on=2020-01-01"), 200)
    assert before["groups"] == [] and before["on"] == "2020-01-01"
    loose = chart.case(clinician="two")
    for i in range(5):
        chart.make("/v1/screws", {"case_id": loose["id"], "name": f"s{i}", "site": "palate-paramedian", "screw_model_id":
                                  chart.model()["id"], "placed_on": "2026-02-20", "state": "loose", "state_on": "2026-02-25"})
    told = {g["key"]: g for g in chart.survival("&by=operator")["groups"]}
    assert told["two"]["lost"] == 0 and told["two"]["last_days"] == 10, "a loose screw is still in place"


def test_refusals(api):
    chart = Chart(api)
    assert pointers(chart.get("/v1/outcomes/survival?by=moon&on=soon"), 400) == ["?by", "?on"]
    assert pointers(chart.get("/v1/outcomes/survival?sort=key"), 400) == ["?sort"]
    assert api.request("GET", "/v1/outcomes/survival")[0] == 401
    assert api.request("GET", "/v1/outcomes/survival", token=chart.clinic.tokens["auditor"])[0] == 403
    assert expect(Fresh(api).get("/v1/outcomes/survival"), 200)["groups"] == [], "another clinic's screws are not seen"


def test_a_site_of_the_clinic_itself(api):
    chart = Fresh(api)
    case, model = chart.case(), chart.model()
    chart.make("/v1/sites", {"key": "own-place", "name": "a place of its own", "jaw": "maxilla", "source": "own chart review",
                             "loss_low": 0.02, "loss_mid": 0.05, "loss_high": 0.12})
    chart.make("/v1/sites", {"key": "unknown-place", "name": "nothing known", "jaw": "maxilla"})
    for site in ("own-place", "unknown-place"):
        for i in range(5):
            chart.make("/v1/screws", {"case_id": case["id"], "name": f"{site} {i}", "site": site, "placed_on": "2026-01-01",
                                      "screw_model_id": model["id"]})
    own, unknown = chart.survival()["groups"]
    assert own["base"]["published"] == {"low": 0.02, "mid": 0.05, "high": 0.12}
    assert own["base"]["source"] == "own chart review" and own["base"]["result"]["mid"] < 0.05
    assert "base" not in unknown and unknown["screws"] == 5
