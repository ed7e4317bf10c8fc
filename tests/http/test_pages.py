"""Pages of the chart: well formed whatever the record says, the same to see as the JSON, let in as the JSON lets in."""
import html
import re
import uuid

from browser import Browser, Page, signed_in
from chart import Chart, CHAIN, expect
from installation import Clinic
from test_audit import trail

NOWHERE = "01890a5d-ac96-774b-bcce-b302099a8057"
# Mark-up, entities, quotation marks of both kinds, right-to-left script, the longest that a name may be.
NASTY = ["<script>alert(1)</script>", "O'Brien & \"Sons\"", "</title></td><b>", "&lt;&#60;&nbsp;", "\u05d3\u05d5\u05d3 \u0645\u062d\u0645\u062f",
         "\u202emirrored", "W" * 200, "%s%n%d", "{{7*7}}", "]]>--><!--"]


def whole(api, clinic=None, **names):
    """A patient with a case that has everything: (chart, patient, case, visit)."""
    chart = Chart(api, clinic)
    name = names.get("name")
    patient = chart.patient(birth_date="1990-05-17", cigarettes_per_day=3, sex="female",
                            **({"family_name": name, "given_name": name, "note": name} if name else {"family_name": "Plain"}))
    case = chart.case(patient, **({"title": name, "clinician": name, "note": name} if name else {}),
                      goals=[{"segment": "upper right molars", "occlusal_mm": -2}],
                      stages=[{"name": name or "intrusion", "planned_from": "2026-03-02", "note": name or "slowly"}])
    model = chart.model()
    for screw, right_mm in (("right", 4), ("left", -4)):
        chart.screw(case, model, screw, right_mm, lot=(name or "LOT")[:60])
    setup = chart.setup(case, purpose=name or "intrusion", **({"name": name} if name else {}))
    visit = chart.visit(case, setup, note=name or "fine", elements=[{**CHAIN, "name": (name or "chain right")[:60]}],
                        actions=[{"action": "activated", "of": name or "chain right", "note": name or "gently"}])
    return chart, patient, case, visit


def paths(patient, case, visit):
    return [f"/v1/patients/{patient['id']}.html", f"/v1/cases/{case['id']}.html", f"/v1/visits/{visit['id']}.html"]


def test_public_pages_are_well_formed(api):
    browser = Browser(api.daemon, api.request)
    for path in ("/", "/sign-in", "/problems", "/problems/validation"):
        browser.page(path)
    Page(browser.get("/nothing"))
    for path in ("/assets/style.css", "/assets/drawing.css", "/assets/icon.svg"):
        status, headers, body = browser.get(path, Accept="text/css,*/*;q=0.1")
        assert status == 200 and body and headers["Cache-Control"] == "no-cache"
        again = browser.get(path, Accept="*/*", **{"If-None-Match": headers["ETag"]})
        assert again[0] == 304 and again[2] == b""


def test_whatever_the_record_says_is_text(api):
    browser = signed_in(api, api.clinic_a.tokens["clinician"])
    for name in NASTY:
        chart, patient, case, visit = whole(api, name=name)
        for path in paths(patient, case, visit):
            page = browser.page(path)  # read strictly: what is not escaped breaks it
            assert re.sub(r"\s+", " ", name) in page.words, (path, name)
            assert "script" not in page.tags and "</script>" not in page.source, (path, name)


def test_a_visit_shows_what_its_json_tells(api):
    chart, patient, case, visit = whole(api)
    page = signed_in(api, chart.token).page(f"/v1/visits/{visit['id']}.html")
    told = expect(chart.get(f"/v1/visits/{visit['id']}/force-system"), 200)
    assert "svg" in page.tags and f"chart {patient['chart_number']}" in page.words and "35 years" in page.words
    assert "13\u00a0Apr\u00a02026" in page.source.replace("&#160;", "\u00a0"), "42 days after 2 March"
    for finding in told["findings"]:
        word = {"note": "\u25cf Note", "caution": "\u25b2 Caution", "stop": "\u25a0 Stop"}[finding["severity"]]
        assert word in page.words and finding["message"] in page.words, finding
    (segment,) = told["segments"]
    assert segment["movement"] in page.words and "What each group of teeth does" in page.words
    for element in told["elements"]:
        assert f"{element['force_n']:.3g}" in page.words
    for screw in told["screws"]:
        sense = "unscrews" if screw["axis_moment_nmm"] > 0 else "tightens"
        assert f"{abs(screw['axis_moment_nmm']):.2g} N\u00b7mm {sense}" in page.words.replace("\u00a0", " "), screw
        assert f"{abs(screw['axial_n']):.2g} N {'pull' if screw['axial_n'] > 0 else 'press'}" in page.words.replace("\u00a0", " ")
    for key, citation in told["sources"].items():
        assert key in page.words and citation in page.words, key
    assert told["notice"] in page.words and told["digest"] in page.words and told["model"]["parameters"] in page.words
    kept = api.sql(f"select count(*) from holdfast.evaluations where visit_id = '{visit['id']}' and digest = '{told['digest']}'")
    assert kept == "1"


