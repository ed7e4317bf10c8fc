"""The what-if page of a visit. The changed document is made here once more, by hand; every figure of the page has to be that
of the posted document, and every fault that of the posted document at its field."""
import copy
import datetime
import json
import math
import re
from urllib.parse import quote, urlencode

from browser import Browser, Page, signed_in
from chart import CHAIN, PLATE, Chart, expect, pointers
from test_audit import fresh, trail
from test_session import NOWHERE

PAGE = {"Accept": "text/html"}
NASTY = "<b>&\"'\u05d0\u05d1 \u202e" + "name " * 8
FORCE, MOVE, WITHOUT = "/elements/0/force_n", "/plates/0/nodes/2/at_mm/{}", "/screws/{}"


class Sides(Page):
    """The page with its figures: {(list, name, member): [(value, text) as recorded, of the variant, words of the difference]}."""

    def __init__(self, answer):
        self.figures, self.row, self.cell, self.values, self.faults, self.at = {}, None, None, {}, {}, None
        super().__init__(answer)
        self.given = {f["name"]: f.get("value", "") for f in self.fields if f.get("name", "").startswith(("/", "days"))}

    def handle_starttag(self, tag, attributes):
        super().handle_starttag(tag, attributes)
        told = dict(attributes)
        if tag == "tr":
            self.row = [] if "data-list" in told else None
            if self.row is not None:
                self.figures[told["data-list"], told["data-name"], told["data-member"]] = self.row
        if tag == "td" and self.row is not None:
            self.row.append([None, ""])
        if tag == "data":
            self.row[-1][0] = float(told["value"])
        if (told.get("id") or "").startswith("fault-"):
            self.at = next(f["name"] for f in self.fields if f.get("aria-describedby") == told["id"])

    def handle_endtag(self, tag):
        super().handle_endtag(tag)
        self.at = None if tag == "p" else self.at

    def handle_data(self, data):
        super().handle_data(data)
        if self.row and "td" in self.open:
            self.row[-1][1] += data.replace("\xa0", " ")
        if self.at and data.strip():
            self.faults[self.at] = data

    def variant_digest(self):
        return re.search(r'id="variant-digest">([^<]*)<', self.source)[1]


def made(api, **more):
    """A chart with one evaluated visit: (chart, visit, its document, its answer)."""
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup, **more)
    document = expect(chart.get(f"/v1/visits/{visit['id']}/mechanics-document"), 200)
    return chart, visit, document, expect(chart.get(f"/v1/visits/{visit['id']}/force-system"), 200)


def ask(chart, visit, changes=None, status=200):
    path = f"/v1/visits/{visit['id']}/what-if" + ("?" + urlencode(changes) if changes else "")
    answer = chart.get(path, **PAGE)
    assert answer[0] == status, (status, answer[0], answer[2][:1500])
    return Sides(answer)


def posted(chart, document, status=200):
    return expect(chart.post("/v1/mechanics/evaluate", document), status)


def size(value):
    if isinstance(value, list):
        return math.sqrt(sum(v * v for v in value))
    return value["mid"] if isinstance(value, dict) else value


def figure(answer, place):
    """What the JSON has there; None: nothing."""
    kind, name, member = place
    for step in kind.split("/"):
        answer = answer[step]
    value = next((item for item in answer if item["name"] == name), {})
    for step in member.split("/"):
        value = value.get(step) if value is not None else None
    return value


def check_figures(page, recorded, variant):
    """Values by the JSON; of the difference its sign and its word."""
    assert page.figures
    for place, (before, after, (_, words)) in page.figures.items():
        old, new = figure(recorded, place), figure(variant, place)
        if place[2] == "movement":
            assert before[1] == old and after[1] == (new or "–") and words == ("same" if old == new else "other"), place
            continue
        for told, value in ((before, old), (after, new)):
            assert value is None and told[1] == "–" or math.isclose(told[0], size(value), rel_tol=1e-11, abs_tol=1e-11), (place, told, value)
            scale = 100 if place[2] in ("loss", "cortex/of_limit") else 1
            if value is not None:  # rounded for people: to three digits, ranges to two
                read = float(told[1].split()[0].replace("−", "-"))
                assert math.isclose(read, scale * size(value), rel_tol=0.051, abs_tol=1e-6), (place, told)
            if isinstance(value, dict):
                assert re.search(r"\([\d.]+ to [\d.]+\)$", told[1]), (place, told)
        if new is None:
            assert words == ("left out" if place[1] not in json.dumps(variant["stability"]) else "–"), (place, words)
        else:
            by = size(new) - size(old)
            same = abs(by) <= 0.001 * max(abs(size(new)), abs(size(old)))
            assert words.startswith("same" if same else "▲ up " if by > 0 else "▼ down "), (place, words, by)


