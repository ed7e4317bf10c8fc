"""Preconditions, preferences, negotiation, cursors, methods: what a client says beside the body."""
import html
import base64
import threading

from chart import Chart, body_of, expect, pointers

PROBLEM = "application/problem+json"


def kind(answer, status):
    assert answer[1]["Content-Type"] == PROBLEM
    return expect(answer, status)["type"].removeprefix("/problems/")


def test_if_match_in_all_its_forms(api):
    chart = Chart(api)
    path = "/v1/patients/" + chart.patient()["id"]

    def patch(field):
        headers = {} if field is None else {"If-Match": field}
        return api.request("PATCH", path, {"note": f"by {field}"}, chart.token, headers)

    assert kind(patch(None), 428) == "precondition-required"
    for stale in ('"0"', '"11"', "1", 'W/"1"', 'W/"1", W/"2"', '"0", "7"', "", '"1', "*x"):
        assert kind(patch(stale), 412) == "precondition-failed", stale
    assert expect(patch('"1"'), 200)["version"] == 2
    assert expect(patch('"1", "2" , "3"'), 200)["version"] == 3
    assert expect(patch('W/"3", "3"'), 200)["version"] == 4
    assert expect(patch("*"), 200)["version"] == 5
    gone = api.request("PATCH", "/v1/patients/01890a5d-ac96-774b-bcce-b302099a8057", {"note": "n"}, chart.token, {"If-Match": "*"})
    assert kind(gone, 404) == "not-found"


def test_if_none_match_in_all_its_forms(api):
    chart = Chart(api)
    path = "/v1/patients/" + chart.patient()["id"]
    for same in ('"1"', 'W/"1"', '"0", "1"', "*"):
        status, headers, body = chart.get(path, **{"If-None-Match": same})
        assert (status, headers["ETag"], body) == (304, '"1"', b""), same
        assert api.request("HEAD", path, token=chart.token, headers={"If-None-Match": same})[0] == 304
    for other in ('"2"', "1", 'W/"2", "3"', ""):
        assert chart.get(path, **{"If-None-Match": other})[0] == 200, other