def test_what_was_shown_is_kept(api):
    chart, _, _, visit = whole(api)
    signed_in(api, chart.token).page(f"/v1/visits/{visit['id']}.html")
    assert int(api.sql(f"select count(*) from holdfast.evaluations where visit_id = '{visit['id']}'")) >= 1


def test_findings_ask_for_checks(api):
    """A screw felt to move (grade 2: common practice, it does not anchor) is asked for first of all."""
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup, screw_checks=[{"screw": "right", "mobility_grade": 2}])
    page = signed_in(api, chart.token).page(f"/v1/visits/{visit['id']}.html")
    assert "\u25a0 Stop right." in page.words and "Feel the screw between two instrument handles" in page.words
    plain = signed_in(api, chart.token).page(f"/v1/visits/{chart.visit(*chart.worn_case())['id']}.html")
    assert "Feel the screw between" not in plain.words


def test_a_visit_that_is_not_complete_says_what_it_lacks(api):
    chart = Chart(api)
    case = chart.case(segments=[])
    visit = chart.make("/v1/visits", {"case_id": case["id"], "visited_on": "2026-03-02", "elements": [CHAIN]})
    page = signed_in(api, chart.token).page(f"/v1/visits/{visit['id']}.html")
    problem = expect(chart.get(f"/v1/visits/{visit['id']}/force-system"), 422)
    assert "Not evaluated yet" in page.words
    for error in problem["errors"]:
        assert error["detail"] in page.words, error


def test_one_walks_from_patient_to_visit_and_back(api):
    chart, patient, case, visit = whole(api)
    browser = signed_in(api, chart.token)
    patient_path, case_path, visit_path = paths(patient, case, visit)
    assert case_path in browser.page(patient_path).links
    assert visit_path in browser.page(case_path).links
    assert {patient_path, case_path} <= set(browser.page(visit_path).links)
    # Every link of these pages that leads into the service is answered.
    for path in (patient_path, case_path, visit_path):
        for link in browser.page(path).links:
            if link.startswith("/v1/"):
                assert browser.get(link, Accept="*/*")[0] == 200, link


def test_a_case_shows_its_progress_and_its_parts(api):
    chart, patient, case, visit = whole(api)
    page = signed_in(api, chart.token).page(f"/v1/cases/{case['id']}.html")
    assert "svg" in page.tags
    for word in ("Plan against measured", "Visits", "Stages", "Plates as worn", "Screws", "chain right", "activated chain right"):
        assert word in page.words, word
    bare = signed_in(api, chart.token).page(f"/v1/cases/{chart.case()['id']}.html")
    assert "No goals are recorded." in bare.words


def test_a_case_shows_what_happened_as_its_json_tells(api):
    chart, _, case, _ = whole(api)
    told = expect(chart.get(f"/v1/cases/{case['id']}/timeline"), 200)["items"]
    page = chart.get(f"/v1/cases/{case['id']}.html")[2].decode()
    shown = re.findall(r'<li><time datetime="([^"]+)">[^<]*</time> (?:<a href="[^"]*/visits/([^"]+)\.html">)?<bdi>(.*?)</bdi>',
                       page[page.index('<ol class="timeline">'):page.index("</ol>", page.index('<ol class="timeline">'))])
    assert [(day, html.unescape(words)) for day, _, words in shown] == [(e["on"], e["words"]) for e in told] and len(told) >= 4
    assert [visit for _, visit, _ in shown if visit] == [e["id"] for e in told if e["kind"] == "visit"]


def test_pages_let_in_as_json_does(api):
    chart, patient, case, visit = whole(api)
    foreign = signed_in(api, api.clinic_b.tokens["clinician"])
    auditor, dashboard = (signed_in(api, api.clinic_a.tokens[role]) for role in ("auditor", "dashboard"))
    for path in paths(patient, case, visit):
        theirs, nowhere = foreign.get(path), foreign.get(re.sub(r"[0-9a-f-]{36}", NOWHERE, path))
        hide = lambda answer: re.sub(rb"request <code>[^<]*", b"", answer[2])
        assert theirs[0] == nowhere[0] == 404 and hide(theirs) == hide(nowhere), "another clinic's is like none"
        assert dashboard.get(path)[0] == 200 and auditor.get(path)[0] == 403
        assert Browser(api.daemon, api.request).get(path)[0] == 303
        # By token, for whoever wants to print from a script.
        assert api.request("GET", path, token=chart.token)[1]["Content-Type"] == "text/html; charset=utf-8"
        assert dashboard.get(path)[1]["ETag"] is None


