"""The free-body diagram and the forces over the days as SVG: what is drawn is read back and compared with the JSON of the same
document. Directions of the views and the rules of projection are told here once more, by the patient's axes."""
import copy
import json
import math
import re

from chart import CHAIN, Chart, expect
from picture import Picture, shown, value_of
from test_demo import Demo
from test_uses import EXAMPLES, load

DRAWN = {"Accept": "image/svg+xml"}
NASTY = "<b>&\"'\u05d0\u05d1\u05d2 \u202e" + "name " * 10
# What runs to the right and up on the paper: +x is the patient's left, +y back, +z up.
LOOKS = {
    "Upper arch from below": ("occlusal", (1, 0, 0), (0, -1, 0)),
    "Lower arch from above": ("occlusal", (1, 0, 0), (0, 1, 0)),
    "From the front": ("frontal", (1, 0, 0), (0, 0, 1)),
    "From the patient's right": ("sagittal", (0, -1, 0), (0, 0, 1)),
    "From the patient's left": ("sagittal", (0, 1, 0), (0, 0, 1)),
}
PLANE = {"frontal": (0, 2), "sagittal": (1, 2), "occlusal": (0, 1)}
JAWS = {"maxilla": "Upper jaw", "mandible": "Lower jaw"}
LEAST_PX = 4  # shorter arrows are left out


def dot(a, b):
    return sum(x * y for x, y in zip(a, b))


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def norm(a):
    return math.sqrt(dot(a, a))


def minus(a, b):
    return [x - y for x, y in zip(a, b)]


def in_nmm(told):
    """The gram-force is 0.00980665 N, exactly."""
    assert isinstance(told, list) or told["unit"] == "gf.mm", told
    return told if isinstance(told, list) else [0.00980665 * v for v in told["value"]]


def loads_of(document, answer):
    """{(kind, name, end): (point, force, moment)} of all that may carry an arrow."""
    loads = {}
    for told, element in zip(document.get("elements", []), answer["elements"]):
        force = [element.get("force_n", 0) * d for d in element.get("direction", [0, 0, 0])]
        for end in "from", "to":
            if end not in told or "fixed_mm" in told[end]:
                continue
            acting = [-f for f in force] if end == "to" and "from" in told else force
            moment = in_nmm(told.get("moment_nmm", [0, 0, 0]))
            if told["kind"] == "cantilever" and end == "from":
                moment = cross(minus(element["to_mm"], element["from_mm"]), force)
            loads["element", element["name"], end] = element[end + "_mm"], acting, moment
    for segment in answer["segments"]:
        loads["segment", segment["name"], None] = (
            segment["centre_of_resistance_mm"], segment["force_n"], segment["moment_nmm"])
    for screw in answer["screws"]:
        loads["screw", screw["name"], None] = screw["head_mm"], screw["head"]["force_n"], screw["head"]["moment_nmm"]
    return loads


