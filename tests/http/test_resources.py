"""Each resource: create, read, change; refusals that name every place at once; preconditions; other clinics."""
import concurrent.futures
import json
import re

from chart import CHAIN, Chart, PLATE, body_of, expect, pointers

UUID = re.compile(r"^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$")
TIME = re.compile(r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$")
NOWHERE = "01890a5d-ac96-774b-bcce-b302099a8057"


def round_trip(chart, path, body, change, read_only=()):
    """Creates, reads and changes a row; what was sent must come back as it was sent."""
    status, headers, text = chart.post(path, body)
    assert status == 201, text
    made = json.loads(text)
    assert UUID.match(made["id"]) and made["version"] == 1 and TIME.match(made["created_at"]), made
    for name, value in body.items():
        assert made[name] == value, (name, made[name], value)
    assert headers["Location"] == f"{path}/{made['id']}" and headers["ETag"] == '"1"'
    answer = chart.get(headers["Location"])
    assert answer[2] == text and answer[1]["ETag"] == '"1"'
    newest = body_of(chart.get(f"{path}?sort=-created_at&limit=1"))["items"]
    assert newest == [made], "a list shows the same row"
    changed = expect(chart.patch(headers["Location"], change, '"1"'), 200)
    assert changed["version"] == 2 and changed["created_at"] == made["created_at"]
    for name in made:
        if name in change:
            assert changed.get(name) == change[name], name
        elif name not in ("version", "updated_at", *read_only):
            assert changed[name] == made[name], name
    return changed


def test_patients(api):
    chart = Chart(api)
    body = {"chart_number": "A-17/β", "given_name": "Žofie", "family_name": "O'Neil \"x\"", "birth_date": "1991-02-28",
            "sex": "female", "identifiers": [{"system": "urn:example:ehr", "value": "0042"}], "cigarettes_per_day": 2.5,
            "note": "first line\nsecond\tline"}
    changed = round_trip(chart, "/v1/patients", body, {"note": None, "cigarettes_per_day": 0})
    assert "note" not in changed


def test_cases(api):
    chart = Chart(api)
    body = {"patient_id": chart.patient()["id"], "title": "closing space", "clinician": "room 2", "opened_on": "2026-01-05",
            "arches": {"maxilla": {"width_mm": 58.5}}, "teeth": [{"tooth": "16", "bone_loss_mm": 1.25}],
            "segments": [{"name": "molars", "teeth": ["16", "17"], "joined": "rigid"}],
            "goals": [{"segment": "molars", "occlusal_mm": -2.5}],
            "stages": [{"name": "intrusion", "planned_from": "2026-01-05"}]}
    changed = round_trip(chart, "/v1/cases", body, {"state": "finished", "closed_on": "2027-01-05"})
    assert changed["state"] == "finished"


def test_screw_models(api):
    round_trip(Chart(api), "/v1/screw-models",
               {"name": "two by nine", "diameter_mm": 2.0, "core_mm": 1.5, "length_mm": 9, "thread_pitch_mm": 0.8,
                "modulus_mpa": 110000, "poisson": 0.34, "tapered": True, "effective_from": "2025-01-01"},
               {"effective_to": "2027-01-01", "length_mm": 9.5})


def test_plate_patterns(api):
    round_trip(Chart(api), "/v1/plate-patterns", {"name": "two seats", "purpose": "intrusion", **PLATE},
               {"purpose": "protraction", "fittings": []})


def test_sites(api):
    chart = Chart(api)
    body = {"key": "behind-the-third-ruga", "name": "behind the third ruga", "jaw": "maxilla", "loss_low": 0.02,
            "loss_mid": 0.05, "loss_high": 0.11, "cortex_mm": 1.7, "mucosa": "attached", "torque_low_ncm": 10,
            "torque_high_ncm": 20, "source": "own measurement"}
    assert round_trip(chart, "/v1/sites", body, {"cortex_mm": 1.9})["published"] is False
    found = body_of(chart.get("/v1/sites?key=mandibular-ramus"))["items"]
    assert len(found) == 1 and found[0]["published"] is True
    own = expect(chart.patch(f"/v1/sites/{found[0]['id']}", {"cortex_mm": 1.15}), 200)
    assert own["published"] is False, "a site with the clinic's own figure is no longer the published one"


def test_screws(api):
    chart = Chart(api)
    case, model = chart.case(), chart.model()
    body = {"patient_id": case["patient_id"], "case_id": case["id"], "name": "A", "site": "infrazygomatic",
            "screw_model_id": model["id"], "lot": "L-77", "expires_on": "2028-12-31", "udi": "]d2\u001d0100012345678905",
            "entry": [-30.5, 38.0, 12.25], "axis": [-0.8, 0.1, -0.6], "tissue_mm": 1.5, "stand_off_mm": 1,
            "cortex_mm": 1.4, "root_distance_mm": 3, "mucosa": "movable", "predrilled": False, "placed_on": "2026-02-16",
            "placed_by_count": 120, "insertion_torque_ncm": 14.5}
    changed = round_trip(chart, "/v1/screws", body,
                         {"state": "lost", "state_on": "2026-04-01", "state_reason": "mobile since March"})
    assert changed["state"] == "lost"


def test_screw_takes_the_patient_of_its_case(api):
    chart = Chart(api)
    case = chart.case()
    assert chart.screw(case, chart.model(), "A", 3)["patient_id"] == case["patient_id"]
    answer = chart.post("/v1/screws", {"case_id": case["id"], "patient_id": chart.patient()["id"], "name": "B",
                                       "site": "palate-median", "screw_model_id": chart.model()["id"],
                                       "placed_on": "2026-02-16"})
    assert pointers(answer) == ["/patient_id"]


def test_screw_state_needs_its_day(api):
    chart = Chart(api)
    screw = chart.screw(chart.case(), chart.model(), "A", 3)
    assert pointers(chart.patch(f"/v1/screws/{screw['id']}", {"state": "lost"})) == ["/state_on"]
    assert pointers(chart.patch(f"/v1/screws/{screw['id']}", {"state": "lost", "state_on": "2026-01-01"})) == ["/state_on"]


def test_visits(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    body = {"case_id": case["id"], "visited_on": "2026-03-02", "worn": [{"setup_id": setup["id"], "version": 1}],
            "elements": [CHAIN], "screw_checks": [{"screw": "right", "mobility_grade": 1, "percussion_score": -3.5}],
            "measures": {"overjet_mm": 3.5, "overbite_mm": -1, "forces": [{"element": "chain right", "force_n": 0.9}],
                         "teeth": [{"tooth": "16", "at_mm": [-26.1, 33.5, 6]}],
                         "segments": [{"segment": "upper right molars", "occlusal_mm": -0.5}]},
            "actions": [{"action": "activated", "of": "chain right"}], "next_interval_days": 42, "note": "fine"}
    round_trip(chart, "/v1/visits", body, {"next_interval_days": 28})


def test_every_error_of_a_body_at_once(api):
    chart = Chart(api)
    answer = chart.post("/v1/screws", {
        "case_id": "17", "name": "", "site": 5, "tissue_mm": {"value": 1, "unit": "N"}, "stand_off_mm": "1",
        "cortex_mm": 4000, "predrilled": 1, "placed_on": "2026-02-30", "placed_by_count": 1.5, "mucosa": "blue",
        "entry": {"palate": {"left_mm": 1}}, "version": 3, "weight_g": 2})
    found = pointers(answer)
    for pointer in ["/case_id", "/name", "/site", "/screw_model_id", "/tissue_mm/unit", "/stand_off_mm", "/cortex_mm",
                    "/predrilled", "/placed_on", "/placed_by_count", "/mucosa", "/version", "/weight_g"]:
        assert pointer in found, (pointer, found)
    assert any(p.startswith("/entry") for p in found), found


# UCUM: [in_i] = 2.54 cm; kgf = 9.80665 N (the third CGPM's gravity).
def test_quantities_in_other_units(api):
    chart = Chart(api)
    screw = chart.screw(chart.case(), chart.model(), "A", 3, insertion_torque_ncm={"value": 1.5, "unit": "kgf.cm"},
                        tissue_mm={"value": 0.05, "unit": "[in_i]"})
    assert abs(screw["insertion_torque_ncm"] - 14.709975) < 1e-9
    assert abs(screw["tissue_mm"] - 1.27) < 1e-12


def test_malformed_bodies(api):
    chart = Chart(api)
    for text in ['{"chart_number":"d1","chart_number":"d2"}', '{"chart_number":', '{"chart_number":"x","cigarettes_per_day":NaN}',
                 '{"chart_number":"x","cigarettes_per_day":1e999}', '{"chart_number":"a\\u0000b"}', "[" * 40 + "]" * 40]:
        problem = expect(chart.post("/v1/patients", text), 400)
        assert problem["type"] == "/problems/malformed-json" and "line" in problem["detail"], problem
    assert expect(chart.post("/v1/patients", "[]"), 422)
    assert expect(chart.post("/v1/patients", ""), 400)["type"] == "/problems/bad-request"
    assert api.sql("select count(*) from holdfast.patients where chart_number in ('d1', 'd2', 'x')") == "0"


def test_media_types(api):
    chart = Chart(api)
    body = json.dumps({"chart_number": "media-1"})
    for kind in ["text/plain", "application/x-www-form-urlencoded", "application/json; charset=latin1"]:
        answer = api.request("POST", "/v1/patients", body, chart.token, {"Content-Type": kind})
        assert expect(answer, 415)["type"] == "/problems/unsupported-media-type" and "Accept-Post" in answer[1]
    patient = chart.patient()
    answer = api.request("PATCH", f"/v1/patients/{patient['id']}", "[]", chart.token,
                         {"Content-Type": "application/json-patch+json", "If-Match": '"1"'})
    assert answer[0] == 415 and "application/merge-patch+json" in answer[1]["Accept-Patch"]
    assert chart.get("/v1/patients", Accept="text/calendar")[0] == 406
    assert chart.get("/v1/patients", Accept="text/html, */*;q=0.1")[0] == 200
    assert chart.get("/v1/patients", Accept="application/json;q=0")[0] == 406


def test_preconditions(api):
    chart = Chart(api)
    patient = chart.patient()
    path = f"/v1/patients/{patient['id']}"
    change = {"note": "seen"}
    assert expect(api.request("PATCH", path, change, chart.token), 428)["type"] == "/problems/precondition-required"
    for etag in ['"2"', 'W/"1"', '"01"', "1", '""']:
        assert expect(chart.patch(path, change, etag), 412)["type"] == "/problems/precondition-failed", etag
    assert "note" not in body_of(chart.get(path)), "a refused change leaves no trace"
    assert chart.patch(path, change, '"9", "1"')[1]["ETag"] == '"2"'
    assert chart.patch(path, {"note": "late"}, '"1"')[0] == 412
    assert chart.patch(path, {"note": "any"}, "*")[1]["ETag"] == '"3"'
    same = chart.patch(path, {"note": "any"}, '"3"')
    assert same[0] == 200 and same[1]["ETag"] == '"3"', "a change that changes nothing makes no version"
    not_modified = chart.get(path, **{"If-None-Match": 'W/"3"'})
    assert not_modified[0] == 304 and not_modified[2] == b"" and not_modified[1]["ETag"] == '"3"'
    assert chart.get(path, **{"If-None-Match": '"2"'})[0] == 200


def test_one_of_many_changes_at_once_wins(api):
    chart = Chart(api)
    path = f"/v1/patients/{chart.patient()['id']}"
    with concurrent.futures.ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda i: chart.patch(path, {"note": f"from {i}"}, '"1"'), range(24)))
    assert sorted(a[0] for a in answers) == [200] + [412] * 23
    winner = next(body_of(a) for a in answers if a[0] == 200)
    assert body_of(chart.get(path)) == winner and winner["version"] == 2


