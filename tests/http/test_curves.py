"""Curves as SVG: what is drawn and written equals the JSON of the same path. Positions are read by the axes' own labels."""
from datetime import date

from chart import CHAIN, Chart, expect
from picture import Axis, Picture, day_number, shown, value_of
from test_demo import Demo
from test_outcomes import MAINTAINED, OTHERS, TODAY, Fresh
from test_progress import INTRUDE, course, day, moved

DRAWN = {"Accept": "image/svg+xml"}
NASTY = "<b>&\"'\u05d0\u05d1\u05d2 " + "name " * 38


def near(got, want, within=1.0):
    assert abs(got - want) <= within, f"{got} instead of {want}"


def draw(chart, path):
    picture = Picture(chart.get(path, **DRAWN))
    picture.check_legible()
    return picture


def trace(api, clinic, path):
    """How often the audit of a clinic tells of a path without its words in braces."""
    return int(api.sql("select count(*) from (select resource, clinic_id from holdfast.audit union all "
                       "select resource, clinic_id from holdfast.audit_unsealed) a "
                       f"where clinic_id = '{clinic.id}' and resource = '{path}'"))


# ---------------------------------------------------------------- how long screws stay

def followed(api):
    chart = Fresh(api)
    model = chart.model()
    for clinician, lives in (("first " + NASTY[:180], MAINTAINED), ("second", OTHERS), ("few", [5, -9]), ("kept", [-50] * 6)):
        chart.screws(chart.case(clinician=clinician), model, lives)
    return chart


def lower_edge(points, x):
    """Where a stepped outline is lowest in the picture at x."""
    hits = [y for (x0, y), (x1, _) in zip(points, points[1:] + points[:1]) if min(x0, x1) - 1e-6 <= x <= max(x0, x1) + 1e-6]
    return max(hits)


def test_survival_is_drawn_as_told(api):
    chart = followed(api)
    path = f"/v1/outcomes/survival?on={TODAY}&by=operator"
    told = {g["name"]: g for g in expect(chart.get(path), 200)["groups"]}
    picture = draw(chart, path)
    panels = {g.title(): g for g in picture.every("g", "group")}
    assert panels.keys() == {name for name in told if name != "few"}
    for name, panel in panels.items():
        group = told[name]
        x, y = picture.axis(panel, "x"), picture.axis(panel, "y")
        corners = [(0, 100)]
        for step in group["steps"]:
            corners += [(step["days"], corners[-1][1]), (step["days"], 100 * step["survival"])]
        corners.append((group["last_days"], corners[-1][1]))
        points = panel.one("path", "curve").points()
        assert len(points) == len(corners)
        for (px, py), (days, share) in zip(points, corners):
            near(px, x(days))
            near(py, y(share))
        words = panel.texts()
        assert f"{group['screws']} screws, {group['lost']} lost, followed for up to {group['last_days']} days" in words
    first = panels[next(n for n in panels if n.startswith("first"))]
    x, y = picture.axis(first, "x"), picture.axis(first, "y")
    edge = first.one("path", "band").points()
    for step, after in zip(told[first.title()]["steps"], told[first.title()]["steps"][1:]):
        between = x((step["days"] + after["days"]) / 2)
        near(lower_edge(edge, between), y(100 * step["low"]))
    ticks = first.one("path", "censor").points()[::2]
    assert [round(px - x(0)) for px, _ in ticks] == [round(x(-life) - x(0)) for life in MAINTAINED if life < 0]
    assert "half lost after 31 days (95 %: 13 to –)" in first.texts()
    assert "none lost so far" in panels["kept"].texts() and "Too few screws to be told of: few" in picture.texts()


def test_numbers_at_risk_are_those_still_followed(api):
    chart = followed(api)
    picture = draw(chart, f"/v1/outcomes/survival?on={TODAY}&by=operator")
    panels = {g.title(): g for g in picture.every("g", "group")}
    for name, lives in (("second", OTHERS), ("kept", [-50] * 6)):
        days = [int(t) for t in panels[name].one("g", "axis-x").texts()]
        assert 50 in days, "the last day of those kept: they are at risk on it"
        assert panels[name].one("g", "at-risk").texts()[1:] == [str(sum(abs(life) >= d for life in lives)) for d in days]


