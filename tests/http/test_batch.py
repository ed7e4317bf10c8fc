"""POST /v1/batch: several writes in one transaction, all of them or none."""
import itertools
import threading

from chart import CHAIN, PLATE, Chart, expect, pointers

NUMBERS = itertools.count(1)


def new(path, body, ref=None):
    return {"method": "POST", "path": path, "body": body, **({"ref": ref} if ref else {})}


def change(path, body, etag):
    return {"method": "PATCH", "path": path, "if_match": etag, "body": body}


def send(api, *items, role="clinician", clinic=None, **headers):
    return api.request("POST", "/v1/batch", {"items": list(items)}, (clinic or api.clinic_a).tokens[role], headers)


def number():
    return f"batch-{next(NUMBERS)}"


def rows(api, like="batch-%"):
    return int(api.sql(f"select count(*) from holdfast.patients where clinic_id = '{api.clinic_a.id}' "
                       f"and chart_number like '{like}'"))


def test_a_whole_course_in_one_request(api):
    answer = send(
        api,
        new("/v1/patients", {"chart_number": number(), "birth_date": "1990-05-17"}, "p"),
        new("/v1/cases", {"patient_id": {"$ref": "p"}, "title": "molar intrusion", "arches": {"maxilla": {
            "width_mm": 58, "depth_mm": 47.5, "vault_height_mm": 17}},
            "segments": [{"name": "upper right molars", "teeth": ["16", "17"], "joined": "rigid"}]}, "c"),
        new("/v1/screw-models", {"name": number(), "diameter_mm": 2.0, "core_mm": 1.5, "length_mm": 8, "thread_pitch_mm": 0.8}, "m"),
        *(new("/v1/screws", {"case_id": {"$ref": "c"}, "name": name, "site": "palate-paramedian", "screw_model_id": {"$ref": "m"},
                             "entry": {"palate": {"right_mm": right_mm, "behind_incisors_mm": 26}}, "axis": "perpendicular",
                             "placed_on": "2026-02-16"}) for name, right_mm in (("right", 4), ("left", -4))),
        new("/v1/setups", {"case_id": {"$ref": "c"}, "name": "palatal plate", "worn_from": "2026-02-16", **PLATE}, "s"),
        new("/v1/visits", {"case_id": {"$ref": "c"}, "visited_on": "2026-03-02", "worn": [{"setup_id": {"$ref": "s"}}],
                           "elements": [CHAIN]}))
    items = expect(answer, 200)["items"]
    assert [i["status"] for i in items] == [201] * 7 and [i.get("ref") for i in items] == ["p", "c", "m", None, None, "s", None]
    chart = Chart(api)
    for item in items:
        one = chart.get(item["location"])
        assert expect(one, 200) == item["body"] and one[1]["ETag"] == item["etag"]
    assert items[1]["body"]["patient_id"] == items[0]["body"]["id"]
    assert items[1]["body"]["arches"]["maxilla"]["depth_mm"] == 47.5
    assert items[6]["body"]["worn"][0]["setup_id"] == items[5]["body"]["id"]
    expect(chart.get(items[6]["location"] + "/force-system"), 200)


def test_changes_carry_their_version(api):
    chart = Chart(api)
    path = "/v1/patients/" + chart.patient()["id"]
    etag = chart.get(path)[1]["ETag"]
    items = expect(send(api, change(path, {"note": "one"}, etag), new("/v1/patients", {"chart_number": number()})), 200)["items"]
    assert items[0]["status"] == 200 and items[0]["body"]["note"] == "one" and items[0]["etag"] != etag
    assert "location" not in items[0]
    before = rows(api)
    answer = send(api, new("/v1/patients", {"chart_number": number()}), change(path, {"note": "two"}, etag))
    assert pointers(answer, 412) == ["/items/1/if_match"] and rows(api) == before
    without = change(path, {"note": "two"}, etag)
    del without["if_match"]
    assert pointers(send(api, without), 428) == ["/items/0/if_match"]
    assert expect(chart.get(path), 200)["note"] == "one"
    assert pointers(send(api, change(path, {"note": "two"}, "W/" + items[0]["etag"])), 412) == ["/items/0/if_match"]


def test_every_fault_is_told_and_nothing_written(api):
    before, taken = rows(api), number()
    expect(send(api, new("/v1/patients", {"chart_number": taken})), 200)
    answer = send(
        api,
        new("/v1/patients", {"chart_number": number(), "sex": "x"}, "bad"),
        new("/v1/patients", {"chart_number": number()}, "good"),
        new("/v1/cases", {"patient_id": {"$ref": "bad"}, "title": "hangs on the first"}),
        new("/v1/cases", {"patient_id": "01890a5d-ac96-774b-bcce-b302099a8057"}),
        new("/v1/patients", {"chart_number": taken}),
        new("/v1/cases", {"patient_id": {"$ref": "good"}, "closed_on": "2026-01-01", "opened_on": "2026-02-01"}),
        new("/v1/patients", {"chart_number": 7, "shoe_size": 42}))
    assert pointers(answer, 422) == ["/items/0/body/sex", "/items/3/body/patient_id", "/items/4/body/chart_number",
                                     "/items/5/body/closed_on", "/items/6/body/chart_number", "/items/6/body/shoe_size"]
    assert rows(api) == before + 1