def test_without_a_change_both_sides_are_the_record(api):
    chart, visit, _, recorded = made(api)
    kept = api.sql("select count(*) from holdfast.evaluations")
    page = ask(chart, visit)
    check_figures(page, recorded, recorded)
    assert {words for *_, (_, words) in page.figures.values()} == {"same"}
    # 150 gf: 1 gf is 0.00980665 N.
    assert page.given == {FORCE: "1.471", MOVE.format(0): "0", MOVE.format(1): "0", MOVE.format(2): "0", WITHOUT.format(0): "out",
                          WITHOUT.format(1): "out", "days": "0"}
    assert "150 gf" in page.words and page.variant_digest() == recorded["digest"]
    assert [name for _, name, member in page.figures if member == "axis_moment_nmm"] == ["left", "right"]
    assert "Nothing of it is stored" in page.words and recorded["notice"] in page.words
    assert all(source in page.words for source in recorded["sources"].values())
    assert api.sql("select count(*) from holdfast.evaluations") == kept
    # The form as it stands says the same once more.
    assert ask(chart, visit, {k: v for k, v in page.given.items() if v != "out"}).variant_digest() == recorded["digest"]


def test_the_form_comes_to_what_the_changed_document_comes_to(api):
    chart, visit, document, recorded = made(api)
    at = next(a["value"] for a in recorded["assumed"] if a["pointer"] == "/plates/0/nodes/2/at_mm")

    def force(changed):
        changed["elements"][0]["force_n"] = 2.5

    def move(changed):
        changed["plates"][0]["nodes"][2]["at_mm"] = [at[0] + 2.5, at[1], at[2] - 1]

    def without(changed):
        assert changed["screws"][0]["name"] == "left"
        del changed["screws"][0]
        changed["plates"][0]["seats"] = [s for s in changed["plates"][0]["seats"] if s["screw"] != "left"]

    def later(changed):
        changed["on"] = str(datetime.date.fromisoformat(visit["visited_on"]) + datetime.timedelta(days=28))

    each = [(force, {FORCE: "2.5"}), (move, {MOVE.format(0): "2.5", MOVE.format(2): "-1"}), (without, {WITHOUT.format(0): "out"}),
            (later, {"days": "28"})]
    for chosen in [[one] for one in each] + [each]:
        changed, form = copy.deepcopy(document), {}
        for change, fields in chosen:
            change(changed)
            form.update(fields)
        variant, page = posted(chart, changed), ask(chart, visit, form)
        assert page.variant_digest() == variant["digest"] != recorded["digest"], form
        check_figures(page, recorded, variant)
        assert not page.faults and all(page.given[name] == text for name, text in form.items())
        assert any(words.startswith(("▲", "▼", "left out")) for *_, (_, words) in page.figures.values())
        told, before = [{(f["code"], f["severity"], json.dumps(f.get("subject"))) for f in a["findings"]} for a in (variant, recorded)]
        assert page.source.count('<span class="mark">new</span>') == len(told - before), form
        assert page.source.count('<span class="mark">gone</span>') == len(before - told), form
        assert all(source in page.words for source in variant["sources"].values())


def test_where_it_is_seen_from(api):
    chart, visit, *_ = made(api)
    for seen, title in ((None, "From the front"), ("sagittal", "From the patient's right"), ("occlusal", "Upper arch from below")):
        page = ask(chart, visit, {"seen": seen} if seen else None)
        assert page.words.count(title) == 2 and page.tags.count("svg") >= 2, seen
        # The drawings tell their scale of forces; it differs when one has far larger forces.
        loud = ask(chart, visit, {FORCE: "15", **({"seen": seen} if seen else {})})
        for one, hidden in ((page, True), (loud, False)):
            scales = re.findall(r'data-mm-per-n="([^"]+)"', one.source)
            assert len(scales) == 2 and (len(set(scales)) == 1) == hidden, scales
            assert ('id="scales" class="whole" hidden' in one.source) == hidden
    refused = expect(chart.get(f"/v1/visits/{visit['id']}/what-if?seen=days"), 400)
    assert refused["errors"][0]["parameter"] == "seen"