class Diagram:
    def __init__(self, picture, document, answer):
        self.picture, self.answer, self.loads = picture, answer, loads_of(document, answer)
        legend = picture.one("g", "legend")
        self.px_per_mm, mm_per_n = float(legend.told("px-per-mm")), float(legend.told("mm-per-n"))
        self.px_per_n = self.px_per_mm * mm_per_n
        bars = list(legend.every("line", "scale"))
        assert abs(bars[0].ends()[1][0] - bars[0].ends()[0][0] - 10 * self.px_per_mm) < 0.02, "10 mm are 10 mm"
        force = legend.one("g", "of-scale")
        newtons = value_of(next(t for t in legend.texts() if t.endswith("N, as seen in the view")).split()[0])
        assert abs(arrow(force)[1][0] - arrow(force)[0][0] - newtons * self.px_per_n) < 0.02
        titles = {t.at(): t.text() for t in picture.children if t.kind == "text"}
        self.panels = {titles[p.x, p.y - 6]: p for p in picture.children if p.kind == "svg"}

    def check(self):
        for title, panel in self.panels.items():
            view, right, up = LOOKS[title]
            self.check_forces(panel, view, right, up)
            self.check_moments(panel, view, cross(right, up))
            self.check_rotations(panel, view, right, up)
            self.check_teeth(panel)
            self.check_words(panel, view)
        if "From the front" in self.panels:
            self.check_nothing_is_missing(self.panels["From the front"])

    def check_forces(self, panel, view, right, up):
        origin = None
        for group in panel.every("g", "force"):
            at, force, _ = self.loads[group.told("kind"), group.told("name"), group.told("end")]
            assert group.told("view") == view
            assert math.isclose(float(group.told("force-n")), norm(force), rel_tol=1e-9, abs_tol=1e-9)
            tail, tip = arrow(group)
            drawn = ((tip[0] - tail[0]) / self.px_per_n, (tail[1] - tip[1]) / self.px_per_n)
            within = 0.03 / self.px_per_n
            assert abs(drawn[0] - dot(force, right)) < within and abs(drawn[1] - dot(force, up)) < within, (group.title(), drawn, force)
            here = (tail[0] - self.px_per_mm * dot(at, right), tail[1] + self.px_per_mm * dot(at, up))
            origin = origin or here
            assert math.dist(here, origin) < 0.05, "everything stands at one scale"

    def check_moments(self, panel, view, towards):
        for group in panel.every("g", "moment"):
            moment = self.loads[group.told("kind"), group.told("name"), group.told("end")][2]
            seen = dot(moment, towards)
            assert group.told("view") == view
            assert math.isclose(float(group.told("moment-nmm")), seen, rel_tol=1e-6, abs_tol=1e-6)
            sweep = re.search(r"A\S+ \S+ 0 [01] ([01]) ", group.one("path", "shaft").element.get("d"))[1]
            assert sweep == ("0" if seen > 0 else "1"), "counter-clockwise is positive, with y down"

    def check_rotations(self, panel, view, right, up):
        segments = {s["name"]: s for s in self.answer["segments"]}
        for group in panel.every("g", "rotation"):
            segment = segments[group.told("name")]
            a, b = PLANE[view]
            about, at = segment["views"][view]["centre_of_rotation_mm"], segment["centre_of_resistance_mm"]
            away = [0, 0, 0]
            away[a], away[b] = about[0] - at[a], about[1] - at[b]
            assert math.isclose(float(group.told("distance-mm")), norm(away), rel_tol=1e-6)
            resistance = next(g for g in panel.every("g", "resistance") if g.title().startswith(segment["name"] + ":"))
            centre = resistance.one("circle").centre()
            marks = [m.points() for m in group.every("path", "mark")]
            if marks:
                mark = [sum(p[i] for p in marks[0]) / 4 for i in (0, 1)]
                assert abs((mark[0] - centre[0]) / self.px_per_mm - dot(away, right)) < 0.02
                assert abs((centre[1] - mark[1]) / self.px_per_mm - dot(away, up)) < 0.02

    def check_teeth(self, panel):
        loaded = {t for s in self.answer["segments"] if norm(s["force_n"]) + norm(s["moment_nmm"]) > 0 for t in s["teeth"]}
        for group in panel.every("g", "tooth"):
            assert ("moved" in group.classes) == (group.told("tooth") in loaded)
        bold = [t for g in panel.every("g", "label", "strong") for t in g.texts()]
        assert sorted(bold) == sorted(g.told("tooth") for g in panel.every("g", "tooth", "moved")), "each with its number"

    def check_words(self, panel, view):
        """The numbers beside the arrows, to three digits."""
        forces = {e["name"]: e.get("force_n", 0) for e in self.answer["elements"]}
        planes = {s["name"]: s["views"][view]["force_n"] for s in self.answer["segments"]}
        for group in panel.every("g", "label"):
            kind = next((k for k in ("of-element", "of-teeth", "of-screw") if k in group.classes), None)
            texts = group.texts()
            newtons = [t for t in texts if t.endswith("\u00a0N")]
            if kind is None or texts[0].startswith("◇"):
                continue
            moments = {shown(abs(float(m.told("moment-nmm")))) for m in panel.every("g", "moment") if m.told("name") == group.title()}
            assert {t.split("\u00a0")[0] for t in texts if t.endswith("N·mm")} <= moments
            if kind == "of-element":
                assert newtons in ([], [shown(forces[group.title()]) + "\u00a0N"]), (texts, forces)
            elif newtons:
                tail, tip = arrow(next(f for f in panel.every("g", "force") if f.told("name") == group.title()
                                       and f.told("kind") == {"of-teeth": "segment", "of-screw": "screw"}[kind]))
                assert abs(value_of(newtons[0][:-2]) - math.dist(tail, tip) / self.px_per_n) <= 0.006 * value_of(newtons[0][:-2]) + 0.03
            if kind == "of-teeth" and newtons:
                assert newtons == [shown(planes[group.title()]) + "\u00a0N"]

        drawn = {g.told("name") for kind in ("force", "moment") for g in panel.every("g", kind) if g.told("kind")}
        assert drawn <= {g.title() for g in panel.every("g", "label") if g.classes & {"of-element", "of-teeth", "of-screw"}}

    def check_nothing_is_missing(self, front):
        """From the front everything is in sight."""
        drawn = {(g.told("kind"), g.told("name"), g.told("end")) for g in front.every("g", "force")}
        for key, (_, force, _) in self.loads.items():
            length = math.hypot(force[0], force[2]) * self.px_per_n
            if abs(length - LEAST_PX) > 0.01:
                assert (key in drawn) == (length > LEAST_PX), (key, length)