def test_merge_patch(api):
    chart = Chart(api)
    case = chart.case(arches={"maxilla": {"width_mm": 58, "depth_mm": 47}}, note="old")
    path = f"/v1/cases/{case['id']}"
    changed = expect(chart.patch(path, {"arches": {"maxilla": {"depth_mm": None, "width_mm": 59}}, "note": None}), 200)
    assert changed["arches"] == {"maxilla": {"width_mm": 59}} and "note" not in changed
    assert pointers(chart.patch(path, {"arches": {"maxilla": {"width_mm": -1}}, "state": None, "title": 3})) == \
        ["/arches/maxilla/width_mm", "/title"]
    as_json = api.request("PATCH", path, json.dumps({"note": "n"}), chart.token,
                          {"Content-Type": "application/json", "If-Match": "*"})
    assert expect(as_json, 200)["note"] == "n"
    assert expect(chart.patch(path, expect(chart.get(path), 200)), 200)["note"] == "n", "a row may be sent back as read"


def test_what_is_fixed_stays(api):
    chart = Chart(api)
    case = chart.case()
    answer = chart.patch(f"/v1/cases/{case['id']}", {"patient_id": chart.patient()["id"], "id": NOWHERE, "version": 7})
    assert pointers(answer) == ["/id", "/patient_id", "/version"]