# ---------------------------------------------------------------- progress against goals

def ordinal(text):
    return date.fromisoformat(text).toordinal()


def test_progress_is_drawn_as_told(api):
    chart = Chart(api)
    case = course(chart, [{**INTRUDE, "by": day(150)}, {"overbite_mm": 1}],
                  [(61, {**moved(occlusal_mm=-0.4), "overbite_mm": -2}), (122, moved(occlusal_mm=-1.1))])
    path = f"/v1/cases/{case['id']}/progress?on={day(122)}"
    told = expect(chart.get(path), 200)
    picture = draw(chart, path)
    panels = list(picture.every("g", "goal-panel"))
    assert [p.title() for p in panels] == ["upper right molars", "bite"]
    for panel, goal in zip(panels, told["goals"]):
        x, y = picture.axis(panel, "x", day_number), picture.axis(panel, "y")
        on = x(ordinal(told["on"]))
        seen = [c.centre() for c in panel.every("circle", "measured")]
        assert len(seen) == len(goal["measured"])
        for (px, py), measured in zip(seen, goal["measured"]):
            near(px, x(ordinal(measured["on"])))
            near(py, y(measured["value"]))
        near(panel.one("line", "goal").ends()[0][1], y(goal["wished"]))
        near(panel.one("line", "today").ends()[0][0], on)
        now = goal["estimate"]["now"]
        whisker = next(panel.one("g", "now").every("line", "whisker")).ends()
        near(whisker[0][1], y(now["low"]))
        near(whisker[1][1], y(now["high"]))
        assert f"goal {shown(goal['wished'])}, now {shown(now['mid'])} ({shown(now['low'])} to {shown(now['high'])})" in panel.texts()
        band = panel.one("path", "band").points()
        upper, lower = band[:len(band) // 2], band[len(band) // 2:]
        for edge, end in ((upper, "high"), (lower, "low")):
            near(min(edge, key=lambda p: abs(p[0] - on))[1], y(goal["expected"]["now"][end]), 2.5)
    intrusion, days = panels[0], told["goals"][0]["remaining"]["days"]
    x = picture.axis(intrusion, "x", day_number)
    near(intrusion.one("line", "planned").ends()[0][0], x(ordinal(day(150))))
    arrival = next(intrusion.one("g", "arrival").every("line", "whisker")).ends()
    near(arrival[0][0], x(ordinal(told["on"]) + days["low"]))
    edge = max(line.ends()[1][0] for line in intrusion.one("g", "axis-x").every("line", "axis"))
    near(arrival[1][0], min(x(ordinal(told["on"]) + days["high"]), edge))
    late, = [f for f in told["findings"] if f["code"] == "goal-late"]
    found = [g.title() for g in intrusion.every("g", "finding", "caution")]
    assert found == [late["message"]] and "▲" in intrusion.texts()
    assert told["notice"] in picture.description


def test_arrival_is_the_date_that_is_told(api):
    chart = Chart(api)
    case = course(chart, [INTRUDE], [(61, moved(occlusal_mm=-0.4)), (122, moved(occlusal_mm=-1.1))])
    path = f"/v1/cases/{case['id']}/progress?on={day(122)}"
    days = expect(chart.get(path), 200)["goals"][0]["remaining"]["days"]
    low, mid, high = (date.fromordinal(ordinal(day(122)) + -int(-days[end] // 1)) for end in ("low", "mid", "high"))
    assert f"arrives {mid} ({low} to {high})" in draw(chart, path).texts()


def test_what_is_not_measured_is_not_drawn(api):
    chart = Chart(api)
    case = course(chart, [{**INTRUDE, "segment": "upper right molars"}, {"overbite_mm": 1}])
    panels = list(draw(chart, f"/v1/cases/{case['id']}/progress?on={day(61)}").every("g", "goal-panel"))
    expected = expect(chart.get(f"/v1/cases/{case['id']}/progress?on={day(61)}"), 200)["goals"][0]["expected"]["now"]
    assert (f"goal −2, not measured; expected {shown(expected['mid'])} ({shown(expected['low'])} to {shown(expected['high'])})"
            in panels[0].texts())
    assert not list(panels[0].every("circle")) and not list(panels[0].every("g", "now"))
    assert "goal 1, not measured" in panels[1].texts() and not list(panels[1].every("path", "band"))
    assert "no date without a first measurement" in panels[1].texts()
    late = f"/v1/cases/{case['id']}/progress?on={day(400)}"
    days = expect(chart.get(late), 200)["goals"][0]["remaining"]["days"]
    last = date.fromordinal(ordinal(day(400)) - int(-days["high"] // 1))
    assert days["mid"] == 0 and f"should be reached by now (up to {last})" in draw(chart, late).texts()
    bare = draw(chart, f"/v1/cases/{chart.case()['id']}/progress")
    assert "The case has no goals yet." in bare.texts()


def test_a_goal_that_is_reached_and_movement_nobody_wished(api):
    chart = Chart(api)
    case = course(chart, [INTRUDE], [(183, moved(occlusal_mm=-2.6, mesial_mm=4))])
    path = f"/v1/cases/{case['id']}/progress?on={day(183)}"
    picture, told = draw(chart, path), expect(chart.get(path), 200)
    assert f"reached on {day(183)}" in picture.texts() and not list(picture.every("g", "arrival"))
    marked = [g.title() for g in picture.every("g", "finding")]
    assert sorted(marked) == sorted(f["message"] for f in told["findings"]) and len(marked) == 3


# ---------------------------------------------------------------- screws

FIGURES = [  # of the answer, of its limits: the number, caution, stop; times
    (lambda s: s["cortex"]["peak_stress_mpa"], "cortex_caution_mpa", "cortex_stop_mpa", 1),
    (lambda s: s["axis_moment_nmm"], "unscrewing_caution_nmm", "unscrewing_stop_nmm", 1),
    (lambda s: s["capacity"]["pull_out"], "pull_out_caution", None, 100),
    (lambda s: s["capacity"]["core_torsion"], "core_torsion_caution", None, 100),
]


def percent(share):
    return "<0.01" if 0 < share < 1e-4 else shown(100 * share, 2)


def limits_of(cell):
    """{what the label says: where the line stands} of the dashed lines of a cell."""
    labels = [t for t in cell.every("text") if t.at()[1] > max(line.ends()[0][1] for line in cell.every("line", "axis"))]
    lines = list(cell.every("line", "limit"))
    return [(value_of(label.text()), line.ends()[0][0]) for label, line in zip(labels, lines)]


def bar_end(cell, zero):
    bar = cell.one("rect", "bar")
    left, width = bar.at()[0], bar.number("width")
    return left if abs(left + width - zero) < 0.02 and width > 0 else left + width


def check_screws(picture, whole, part):
    """The picture against the force system and the stability of one day."""
    groups = {g.title(): g for g in picture.every("g", "screw")}
    assert list(groups) == [s["name"] for s in whole["screws"]]
    risk_axis = Axis([(value_of(t.text()), t.at()[0]) for t in picture.one("g", "axis-x").every("text")])
    spreads = {s["name"]: s for s in part["uncertainty"]["screws"]}
    for screw, risk in zip(whole["screws"], part["stability"]["screws"]):
        group = groups[screw["name"]]
        for c, (figure, caution, stop, times) in enumerate(FIGURES):
            cell, value = group.one("g", "cell", f"c{c}"), times * figure(screw)
            limits = [times * screw["limits"][name] for name in (caution, stop) if name]
            drawn = limits_of(cell)
            assert [v for v, _ in drawn] == [value_of(shown(v)) for v in limits]
            zero = cell.one("line", "axis").ends()[0][0]
            axis = Axis([(0, zero), (limits[-1], drawn[-1][1])])
            near(drawn[0][1], axis(limits[0]))
            near(bar_end(cell, zero), axis(min(max(value, -0.7 * limits[-1]), 1.3 * limits[-1])))
            number = next(t for t in cell.every("text", "figure")).text().split()[-1]
            assert number == shown(value), (number, value)
            judged = max(value, times * figure(screw["peak"]) if "peak" in screw else value)
            how = "stop" if len(limits) > 1 and judged >= limits[1] else "caution" if judged >= limits[0] else "note"
            assert how in cell.one("rect", "bar").classes
            assert bool(list(cell.every("line", "hatch"))) == (how != "note" and cell.one("rect", "bar").number("width") > 8)
            beyond = value > 1.3 * limits[-1] or value < -0.7 * limits[-1]
            assert bool(list(cell.every("path", "bar"))) == beyond, "an arrow where the axis ends"
            spread = spreads.get(screw["name"], {}).get(("cortex_peak_mpa", "axis_moment_nmm", None, None)[c])
            if spread:
                whisker = next(cell.every("line", "whisker")).ends()
                near(whisker[0][0], axis(min(max(spread["low"], -0.7 * limits[-1]), 1.3 * limits[-1])))
                near(whisker[1][0], axis(min(max(spread["high"], -0.7 * limits[-1]), 1.3 * limits[-1])))
                assert f"{shown(spread['low'], 2)} to {shown(spread['high'], 2)}" in cell.texts()
        mark, loss = group.one("g", "risk"), risk["loss"]
        near(mark.one("circle").centre()[0], risk_axis(100 * loss["mid"]))
        near(next(mark.every("line", "whisker")).ends()[1][0], risk_axis(min(100 * loss["high"], 100)))
        assert mark.texts() == [percent(loss["mid"]), f"{percent(loss['low'])} to {percent(loss['high'])}"]
        assert all(cause["factor"] in mark.title() for cause in risk["because"])
    assert part["notice"] in picture.description


def screw_pages(chart, visit, on=None):
    path, day_of = f"/v1/visits/{visit['id']}/", f"?on={on}" if on else ""
    picture = draw(chart, path + "stability" + day_of)
    check_screws(picture, expect(chart.get(path + "force-system" + day_of), 200), expect(chart.get(path + "stability" + day_of), 200))
    return picture


def test_loads_are_drawn_as_told(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    picture = screw_pages(chart, visit)
    assert not list(picture.every("line", "peak"))[1:], "only the key shows one on the first day"
    later = screw_pages(chart, visit, "2026-04-06")
    whole = expect(chart.get(f"/v1/visits/{visit['id']}/force-system?on=2026-04-06"), 200)
    for screw, group in zip(whole["screws"], later.every("g", "screw")):
        # Kim & Park 2021: 37.3 N mm of removal torque in the maxilla; a quarter and a half of it. Sugiura 2000: 50 MPa.
        limits = screw["limits"]
        near(limits["unscrewing_caution_nmm"], 37.3 / 4, 1e-9)
        near(limits["unscrewing_stop_nmm"], 37.3 / 2, 1e-9)
        assert (limits["cortex_caution_mpa"], limits["cortex_stop_mpa"]) == (50, 150)
        cell = group.one("g", "cell", "c1")
        limits = limits_of(cell)
        axis = Axis([(0, cell.one("line", "axis").ends()[0][0]), (screw["limits"]["unscrewing_stop_nmm"], limits[-1][1])])
        near(cell.one("line", "peak").ends()[0][0], axis(screw["peak"]["axis_moment_nmm"]))
        assert f"{shown(screw['peak']['axis_moment_nmm'])} at the peak of the forces" in cell.title()
    plates = [g.title() for g in picture.every("g", "plate")]
    assert [p.split(": ")[1] for p in plates] == ["at least one screw lost", "all screws lost"]


def test_loads_past_the_limits_are_cut_and_marked(api):
    chart = Chart(api)
    case, model = chart.case(), chart.model(diameter_mm=1.6, core_mm=1.1)
    chart.screw(case, model, "right", 4, insertion_torque_ncm=30)
    chart.screw(case, model, "left", -4)
    heavy = {**CHAIN, "force_n": 18}
    picture = screw_pages(chart, chart.visit(case, chart.setup(case), elements=[heavy]))
    cells = [cell for cell in picture.every("g", "cell") if list(cell.every("rect", "bar", "stop"))]
    assert cells and all(cell.one("text", "figure").text().startswith("■ ") for cell in cells)


def test_torque_window(api):
    """Uchida 2023: 20 to 25 N cm for screws of 2.0 mm in the middle of the palate."""
    chart = Chart(api)
    case, model = chart.case(), chart.model()
    chart.screw(case, model, "right", 4, site="palate-median", insertion_torque_ncm=22)
    chart.screw(case, model, "left", -4, site="palate-median", insertion_torque_ncm=31)
    picture = screw_pages(chart, chart.visit(case, chart.setup(case)))
    inside, above = (g.one("g", "cell", "c4") for g in picture.every("g", "screw"))
    if "left" in next(picture.every("g", "screw")).title():
        inside, above = above, inside
    axis = Axis(limits_of(inside))
    assert [v for v, _ in limits_of(inside)] == [20, 25]
    near(sum(p[0] for p in inside.one("path", "estimate").points()) / 4, axis(22))
    window = inside.one("rect", "window")
    near(window.at()[0], axis(20))
    near(window.number("width"), axis(25) - axis(20))
    assert inside.one("text", "figure").text() == "22" and above.one("text", "figure").text() == "▲ 31"


def test_names_are_escaped_and_fit(api):
    chart = Chart(api)
    name = NASTY[:60].strip()
    case, model = chart.case(segments=[{"name": name, "teeth": ["16", "17"], "joined": "rigid"}],
                             goals=[{"segment": name, "occlusal_mm": -2}]), chart.model()
    chart.screw(case, model, name, 4)
    plate = chart.setup(case, name=name, nodes=[{"name": "seat", "at_mm": {"palate": {"right_mm": 4, "behind_incisors_mm": 26}}}],
                        bars=[], seats=[{"node": "seat", "screw": name}], fittings=[{"node": "seat", "kind": "hook"}])
    chain = {**CHAIN, "from": {"fitting": "seat"}}
    visit = chart.visit(case, plate, elements=[chain], screw_checks=[], measures={"segments": [{"segment": name, "occlusal_mm": -1}]})
    picture = screw_pages(chart, visit)
    assert next(picture.every("g", "screw")).title() == name and "…" in "".join(picture.texts())
    progress = draw(chart, f"/v1/cases/{case['id']}/progress?on=2026-03-09")
    assert progress.one("g", "goal-panel").title() == name


# ---------------------------------------------------------------- the door

def test_a_drawing_is_one_form_of_the_answer(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    path = f"/v1/visits/{chart.visit(case, setup)['id']}/stability"
    plain, drawn = chart.get(path), chart.get(path, **DRAWN)
    assert plain[1]["Vary"] == drawn[1]["Vary"] == "Accept" and plain[1]["ETag"] != drawn[1]["ETag"]
    assert chart.get(path, **DRAWN, **{"If-None-Match": plain[1]["ETag"]})[0] == 200
    assert chart.get(path, **DRAWN, **{"If-None-Match": drawn[1]["ETag"]})[0] == 304
    assert chart.get(path + ".svg")[2] == drawn[2]
    assert chart.get(path, Accept="text/html")[0] == 406
    for where in (f"/v1/cases/{case['id']}/progress", "/v1/outcomes/survival"):
        assert chart.get(where, **DRAWN)[1]["ETag"] is None


def test_a_drawing_is_let_out_like_the_rest(api):
    chart, other = Chart(api), Chart(api, api.clinic_b)
    case, setup = other.worn_case()
    visit = other.visit(case, setup)
    for path, resource in ((f"/v1/visits/{visit['id']}/stability", "/v1/visits/{id}/stability"),
                           (f"/v1/cases/{case['id']}/progress", "/v1/cases/{id}/progress"),
                           ("/v1/outcomes/survival", "/v1/outcomes/survival")):
        if "{id}" in resource:
            foreign = chart.get(path, **DRAWN)
            unknown = chart.get(resource.replace("{id}", "01890a5d-ac96-774b-bcce-b302099a8057"), **DRAWN)
            assert foreign[0] == unknown[0] == 404
        assert api.request("GET", path, headers=DRAWN)[0] == 401
        assert api.request("GET", path, token=other.clinic.tokens["auditor"], headers=DRAWN)[0] == 403
        before = trace(api, other.clinic, resource)
        draw(other, path)
        assert trace(api, other.clinic, resource) == before + 1


def test_nothing_of_the_demo_overlaps(api):
    demo = Demo(api)
    for visit in demo.all("visits"):
        screw_pages(demo, visit)
    for case in demo.all("cases"):
        draw(demo, f"/v1/cases/{case['id']}/progress")
    for by in ("site", "model", "operator", "age_group"):
        draw(demo, f"/v1/outcomes/survival?by={by}")