def arrow(group):
    """Tail and tip."""
    return group.one("line", "shaft").ends()[0], group.one("path", "head").points()[0]


def draw(chart, document, query=""):
    return Picture(chart.api.request("POST", "/v1/mechanics/evaluate" + query, json.dumps(document), chart.token, DRAWN))


def documents():
    import glob
    import os
    for path in sorted(glob.glob(os.path.join(EXAMPLES, "*.json"))):
        whole = load(os.path.basename(path)[:-5])
        yield from whole.get("variants", [whole])


def test_every_example_is_drawn_as_told(api):
    chart = Chart(api)
    count = 0
    for document in documents():
        answer = expect(chart.post("/v1/mechanics/evaluate", json.dumps(document)), 200)
        picture = draw(chart, document)
        picture.check_legible()
        Diagram(picture, document, answer).check()
        for part in answer["elements"] + answer["screws"] + answer["segments"]:
            assert part["name"] in picture.description
        assert answer["notice"] in picture.description and answer["on"] in picture.title()
        for jaw in answer.get("jaws", []):
            told = f"{shown(norm(jaw['force_n']))}\u00a0N"
            assert any(t.startswith(JAWS[jaw["jaw"]]) and told in t and jaw["rotation"] in t for t in picture.texts()), jaw
        count += 1
    assert count >= 20


def test_every_visit_of_the_demo_is_drawn_as_told(api):
    demo = Demo(api)
    for visit in demo.all("visits"):
        path = f"/v1/visits/{visit['id']}"
        document, answer = expect(demo.get(path + "/mechanics-document"), 200), expect(demo.get(path + "/force-system"), 200)
        picture = Picture(demo.get(path + "/force-system.svg"))
        picture.check_legible()
        Diagram(picture, document, answer).check()
        Picture(demo.get(path + "/force-system?view=days", **DRAWN)).check_legible()


def test_one_view_or_all(api):
    chart, document = Chart(api), load("elastics-on-a-working-plate")
    titles = {"": set(LOOKS), "?view=all": set(LOOKS), "?view=frontal": {"From the front"},
              "?view=sagittal": {"From the patient's right", "From the patient's left"},
              "?view=occlusal": {"Upper arch from below", "Lower arch from above"}}
    answer = expect(chart.post("/v1/mechanics/evaluate", json.dumps(document)), 200)
    for query, wanted in titles.items():
        picture = draw(chart, document, query)
        picture.check_legible()
        diagram = Diagram(picture, document, answer)
        diagram.check()
        assert set(diagram.panels) == wanted, query


def test_the_side_that_is_loaded(api):
    """One side's load is seen from that side, whatever stands in the midline."""
    chart = Chart(api)
    for name, side in ("unilateral-distalisation", "right"), ("protraction", "left"), ("one-couple", "right"):
        document = load(name)
        document = document.get("variants", [document])[0]
        answer = expect(chart.post("/v1/mechanics/evaluate", json.dumps(document)), 200)
        panels = Diagram(draw(chart, document, "?view=sagittal"), document, answer).panels
        assert set(panels) == {f"From the patient's {side}"}, (name, set(panels))
        quadrants = {g.told("tooth")[0] for p in panels.values() for g in p.every("g", "tooth")}
        assert quadrants <= ({"1", "4"} if side == "right" else {"2", "3"})


def test_names_are_escaped_and_clipped(api):
    chart, document = Chart(api), copy.deepcopy(load("posterior-intrusion"))
    document["segments"][0]["name"] = NASTY
    document["elements"][0]["name"] = NASTY
    document["screws"][0]["name"] = NASTY + "screw"
    plate = document["plate"] if "plate" in document else document["plates"][0]
    plate["name"] = NASTY
    for seat in plate["seats"]:
        if seat["screw"] == load("posterior-intrusion")["screws"][0]["name"]:
            seat["screw"] = NASTY + "screw"
    for query in "", "?view=days":
        picture = draw(chart, document, query)
        picture.check_legible()
        assert NASTY in [g.told("name") for g in picture.every("g")], "whole in the data"
        assert any(t.startswith("<b>&") and t.endswith("…") for t in picture.texts()), "clipped beside the arrow"
        assert "<b>" not in picture.whole