def test_unique_values_name_the_member(api):
    chart = Chart(api)
    patient = chart.patient()
    answer = chart.post("/v1/patients", {"chart_number": patient["chart_number"]})
    assert pointers(answer, 409) == ["/chart_number"] and body_of(answer)["type"] == "/problems/conflict-unique"
    case, model = chart.case(), chart.model()
    screw = chart.screw(case, model, "A", 3)
    chart.screw(case, model, "B", -3)
    assert pointers(chart.patch(f"/v1/screws/{screw['id']}", {"name": "B"}), 409) == ["/name"]
    other = Chart(api, api.clinic_b)
    other.make("/v1/patients", {"chart_number": patient["chart_number"]})


def test_references_that_point_nowhere(api):
    chart, other = Chart(api), Chart(api, api.clinic_b)
    assert pointers(chart.post("/v1/cases", {"patient_id": NOWHERE})) == ["/patient_id"]
    assert pointers(chart.post("/v1/cases", {"patient_id": other.patient()["id"]})) == ["/patient_id"]
    answer = chart.post("/v1/screws", {"case_id": other.case()["id"], "name": "A", "site": "moon", "placed_on": "2026-02-16",
                                       "screw_model_id": other.model()["id"]})
    assert pointers(answer) == ["/case_id", "/screw_model_id", "/site"]
    case = chart.case()
    assert pointers(chart.patch(f"/v1/cases/{case['id']}", {"goals": [{"segment": "nowhere"}]})) == ["/goals/0/segment"]