def test_faults_stand_at_their_fields_with_the_words_of_the_api(api):
    chart, visit, document, recorded = made(api)
    at = next(a["value"] for a in recorded["assumed"] if a["pointer"] == "/plates/0/nodes/2/at_mm")
    tries = [({FORCE: "25"}, lambda d: d["elements"][0].update(force_n=25)),
             ({FORCE: "-1"}, lambda d: d["elements"][0].update(force_n=-1)),
             ({FORCE: "1,5"}, lambda d: d["elements"][0].update(force_n="1,5")),
             ({FORCE: ""}, lambda d: d["elements"][0].update(force_n="")),
             ({FORCE: NASTY}, lambda d: d["elements"][0].update(force_n=NASTY)),
             ({MOVE.format(1): "300"}, lambda d: d["plates"][0]["nodes"][2].update(at_mm=[at[0], at[1] + 300, at[2]])),
             ({MOVE.format(2): "up"}, lambda d: d["plates"][0]["nodes"][2].update(at_mm=[at[0], at[1], "up"])),
             ({MOVE.format(0): "0x1"}, lambda d: d["plates"][0]["nodes"][2].update(at_mm=["0x1", at[1], at[2]])),
             ({FORCE: "21", MOVE.format(0): "-400"}, lambda d: (d["elements"][0].update(force_n=21),
              d["plates"][0]["nodes"][2].update(at_mm=[at[0] - 400, at[1], at[2]])))]
    for form, change in tries:
        changed = copy.deepcopy(document)
        change(changed)
        told = {e["pointer"]: e["detail"] for e in posted(chart, changed, 422)["errors"]}
        page = ask(chart, visit, form, 422)
        assert page.faults == told and set(told) == set(form), form
        assert all(page.given[name] == text for name, text in form.items()), "what was typed stays"
        invalid = [f["name"] for f in page.fields if "aria-invalid" in f]
        assert set(invalid) == set(form)
        assert all(after[1] == "–" for _, after, _ in page.figures.values()) and page.variant_digest() == "–"
    for days in ("-1", "1.5", "", "3651", "1e2", "99999999999999999999", "x"):
        page = ask(chart, visit, {"days": days, FORCE: "25"}, 422)
        assert page.faults["days"] == "expected a whole number of days from 0 to 3650" and FORCE in page.faults, days


def test_what_is_wrong_with_no_field_alone_is_told_too(api):
    chart, visit, document, _ = made(api)
    changed = copy.deepcopy(document)
    changed["screws"], changed["plates"][0]["seats"] = [], []
    told = posted(chart, changed, 422)["errors"]
    page = ask(chart, visit, {WITHOUT.format(0): "out", WITHOUT.format(1): "out"}, 422)
    assert told and all(f"{e['pointer']} {e['detail']}" in page.words for e in told)
    assert sum("checked" in f for f in page.fields) == 2
    path = f"/v1/visits/{visit['id']}/what-if?" + urlencode({WITHOUT.format(0): "out", WITHOUT.format(1): "out", "days": "x", FORCE: "25"})
    # Decoding refuses the force before anything else is looked at.
    assert pointers(chart.get(path)) == [f"?{FORCE}", "?days"], "a program is told as programs are"
    deep = ask(chart, visit, {FORCE: "[" * 30 + "]" * 30}, 422)
    assert "deep" in deep.words or deep.faults


def test_only_what_the_form_asks_for_is_taken(api):
    chart, visit, *_ = made(api)
    path = f"/v1/visits/{visit['id']}/what-if?"
    for query, named in (("/on=2026-04-01", "/on"), ("/elements/1/force_n=1", "/elements/1/force_n"), ("nonsense=1", "nonsense"),
                         ("/screws/0=in", "/screws/0"), ("days=1&days=2", "days"), (f"{FORCE}=1&{FORCE}=2", FORCE)):
        assert [e["parameter"] for e in expect(chart.get(path + query), 400)["errors"]] == [named], query
    for other in ("force-system", "mechanics-document"):
        assert chart.get(f"/v1/visits/{visit['id']}/{other}?{FORCE}=1")[0] == 400


