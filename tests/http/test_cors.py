"""Pages of other origins: by the list in the settings, never with credentials (Fetch standard, CORS protocol)."""
from chart import expect
from installation import Daemon

OURS, ALSO, FOREIGN = "https://chart.example", "http://localhost:5173", "https://other.example"
FORMS = [FOREIGN, "null", "https://chart.example.evil.example", "https://chart.example:444", "http://chart.example",
         "https://chart.examples", "https://chart.exampl", "*", ""]


def names(field):
    return {name.strip().lower() for name in field.split(",")}


def test_pages_of_the_list_may_ask(api):
    daemon = Daemon(api.program, env={"HOLDFAST_CORS_ORIGINS": f"{OURS}  {ALSO}"})
    token = api.clinic_a.tokens["clinician"]
    for origin in (OURS, ALSO):
        for method, path, body, status in (("GET", "/v1/patients", None, 200), ("POST", "/v1/patients", {"sex": "x"}, 422),
                                           ("GET", "/v1/nothing", None, 404), ("GET", "/livez", None, 200),
                                           ("GET", "/v1/%00", None, 400)):
            answer = daemon.request(method, path, body, token, {"Origin": origin})
            assert answer[0] == status and answer[1].get_all("Access-Control-Allow-Origin") == [origin], (path, answer[0])
            assert "Origin" in answer[1].get_all("Vary") and answer[1]["Access-Control-Allow-Credentials"] is None
            assert names(answer[1]["Access-Control-Expose-Headers"]) >= {
                "etag", "link", "location", "retry-after", "ratelimit", "ratelimit-policy", "x-request-id"}
    for origin in FORMS:
        answer = daemon.request("GET", "/v1/patients", None, token, {"Origin": origin})
        assert answer[0] == 200 and answer[1]["Access-Control-Allow-Origin"] is None, origin
        assert answer[1].get_all("Vary") == ["Accept", "Origin"], "a cache must not give one page's reply to another"
    assert daemon.request("GET", "/v1/patients", None, token)[1].get_all("Vary") == ["Accept", "Origin"]
    assert daemon.stop() == 0


def test_a_preflight_needs_no_token(api):
    daemon = Daemon(api.program, env={"HOLDFAST_CORS_ORIGINS": OURS})
    ask = {"Access-Control-Request-Method": "PATCH", "Access-Control-Request-Headers": "authorization,if-match,content-type"}
    path = "/v1/visits/01890a5d-ac96-774b-bcce-b302099a8057"
    status, headers, body = daemon.request("OPTIONS", path, headers={"Origin": OURS, **ask})
    assert (status, body, headers["Access-Control-Allow-Origin"]) == (204, b"", OURS)
    assert names(headers["Access-Control-Allow-Methods"]) >= {"get", "head", "patch", "options"}
    assert names(headers["Access-Control-Allow-Headers"]) >= {
        "authorization", "content-type", "if-match", "if-none-match", "idempotency-key", "prefer", "traceparent", "x-request-id"}
    assert int(headers["Access-Control-Max-Age"]) > 0 and headers["Access-Control-Allow-Credentials"] is None
    for origin in FORMS:
        headers = daemon.request("OPTIONS", path, headers={"Origin": origin, **ask})[1]
        assert not [name for name in headers if name.lower().startswith("access-control")], origin
    headers = daemon.request("OPTIONS", "/v1/nothing", headers={"Origin": OURS, **ask})[1]
    assert headers["Access-Control-Allow-Methods"] is None
    assert daemon.stop() == 0


def test_without_a_list_nothing_is_said(api):
    answer = api.request("GET", "/v1/patients", token=api.clinic_a.tokens["clinician"], headers={"Origin": OURS})
    assert expect(answer, 200) and answer[1]["Access-Control-Allow-Origin"] is None and answer[1].get_all("Vary") == ["Accept"]


def test_a_list_that_is_none_stops_the_start(api):
    for wrong in ("*", "chart.example", "https://chart.example/", f"{OURS},{ALSO}", "null", "https://Chart.example"):
        done = api.call("serve", env={"HOLDFAST_CORS_ORIGINS": wrong, "HOLDFAST_PORT": "0"})
        assert done.returncode != 0 and b"cors_origins" in done.stderr + done.stdout, wrong