def test_dates_and_ends_in_order(api):
    chart = Chart(api)
    patient = chart.patient()
    assert pointers(chart.post("/v1/cases", {"patient_id": patient["id"], "opened_on": "2026-02-02",
                                             "closed_on": "2026-02-01"})) == ["/closed_on"]
    # With it whatever the rows of others have to say: one round is enough to mend all.
    assert pointers(chart.post("/v1/cases", {"patient_id": "01890a5d-ac96-774b-bcce-b302099a8057", "opened_on": "2026-02-02",
                                             "closed_on": "2026-02-01"})) == ["/closed_on", "/patient_id"]
    assert pointers(chart.post("/v1/cases", {"patient_id": patient["id"], "opened_on": "2026-02-02", "closed_on": "2026-02-01",
                                             "goals": [{"segment": "nowhere"}]})) == ["/closed_on", "/goals/0/segment"]
    assert pointers(chart.post("/v1/screw-models", {"name": "thick core", "diameter_mm": 1.4, "core_mm": 1.5,
                                                    "length_mm": 8})) == ["/diameter_mm"]
    assert pointers(chart.post("/v1/sites", {"key": "k", "name": "n", "jaw": "maxilla", "loss_low": 0.2,
                                             "loss_high": 0.1, "torque_low_ncm": 10})) == ["/loss_mid", "/torque_high_ncm"]


def test_dimensions_of_a_model_in_use_stand_still(api):
    chart = Chart(api)
    model = chart.model()
    chart.screw(chart.case(), model, "A", 3)
    answer = chart.patch(f"/v1/screw-models/{model['id']}", {"length_mm": 10})
    assert expect(answer, 409)["type"] == "/problems/conflict-state"
    expect(chart.patch(f"/v1/screw-models/{model['id']}", {"note": "still chosen"}), 200)