def test_elements_by_product_data_and_of_other_kinds(api):
    coil = {"name": "coil", "kind": "closed-coil", "from": {"fitting": "right hook"}, "to": {"tooth": "17", "at": "palatal-attachment"},
            "supply": {"rest_length_mm": 6, "wire_mm": 0.2, "lumen_mm": 0.8, "turns": 30}}
    load = {"name": "load", "kind": "applied", "to": {"tooth": "16"}, "force_n": [0.1, 0, 0]}
    chart, visit, document, recorded = made(api, elements=[load, coil])
    page = ask(chart, visit)
    assert page.given["/elements/1/force_n"] == "" and "/elements/0/force_n" not in page.given
    assert page.variant_digest() == recorded["digest"]
    changed = copy.deepcopy(document)
    changed["elements"][1]["force_n"] = 1
    check_figures(ask(chart, visit, {"/elements/1/force_n": "1"}), recorded, posted(chart, changed))


def test_a_point_told_by_coordinates_and_many_fields(api):
    chart = Chart(api)
    case, model = chart.case(), chart.model()
    chart.screw(case, model, "right", 4)
    chart.screw(case, model, "left", -4)
    nodes = PLATE["nodes"] + [{"name": f"hook {i}", "at_mm": {"value": [-1.0 - 0.1 * i, 3.5, 0.8], "unit": "cm"}} for i in range(24)]
    setup = chart.setup(case, nodes=nodes, bars=PLATE["bars"] + [{"from": "right hook", "to": f"hook {i}", "section": {"round_mm": 1}}
                                                                 for i in range(24)],
                        fittings=PLATE["fittings"] + [{"node": f"hook {i}", "kind": "hook"} for i in range(24)])
    visit = chart.visit(case, setup)
    document = expect(chart.get(f"/v1/visits/{visit['id']}/mechanics-document"), 200)
    given = {k: v for k, v in ask(chart, visit).given.items() if v != "out"}
    assert len(given) == 1 + 3 * 25 + 1
    given["/plates/0/nodes/3/at_mm/1"] = "0.5"
    document["plates"][0]["nodes"][3]["at_mm"] = [-10, 35.5, 8]
    assert ask(chart, visit, given).variant_digest() == posted(chart, document)["digest"]


def test_names_are_written_as_text(api):
    chart = Chart(api)
    patient = chart.patient(family_name=NASTY, given_name='"><script>alert(1)</script>', birth_date="1990-05-17")
    case, model = chart.case(patient, title=NASTY, segments=[{"name": NASTY, "teeth": ["16", "17"], "joined": "rigid"}]), chart.model()
    for name, right_mm in ((NASTY, 4), ("</title>", -4)):
        chart.screw(case, model, name, right_mm)
    plate = json.loads(json.dumps(PLATE).replace("right hook", "HOOK"))
    for node in [*plate["nodes"], *plate["fittings"]]:
        for key in "name", "node":
            node[key] = NASTY if node.get(key) == "HOOK" else node.get(key, "")
    for node in plate["nodes"]:
        del node["node"]
    for fitting in plate["fittings"]:
        del fitting["name"]
    plate["bars"][1]["to"] = NASTY
    plate["seats"] = [{"node": "right seat", "screw": NASTY}, {"node": "left seat", "screw": "</title>"}]
    chain = {**CHAIN, "name": NASTY, "from": {"fitting": NASTY}}
    visit = chart.visit(case, chart.setup(case, **plate), elements=[chain], screw_checks=[])
    page = ask(chart, visit, {FORCE: "2", MOVE.format(0): "1", WITHOUT.format(0): "out"})
    assert page.words.count(re.sub(r"\s+", " ", NASTY).strip()) > 6 and "<b>" + NASTY[3:] not in page.source
    assert page.tags.count("script") == 1