def test_of_many_writers_one_wins_each_round(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    path = f"/v1/visits/{chart.visit(case, setup)['id']}"
    for turn in range(4):
        etag, statuses = chart.get(path)[1]["ETag"], []

        def write(me):
            body = {"next_interval_days": 10 + me + 32 * turn}
            statuses.append(api.request("PATCH", path, body, chart.token, {"If-Match": etag})[0])

        writers = [threading.Thread(target=write, args=(me,)) for me in range(32)]
        for writer in writers:
            writer.start()
        for writer in writers:
            writer.join()
        assert sorted(statuses) == [200] + [412] * 31, statuses
        assert expect(chart.get(path), 200)["version"] == turn + 2


def test_a_reply_without_the_row(api):
    chart = Chart(api)
    minimal = {"Prefer": "return=minimal"}
    status, headers, body = api.request("POST", "/v1/patients", {"chart_number": "minimal"}, chart.token,
                                        {**minimal, "Idempotency-Key": "minimal"})
    assert (status, body, headers["Preference-Applied"]) == (201, b"", "return=minimal")
    assert headers["Content-Type"] is None
    row = expect(chart.get(headers["Location"]), 200)
    assert row["chart_number"] == "minimal" and headers["ETag"] == '"1"'
    again = api.request("POST", "/v1/patients", {"chart_number": "minimal"}, chart.token, {"Idempotency-Key": "minimal"})
    assert again[0] == 201 and again[2] == b"" and again[1]["Location"] == headers["Location"]
    status, headers, body = api.request("PATCH", headers["Location"], {"note": "n"}, chart.token, {**minimal, "If-Match": '"1"'})
    assert (status, body, headers["ETag"], headers["Preference-Applied"]) == (204, b"", '"2"', "return=minimal")
    items = [{"method": "POST", "path": "/v1/patients", "body": {"chart_number": "minimal too"}}]
    answer = api.request("POST", "/v1/batch", {"items": items}, chart.token, minimal)
    assert [sorted(i) for i in expect(answer, 200)["items"]] == [["etag", "location", "status"]]
    assert answer[1]["Preference-Applied"] == "return=minimal"
    whole = api.request("POST", "/v1/patients", {"chart_number": "whole"}, chart.token, {"Prefer": "return=representation"})
    assert expect(whole, 201)["chart_number"] == "whole"


def test_what_is_taken_and_offered(api):
    chart = Chart(api)
    path = "/v1/patients/" + chart.patient()["id"]
    for accept in ("application/json", "*/*", "application/*;q=0.1", "text/html, application/json;q=0.2"):
        assert chart.get(path, Accept=accept)[0] == 200, accept
    for accept in ("text/csv", "application/xml, image/*", "application/json;q=0"):
        refused = chart.get(path, Accept=accept)
        assert kind(refused, 406) == "not-acceptable" and "application/json" in body_of(refused)["detail"]
    for content_type in ("text/plain", "application/json; charset=latin1", "application/x-www-form-urlencoded"):
        refused = api.request("POST", "/v1/patients", "{}", chart.token, {"Content-Type": content_type})
        assert kind(refused, 415) == "unsupported-media-type" and refused[1]["Accept-Post"] == "application/json"
        refused = api.request("PATCH", path, "{}", chart.token, {"Content-Type": content_type, "If-Match": "*"})
        assert kind(refused, 415) == "unsupported-media-type"
        assert refused[1]["Accept-Patch"] == "application/merge-patch+json, application/json"


def test_head_and_options_everywhere(api):
    chart = Chart(api)
    case, setup = chart.worn_case()
    visit = f"/v1/visits/{chart.visit(case, setup)['id']}"
    for path in ("/v1/patients", "/v1/patients?limit=1&total=true", f"/v1/patients/{case['patient_id']}", visit,
                 visit + "/force-system", visit + "/stability", visit + "/mechanics-document", "/v1/evidence",
                 "/v1/openapi.yaml", "/problems", "/problems/validation", "/livez", "/readyz"):
        got, head = chart.get(path), api.request("HEAD", path, token=chart.token)
        assert (got[0], head[0], head[2]) == (200, 200, b""), path
        for name in ("Content-Type", "ETag", "Link"):
            assert got[1][name] == head[1][name], (path, name)
    for path, allow, posts, patches in (
            ("/v1/patients", {"OPTIONS", "GET", "HEAD", "POST"}, "application/json", None),
            (visit, {"OPTIONS", "GET", "HEAD", "PATCH"}, None, "application/merge-patch+json, application/json"),
            ("/v1/batch", {"OPTIONS", "POST"}, "application/json", None),
            ("/problems/validation", {"OPTIONS", "GET", "HEAD"}, None, None)):
        status, headers, body = api.request("OPTIONS", path)
        assert (status, body, set(headers["Allow"].split(", "))) == (204, b"", allow), path
        assert (headers["Accept-Post"], headers["Accept-Patch"]) == (posts, patches), path
        refused = api.request("DELETE", path, token=chart.token)
        assert kind(refused, 405) == "method-not-allowed" and set(refused[1]["Allow"].split(", ")) == allow
    assert api.request("OPTIONS", "/v1/nothing")[0] == 404


def test_a_cursor_of_another_clinic_or_altered(api):
    charts = Chart(api), Chart(api, api.clinic_b)
    for chart in charts:
        for _ in range(3):
            chart.patient(family_name="Same")
    path = "/v1/patients?limit=1&sort=chart_number"
    cursor = body_of(charts[0].get(path))["next_cursor"]
    expect(charts[0].get(f"{path}&cursor={cursor}"), 200)
    expect(charts[0].api.request("GET", f"{path}&cursor={cursor}", token=api.clinic_a.tokens["assistant"]), 200)
    assert pointers(charts[1].get(f"{path}&cursor={cursor}"), 400) == ["?cursor"]
    plain = base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4))
    altered = base64.urlsafe_b64encode(plain + b"0").decode().rstrip("=")
    assert pointers(charts[0].get(f"{path}&cursor={altered}"), 400) == ["?cursor"]
    assert pointers(charts[0].get(f"/v1/patients?limit=1&sort=-chart_number&cursor={cursor}"), 400) == ["?cursor"]
    cursor = body_of(charts[0].get("/v1/patients?limit=1&sort=created_at"))["next_cursor"]
    assert pointers(charts[0].get(f"/v1/cases?limit=1&sort=created_at&cursor={cursor}"), 400) == ["?cursor"]


def test_every_kind_of_refusal_has_its_page(api):
    kinds = expect(api.request("GET", "/problems"), 200)["items"]
    assert len(kinds) == len({k["type"] for k in kinds}) >= 21
    whole = api.request("GET", "/problems", headers={"Accept": "text/html"})[2].decode()
    for one in kinds:
        assert expect(api.request("GET", one["type"]), 200) == one and len(one["what"]) > 20
        status, headers, body = api.request("GET", one["type"], headers={"Accept": "text/html,*/*;q=0.8"})
        assert (status, headers["Content-Type"], headers["Vary"]) == (200, "text/html; charset=utf-8", "Accept")
        page = html.unescape(body.decode())
        assert f"<h1>{one['title']}</h1>" in page and one["what"] in page
        assert f'href="{one["type"]}"' in whole
    assert kind(api.request("GET", "/problems/none"), 404) == "not-found"
    assert kind(api.request("GET", "/problems", headers={"Accept": "image/png"}), 406) == "not-acceptable"