def test_the_form_of_a_batch(api):
    good = new("/v1/patients", {"chart_number": "batch-never"})
    for items, wrong in [
            ([{**good, "method": "DELETE"}], ["/items/0/method"]),
            ([{**good, "verb": "POST"}], ["/items/0/verb"]),
            ([{"method": "POST"}], ["/items/0/body", "/items/0/path"]),
            ([good, 7], ["/items/1"]),
            ([{**good, "ref": "a"}, {**good, "ref": "a"}], ["/items/1/ref"]),
            ([new("/v1/cases", {"patient_id": {"$ref": "later"}}), {**good, "ref": "later"}], ["/items/0/body/patient_id/$ref"]),
            ([new("/v1/cases", {"stages": [{"a/b": {"$ref": 7}}]})], ["/items/0/body/stages/0/a~1b/$ref"]),
            ([{**change("/v1/patients/x", {}, "1"), "ref": "a"}], ["/items/0/ref"]),
            ([], ["/items"]), ([good] * 101, ["/items"])]:
        assert pointers(send(api, *items)) == wrong, wrong
    token = api.clinic_a.tokens["clinician"]
    assert pointers(api.request("POST", "/v1/batch", [good], token)) == [""]
    assert expect(api.request("POST", "/v1/batch", '{"items":[', token), 400)["type"] == "/problems/malformed-json"
    assert rows(api, "batch-never") == 0


def test_paths_that_a_batch_does_not_take(api):
    for path in ("/v1/nothing", "/v1/patients/01890a5d-ac96-774b-bcce-b302099a8057/x", "/v1/patients/01890a5d-ac96-774b-bcce-b302099a8057",
                 "v1/patients", "/v1/patients?limit=1", "/v1/%70atients", "/v1/mechanics/evaluate", "/v1/batch"):
        assert pointers(send(api, new(path, {"chart_number": "batch-never"}))) == ["/items/0/path"], path
    unknown = change("/v1/patients/01890a5d-ac96-774b-bcce-b302099a8057", {"note": "n"}, '"1"')
    assert pointers(send(api, unknown), 404) == ["/items/0/path"]


def test_roles_and_clinics_hold_inside(api):
    model = new("/v1/screw-models", {"name": number(), "diameter_mm": 2.0, "core_mm": 1.5, "length_mm": 8})
    patient = new("/v1/patients", {"chart_number": number()})
    before = rows(api)
    assert pointers(send(api, patient, model, role="assistant"), 403) == ["/items/1/path"] and rows(api) == before
    expect(send(api, patient, role="dashboard"), 403)
    expect(send(api, patient, role="assistant"), 200)
    other = Chart(api, api.clinic_b)
    row = other.patient()
    path = f"/v1/patients/{row['id']}"
    assert pointers(send(api, change(path, {"note": "mine now"}, other.get(path)[1]["ETag"])), 404) == ["/items/0/path"]
    assert pointers(send(api, new("/v1/cases", {"patient_id": row["id"]}))) == ["/items/0/body/patient_id"]
    assert expect(api.request("POST", "/v1/batch", {"items": [patient]}), 401)


def test_a_hundred_items_and_their_key(api):
    items = [new("/v1/patients", {"chart_number": f"hundred-{i}"}) for i in range(100)]
    first, again = (send(api, *items, **{"Idempotency-Key": "hundred"}) for _ in range(2))
    assert len(expect(first, 200)["items"]) == 100 and rows(api, "hundred-%") == 100
    assert again[0] == 200 and again[2] == first[2] and again[1]["Idempotency-Replayed"] == "true"
    other = send(api, *items[:1], **{"Idempotency-Key": "hundred"})
    assert expect(other, 422)["type"] == "/problems/idempotency-key-reused"


def test_batches_that_meet_do_not_mix(api):
    """Two batches change the same rows in opposite order: one waits or runs again, and each row shows one of them whole."""
    chart = Chart(api, api.clinic_b)
    paths = [f"/v1/patients/{chart.patient()['id']}" for _ in range(4)]
    for turn in range(3):
        tags = {path: chart.get(path)[1]["ETag"] for path in paths}
        answers = {}

        def write(name, order):
            answers[name] = send(api, *(change(path, {"note": f"{name} {turn}"}, tags[path]) for path in order), clinic=chart.clinic)

        clients = [threading.Thread(target=write, args=a) for a in (("forth", paths), ("back", paths[::-1]))]
        for client in clients:
            client.start()
        for client in clients:
            client.join()
        statuses = {name: answer[0] for name, answer in answers.items()}
        assert sorted(statuses.values()) == [200, 412], statuses
        winner = next(name for name, status in statuses.items() if status == 200)
        notes = {expect(chart.get(path), 200)["note"] for path in paths}
        assert notes == {f"{winner} {turn}"}