def test_forces_over_the_days(api):
    chart, document = Chart(api), load("wire-joined-arch")
    document["elements"][0]["activated_on"] = "2026-02-16"
    answer = expect(chart.post("/v1/mechanics/evaluate", json.dumps(document)), 200)
    picture = draw(chart, document, "?view=days")
    picture.check_legible()
    x, y = picture.axis(picture, "x"), picture.axis(picture, "y")
    courses = {g.told("name"): g for g in picture.every("g", "course") if g.told("kind")}
    assert list(courses) == [e["name"] for e in answer["elements"]]
    for element in answer["elements"]:
        points = courses[element["name"]].one("path", "way").points()
        told = element["force_over_time"]
        assert len(points) == len(told)
        for point, at in zip(points, told):
            assert abs(point[0] - x(at["day"] - element["days_active"])) < 1 and abs(point[1] - y(at["force_n"])) < 1
        low, high = element["force_range_n"]["low"], element["force_range_n"]["high"]
        assert f"day 0: {shown(element['force_n'])}\u00a0N ({shown(low)} to {shown(high)})" in picture.texts()
    today = next(line.ends() for line in picture.every("line", "today"))
    assert abs(today[0][0] - x(0)) < 0.02 and answer["notice"] in picture.description
    ways = {}
    for element in answer["elements"]:
        told = json.dumps([element["force_over_time"], element["days_active"]])
        ways.setdefault(frozenset(courses[element["name"]].classes), set()).add(told)
    assert len(ways) == 4 and all(len(told) == 1 for told in ways.values()), "each course has its own dashes and marks"


def test_nothing_that_fades(api):
    picture = draw(Chart(api), load("applied-couple"), "?view=days")
    assert "No element has a force of its own that could fade." in picture.texts() and not list(picture.every("path", "way"))


def test_what_cannot_be_drawn(api):
    chart, document = Chart(api), json.dumps(load("protraction"))
    for query, headers in ("?view=above", DRAWN), ("?view=above", {}):
        answer = api.request("POST", "/v1/mechanics/evaluate" + query, document, chart.token, headers)
        assert expect(answer, 400)["errors"][0]["parameter"] == "view"
    variants = json.dumps({"variants": [load("protraction")]})
    assert api.request("POST", "/v1/mechanics/evaluate", variants, chart.token, DRAWN)[0] == 406
    assert api.request("POST", "/v1/mechanics/evaluate", "{}", chart.token, DRAWN)[0] == 422
    assert api.request("POST", "/v1/mechanics/evaluate", document, None, DRAWN)[0] == 401
    assert api.request("POST", "/v1/mechanics/evaluate", document, chart.token, {"Accept": "image/png"})[0] == 406


def traces(api, clinic):
    return int(api.sql("select count(*) from (select resource, clinic_id from holdfast.audit union all select resource, clinic_id "
                       f"from holdfast.audit_unsealed) a where clinic_id = '{clinic.id}' and resource = '/v1/visits/{{id}}/force-system'"))


def test_a_drawing_is_read_like_any_other_form(api):
    chart, other = Chart(api), Chart(api, api.clinic_b)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup, elements=[{**CHAIN, "name": "the chain"}])
    path = f"/v1/visits/{visit['id']}/force-system"
    before = traces(api, chart.clinic)
    plain, drawn, days = chart.get(path), chart.get(path, **DRAWN), chart.get(path + ".svg?view=days")
    assert traces(api, chart.clinic) == before + 3, "read by whoever, told in the audit"
    tags = [a[1]["ETag"] for a in (plain, drawn, days)]
    assert len(set(tags)) == 3 and all(tags) and drawn[1]["Vary"] == "Accept"
    assert chart.get(path, **DRAWN, **{"If-None-Match": tags[1]})[0] == 304
    assert chart.get(path, **DRAWN, **{"If-None-Match": tags[0]})[0] == 200
    assert drawn[2] == chart.get(path + ".svg")[2] and drawn[2] != chart.get(path + ".svg?on=2026-03-30")[2]
    for suffix in ".svg", ".svg?view=days":
        foreign, unknown = other.get(path + suffix), other.get(f"/v1/visits/01890a5d-ac96-774b-bcce-b302099a8057/force-system{suffix}")
        assert foreign[0] == unknown[0] == 404 and b"svg" not in foreign[2].replace(b".svg", b"")