def test_reading_a_page_stands_in_the_audit(api):
    clinic = Clinic(api.program, f"Pages clinic {uuid.uuid4()}")
    chart, patient, case, visit = whole(api, clinic)
    browser = signed_in(api, clinic.tokens["assistant"])
    for path in paths(patient, case, visit):
        name = str(uuid.uuid4())
        assert browser.get(path, **{"X-Request-Id": name})[0] == 200
        (row,) = trail(api, clinic, f"&request_id={name}", wait_for=len)
        assert row["action"] == "read" and row["patient_id"] == patient["id"] and row["role"] == "assistant", row
        assert row["record_ids"] == [re.search(r"[0-9a-f-]{36}", path).group()], row
    name = str(uuid.uuid4())
    assert browser.get(f"/v1/visits/{NOWHERE}.html", **{"X-Request-Id": name})[0] == 404
    (row,) = trail(api, clinic, f"&request_id={name}", wait_for=len)
    assert row["outcome"] == "not-found"


def test_the_demo_says_that_it_is_invented(api):
    chart, patient, case, visit = whole(api, Clinic(api.program, f"Invented {uuid.uuid4()}"))
    browser = signed_in(api, chart.token)
    words = "Synthetic demonstration data \u2014 no real patient."
    assert words not in browser.page(paths(patient, case, visit)[0]).words
    api.sql(f"update holdfast.clinics set demo = true where id = '{chart.clinic.id}'")
    for path in paths(patient, case, visit):
        assert words in browser.page(path).words


def test_patients_are_listed_page_by_page(api):
    chart = Chart(api, Clinic(api.program, f"Many {uuid.uuid4()}"))
    made = [chart.patient(family_name=f"Family {n % 7}") for n in range(25)]
    browser, seen, path = signed_in(api, chart.token), [], "/v1/patients.html?limit=10"
    while path:
        page = browser.page(path)
        seen += [link for link in page.links if re.fullmatch(r"/v1/patients/[0-9a-f-]{36}\.html", link)]
        path = next((link for link in page.links if "cursor=" in link), None)
    # In the order of the chart numbers, as the list's own default says.
    expected = [f"/v1/patients/{p['id']}.html" for p in sorted(made, key=lambda p: p["chart_number"])]
    assert seen == expected
    found = browser.page("/v1/patients.html?chart_number=&family_name=Family+3")
    assert found.words.count("Family 3") == len([p for p in made if p["family_name"] == "Family 3"]) and "Family 4" not in found.words
    assert "No such patient." in browser.page("/v1/patients.html?family_name=Nobody").words
    assert expect(chart.get("/v1/patients?limit=10"), 200)["next_cursor"], "programs get JSON as before"
    assert browser.get("/v1/patients.html?nonsense=1")[0] == 400


def test_the_worklist_says_who_and_why(api):
    chart = Chart(api, Clinic(api.program, f"Work {uuid.uuid4()}"))
    late, setup = chart.worn_case()
    chart.visit(late, setup)  # 2 March, next after 42 days: 13 April
    loose, other = chart.worn_case()
    chart.visit(loose, other, screw_checks=[{"screw": "right", "mobility_grade": 2}])
    named = chart.case(opened_on="2026-01-05", clinician="Dr <b>", chair="Chair & 2")
    browser = signed_in(api, chart.token)
    assert browser.get("/worklist")[1]["Location"] == "/v1/worklist.html"
    page = browser.page("/v1/worklist.html?on=2026-04-20&clinician=&chair=&due=&at_risk=")
    for word in ("At risk (1)", "Overdue (1)", "No next visit planned (1)", "7 days ago", "1\u00a0felt to move", "Dr <b>", "Chair & 2"):
        assert word in page.words or word.replace("\u00a0", " ") in page.words, word
    assert f"/v1/cases/{late['id']}.html" in page.links and f"/v1/cases/{loose['id']}.html" in page.links
    told = expect(chart.get("/v1/worklist?on=2026-04-20"), 200)["items"]
    shown = {link for link in page.links if link.startswith("/v1/cases/")}
    assert shown == {f"/v1/cases/{item['id']}.html" for item in told}
    only = browser.page("/v1/worklist.html?on=2026-04-20&clinician=Dr+%3Cb%3E")
    assert "Overdue" not in only.words.replace("overdue", "") and f"/v1/cases/{named['id']}.html" in only.links
    assert "Nobody" in browser.page("/v1/worklist.html?on=2026-04-20&chair=none").words
    name = str(uuid.uuid4())
    assert browser.get("/v1/worklist.html", **{"X-Request-Id": name})[0] == 200
    (row,) = trail(api, chart.clinic, f"&request_id={name}", wait_for=len)
    assert row["action"] == "list" and len(row["patient_ids"]) == 3, row