def test_who_may_see_it_and_what_it_may_do(api):
    chart, visit, *_ = made(api)
    path = f"/v1/visits/{visit['id']}/what-if"
    stranger = Browser(api.daemon, api.request)
    asked = f"{path}?{urlencode({FORCE: '2', 'days': '7'})}"
    led = stranger.get(asked)
    assert led[0] == 303 and led[1]["Location"] == "/sign-in?next=" + quote(asked, safe="~-._"), led[1]["Location"]
    assert stranger.sign_in(api.clinic_a.tokens["assistant"], asked)[1]["Location"] == asked
    page, headers = stranger.page(asked), stranger.get(asked)[1]
    assert page.tags.count("script") == 1 and re.search(r'<script src="/assets/what-if.js" defer></script>', page.source)
    policy = headers["Content-Security-Policy"]
    assert policy.endswith("; script-src 'self'; connect-src 'self'") and headers["Cache-Control"] == "no-store"
    assert "script-src" not in stranger.get(f"/v1/visits/{visit['id']}.html")[1]["Content-Security-Policy"]
    assert signed_in(api, api.clinic_a.tokens["dashboard"]).get(path)[0] == 200
    assert signed_in(api, api.clinic_a.tokens["auditor"]).get(path)[0] == 403
    assert chart.get(path, Accept="application/json")[0] == 406 and chart.post(path, {})[0] == 405
    # What its script does: the document is read and posted by the session, from this server's pages only.
    body, headers = json.dumps({"frame": "occlusal-lps", "on": "2026-03-02"}), {"Content-Type": "application/json", "Cookie": stranger.cookie}
    for site, status in (("same-origin", 200), ("cross-site", 403), (None, 403)):
        told = {**headers, **({"Sec-Fetch-Site": site} if site else {})}
        assert api.request("POST", "/v1/mechanics/evaluate", body, headers=told)[0] == status, site


def test_the_script_is_one_of_ours_and_writes_no_markup(api):
    answer = api.request("GET", "/assets/what-if.js")
    text = answer[2].decode()
    assert answer[0] == 200 and answer[1]["Content-Type"].startswith("text/javascript") and answer[1]["ETag"]
    assert not re.search(r"innerHTML|outerHTML|insertAdjacent|document\.write|\beval\b|Function\(|https?:", text)
    assert len(text.splitlines()) < 150


def test_another_clinics_visit_is_like_none(api):
    _, visit, *_ = made(api)
    other, answers = Chart(api, api.clinic_b), []
    for one in (visit["id"], NOWHERE):
        for query in ("", f"?{FORCE}=2", "?/nonsense=1"):
            status, headers, text = other.get(f"/v1/visits/{one}/what-if{query}", **PAGE)
            answers.append((status, re.sub(rb"request <code>[^<]*", b"", text), headers["Content-Security-Policy"], headers["Cache-Control"]))
    assert answers[0][0] == 404 and len(set(answers)) == 1, answers


def test_a_record_that_is_not_whole_has_nothing_to_vary(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup, elements=[{**CHAIN, "from": {"fitting": "no such hook"}}], screw_checks=[])
    refused = expect(chart.get(f"/v1/visits/{visit['id']}/force-system"), 422)
    answer = chart.get(f"/v1/visits/{visit['id']}/what-if", **PAGE)
    assert answer[0] == 422 and all(e["pointer"] in Page(answer).words for e in refused["errors"])
    assert "what-if" not in Page(chart.get(f"/v1/visits/{visit['id']}.html")).source


def test_the_sheet_of_the_visit_leads_there(api):
    chart, visit, *_ = made(api)
    assert f"/v1/visits/{visit['id']}/what-if" in Page(chart.get(f"/v1/visits/{visit['id']}.html")).links
    assert f"/v1/visits/{visit['id']}.html" in ask(chart, visit).links


def test_it_is_audited_as_a_read_of_the_visit(api):
    clinic = fresh(api)
    chart = Chart(api, clinic)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    resource = "/v1/visits/{id}/what-if"
    ask(chart, visit, {FORCE: "2"})
    chart.get(f"/v1/visits/{NOWHERE}/what-if")
    rows = [r for r in trail(api, clinic, wait_for=lambda all_: sum(r["resource"] == resource for r in all_) == 2) if r["resource"] == resource]
    assert [(r["action"], r["record_ids"], r["patient_ids"], r["outcome"]) for r in rows] == [
        ("read", [visit["id"]], [case["patient_id"]], "done"), ("read", [NOWHERE], [], "not-found")], rows