def test_another_clinic_sees_nothing(api):
    chart, other = Chart(api), Chart(api, api.clinic_b)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    paths = [f"/v1/cases/{case['id']}", f"/v1/setups/{setup['id']}", f"/v1/visits/{visit['id']}",
             f"/v1/patients/{case['patient_id']}"]
    ids = rb'"(request|trace)_id":"[^"]*"'
    for path in paths + [f"{paths[2]}/{part}" for part in ("force-system", "stability", "mechanics-document")] + \
            [f"{paths[1]}/versions"]:
        expect(chart.get(path), 200)
        foreign, unknown = other.get(path), other.get(re.sub(r"[0-9a-f-]{36}", NOWHERE, path))
        assert foreign[0] == unknown[0] == 404
        assert re.sub(ids, b"", foreign[2]) == re.sub(ids, b"", unknown[2])
    for path in paths:
        assert other.patch(path, {"note": "x"}, "*")[0] == 404
        assert chart.get(path)[1]["ETag"] == '"1"'
    assert case["id"] not in [c["id"] for c in body_of(other.get("/v1/cases?limit=200"))["items"]]


def test_roles(api):
    chart = Chart(api)
    patient = chart.patient()
    tokens = chart.clinic.tokens
    for role, read, write in [("clinician", 200, 201), ("assistant", 200, 201), ("dashboard", 200, 403),
                              ("integrator", 200, 201), ("auditor", 403, 403), ("admin", 200, 201)]:
        assert api.request("GET", f"/v1/patients/{patient['id']}", token=tokens[role])[0] == read, role
        made = api.request("POST", "/v1/patients", {"chart_number": f"made-by-{role}"}, tokens[role])
        assert made[0] == write, role
    assert api.request("POST", "/v1/screw-models", {"name": "m", "diameter_mm": 2, "length_mm": 8},
                       tokens["assistant"])[0] == 403
    refused = api.request("POST", "/v1/patients", {"no such": 1}, tokens["dashboard"])
    problem = expect(refused, 403)
    assert "clinician,assistant,integrator,admin" in problem["detail"]
    assert "errors" not in problem, "who may not write is not told what is wrong with the body"


def test_tokens(api):
    path = "/v1/patients"
    for headers in [{}, {"Authorization": "Bearer"}, {"Authorization": "Bearer hf_" + "A" * 43}, {"Authorization": "Basic eDp5"}]:
        answer = api.request("GET", path, headers=headers)
        assert expect(answer, 401)["type"] == "/problems/unauthenticated" and answer[1]["WWW-Authenticate"] == "Bearer"
    for answer in [api.request("POST", path, {"no such": 1}, "hf_" + "A" * 43),
                   api.request("GET", f"{path}?no=1", token="hf_" + "A" * 43),
                   api.request("GET", f"{path}/{NOWHERE}?no=1", token="hf_" + "A" * 43)]:
        assert "errors" not in expect(answer, 401), "a stranger is not told what else is wrong"


def test_methods_of_a_path(api):
    chart = Chart(api)
    patient = chart.patient()
    for path, allow in [("/v1/patients", "OPTIONS, GET, HEAD, POST"),
                        (f"/v1/patients/{patient['id']}", "OPTIONS, GET, HEAD, PATCH"),
                        ("/v1/mechanics/evaluate", "OPTIONS, POST")]:
        answer = api.request("DELETE", path, token=chart.token)
        assert answer[0] == 405 and answer[1]["Allow"] == allow
        options = api.request("OPTIONS", path)
        assert options[0] == 204 and options[1]["Allow"] == allow and options[2] == b""
    head, get = (api.request(m, f"/v1/patients/{patient['id']}", token=chart.token) for m in ("HEAD", "GET"))
    assert head[0] == 200 and head[2] == b"" and head[1]["ETag"] == get[1]["ETag"]
    assert head[1]["Content-Length"] == str(len(get[2]))
    for path in ["/v1", "/v1/nothing", "/v1/patients/17", "/v1/patients/" + NOWHERE, "/v1/patients/" + NOWHERE + "/x"]:
        assert chart.get(path)[0] == 404, path
