"""Sessions of browsers: from a token by a form, ended with it; and what another site can make a browser do (nothing)."""
import re
import time

from browser import Browser, Page, signed_in
from chart import Chart, expect
from installation import Clinic, Daemon
from test_audit import trail
from test_tls import TlsDaemon, certify

SECRET = re.compile(r"holdfast_session=(hs_[A-Za-z0-9_-]{43}); Path=/; HttpOnly; SameSite=Strict")
NOWHERE = "01890a5d-ac96-774b-bcce-b302099a8057"


def clinician(api):
    return api.clinic_a.tokens["clinician"]


def new_token(api, role="clinician", label="session"):
    return api.program.token(api.clinic_a.id, role, label)


def test_a_form_opens_a_session(api):
    browser = Browser(api.daemon, api.request)
    page = browser.page("/sign-in?next=/v1/patients")
    field = next(f for f in page.fields if f.get("name") == "token")
    assert field["type"] == "password" and field["autocomplete"] == "off"
    assert [f["value"] for f in page.fields if f.get("name") == "next"] == ["/v1/patients"]
    answer = browser.sign_in(clinician(api), "/v1/patients")
    assert answer[0] == 303 and answer[1]["Location"] == "/v1/patients" and answer[1]["Cache-Control"] == "no-store"
    assert SECRET.fullmatch(answer[1]["Set-Cookie"]), answer[1]["Set-Cookie"]
    # A program may use it too, as JSON.
    assert expect(browser.get("/v1/visits?limit=1", Accept="application/json"), 200)["items"] is not None


def test_only_a_digest_is_kept(api):
    browser = signed_in(api, clinician(api))
    secret = browser.cookie.split("=")[1]
    # pg_dump-like: every text of the database.
    kept = api.sql("select query_to_xml('select * from holdfast.sessions', false, true, '')")
    assert secret[3:] not in kept and "hs_" not in kept
    # SHA-256 of the cookie's text, by PostgreSQL.
    assert api.sql(f"select count(*) from holdfast.sessions where digest = sha256('{secret}')") == "1"


def test_a_wrong_token_opens_none(api):
    for token in ("", "hf_x", "hf_" + "A" * 43, clinician(api)[:-1], clinician(api) + "x", "' or true --", "<script>"):
        browser = Browser(api.daemon, api.request)
        answer = browser.sign_in(token, "/v1/patients")
        page = Page(answer)
        assert answer[0] == 401 and browser.cookie is None and "Not signed in" in page.words, token
        assert token == "" or token not in page.source, "what was typed is not shown again"
        assert expect(browser.sign_in(token, Accept="*/*"), 401)["type"] == "/problems/unauthenticated"
    spaced = Browser(api.daemon, api.request)
    assert spaced.sign_in(f"  {clinician(api)}\r\n")[0] == 303, "copied with a line end"


def test_what_is_no_session(api):
    good = signed_in(api, clinician(api)).cookie
    secret = good.split("=")[1]
    for cookie in (f"holdfast_session={clinician(api)}", "holdfast_session=", f"holdfast_session={secret[:-1]}", f"session={secret}",
                   f"xholdfast_session={secret}", f"holdfast_session={secret}x", f"__Host-holdfast_session={secret}",
                   f"holdfast_session=hs_{'A' * 43}", f'holdfast_session="{secret}"'):
        assert api.request("GET", "/v1/visits", headers={"Cookie": cookie})[0] == 401, cookie
    for cookie in (good, f"a=b; {good}", f"{good}; c=d", f"a=b;{good};c"):
        assert api.request("GET", "/v1/visits", headers={"Cookie": cookie})[0] == 200, cookie
    # The secret is no token, and a request that tells a token means that.
    assert api.request("GET", "/v1/visits", token=secret)[0] == 401
    assert api.request("GET", "/v1/visits", token="hf_" + "A" * 43, headers={"Cookie": good})[0] == 401


def test_roles_hold_in_sessions(api):
    dashboard, auditor = (signed_in(api, api.clinic_a.tokens[role]) for role in ("dashboard", "auditor"))
    headers = {"Accept": "application/json", "Content-Type": "application/json"}
    assert dashboard.get("/v1/visits")[0] == 200
    assert expect(dashboard.ask("POST", "/v1/patients", {"chart_number": "x"}, headers), 403)["type"] == "/problems/forbidden"
    assert auditor.get("/v1/visits")[0] == 403 and auditor.get("/v1/audit")[0] == 200


def test_what_another_site_makes_a_browser_send_is_refused(api):
    """Cross-site request forgery: the cookie alone changes nothing. Fetch Metadata (W3C), Origin (Fetch standard)."""
    browser, host = signed_in(api, clinician(api)), f"127.0.0.1:{api.port}"
    chart = Chart(api)
    patient = chart.patient()
    path = f"/v1/patients/{patient['id']}"
    forged = [{}, {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Sec-Fetch-Site": "none"}, {"Sec-Fetch-Site": ""},
              {"Origin": "https://evil.example"}, {"Origin": "null"}, {"Origin": ""}, {"Origin": f"http://{host}.evil.example"},
              {"Origin": f"http://127.0.0.1:{api.port + 1}"}, {"Origin": host},
              {"Sec-Fetch-Site": "cross-site", "Origin": f"http://{host}"}, {"Referer": f"http://{host}/sign-in"}]
    rows = api.sql("select count(*) from holdfast.patients")
    for headers in forged:
        told = {"Cookie": browser.cookie, **headers}
        for method, target, body in (("POST", "/v1/patients", {"chart_number": "forged"}), ("PATCH", path, {"note": "forged"}),
                                     ("POST", "/v1/mechanics/evaluate", {}), ("POST", f"{path}/erase", {"reason": "forged"})):
            answer = api.request(method, target, body, headers={**told, "If-Match": "*"})
            assert expect(answer, 403)["type"] == "/problems/cross-site", (headers, method, target)
        for target in ("/sign-in", "/sign-out"):
            answer = browser.ask("POST", target, {"token": clinician(api)}, {"Sec-Fetch-Site": None, **headers})
            assert answer[0] == 403 and answer[1]["Set-Cookie"] is None, (headers, target)
    assert api.sql("select count(*) from holdfast.patients") == rows and "note" not in expect(chart.get(path), 200)
    # A page of this server may, however it says so; so may whoever holds a token.
    for headers in ({"Sec-Fetch-Site": "same-origin"}, {"Origin": f"http://{host}"}):
        answer = api.request("PATCH", path, {"note": "ours"}, headers={"Cookie": browser.cookie, "If-Match": "*", **headers})
        assert expect(answer, 200)["note"] == "ours"
    assert api.request("PATCH", path, {"note": "by token"}, clinician(api), {"If-Match": "*", "Origin": "https://evil.example"})[0] == 200


def test_signing_out_ends_it_here_and_there(api):
    browser = signed_in(api, clinician(api))
    kept, other = browser.cookie, signed_in(api, clinician(api))
    answer = browser.ask("POST", "/sign-out")
    assert answer[0] == 303 and answer[1]["Location"] == "/sign-in" and "Max-Age=0" in answer[1]["Set-Cookie"]
    assert api.request("GET", "/v1/visits", headers={"Cookie": kept})[0] == 401, "gone from the server too"
    assert other.get("/v1/visits")[0] == 200, "another session of the same token stays"
    assert browser.ask("POST", "/sign-out")[0] == 303, "twice is no fault"


def test_a_session_ends_with_its_token(api):
    admin = api.clinic_a.tokens["admin"]
    for change in ("revoked_at = now()", "expires_at = now()"):
        label = f"ends by {change}"
        browser = signed_in(api, new_token(api, label=label))
        assert browser.get("/v1/visits")[0] == 200
        api.sql(f"update holdfast.tokens set {change} where label = '{label}'")
        assert browser.get("/v1/visits", Accept="application/json")[0] == 401, change
    browser = signed_in(api, new_token(api, label="revoked by request"))
    token = next(t for t in expect(api.request("GET", "/v1/tokens?limit=200", token=admin), 200)["items"] if t["label"] == "revoked by request")
    assert api.request("POST", f"/v1/tokens/{token['id']}/revoke", token=admin)[0] == 200
    assert browser.get("/v1/visits", Accept="application/json")[0] == 401


def test_a_session_ends_by_itself(api):
    """After 12 hours, or an hour without use; use is noted to the minute."""
    for change, status in (("expires_at = now()", 401), ("used_at = now() - interval '61 minutes'", 401),
                           ("used_at = now() - interval '59 minutes'", 200)):
        browser = signed_in(api, new_token(api))
        digest = f"sha256('{browser.cookie.split('=')[1]}')"
        assert api.sql(f"select expires_at - created_at from holdfast.sessions where digest = {digest}") == "12:00:00"
        api.sql(f"update holdfast.sessions set {change} where digest = {digest}")
        assert browser.get("/v1/visits", Accept="application/json")[0] == status, change
        used = api.sql(f"select used_at > now() - interval '1 minute' from holdfast.sessions where digest = {digest}")
        assert status == 401 or used == "t", "use is noted"
        if status == 401:
            signed_in(api, clinician(api))
            assert api.sql(f"select count(*) from holdfast.sessions where digest = {digest}") == "0", "the next one sweeps"


def test_without_a_session_one_is_led_to_the_form_and_back(api):
    path = f"/v1/visits/{NOWHERE}?on=2026-03-02&x=%26"
    browser = Browser(api.daemon, api.request)
    answer = browser.get(path)
    assert answer[0] == 303 and answer[1]["Location"].startswith("/sign-in?next=%2Fv1%2Fvisits%2F" + NOWHERE)
    page = browser.page(answer[1]["Location"])
    (target,) = [f["value"] for f in page.fields if f.get("name") == "next"]
    assert target == path
    assert browser.sign_in(clinician(api), target)[1]["Location"] == path
    # Programs are told, and so is who sent a token that is no good.
    for headers in ({}, {"Accept": "application/json"}, {"Accept": "*/*"}):
        assert expect(api.request("GET", path, headers=headers), 401)["type"] == "/problems/unauthenticated"
    answer = browser.ask("GET", "/v1/visits", headers={"Authorization": "Bearer hf_x"})
    assert answer[0] == 401 and "A valid access token is needed" in Page(answer).words
    answer = Browser(api.daemon, api.request).ask("POST", "/v1/patients", {})
    assert answer[0] == 401, "what was sent would be lost by a redirect"


def test_nobody_is_led_elsewhere(api):
    elsewhere = ["https://evil.example", "//evil.example", "/\\evil.example", "\\\\evil.example", "/\t/evil.example", "javascript:alert(1)",
                 "evil.example", "", " /v1/visits", "/\r\nSet-Cookie: a=b", "/%0d%0a", "http:evil.example", "///evil.example", "/x\"><script>"]
    browser = Browser(api.daemon, api.request)
    for target in elsewhere:
        answer = browser.sign_in(clinician(api), target)
        allowed = "/%0d%0a" if target == "/%0d%0a" else "/worklist"  # percent-encoded it is a path like others
        assert answer[0] == 303 and answer[1]["Location"] == allowed, target
        assert answer[1].get_all("Set-Cookie")[0].startswith("holdfast_session=") and len(answer[1].get_all("Set-Cookie")) == 1
    page = browser.page("/sign-in?next=https://evil.example")
    assert [f["value"] for f in page.fields if f.get("name") == "next"] == ["/worklist"]


def test_failed_tries_are_counted(api):
    daemon = Daemon(api.program, env={"HOLDFAST_SIGN_IN_FAILURES_PER_MINUTE": "5"})
    browser, seen = Browser(daemon), []
    for _ in range(8):
        assert browser.sign_in(clinician(api))[0] == 303, "good ones cost nothing"
    for _ in range(7):
        seen.append(browser.sign_in("hf_" + "B" * 43))
    assert [a[0] for a in seen] == [401] * 5 + [429] * 2
    assert 1 <= int(seen[-1][1]["Retry-After"]) <= 12  # one comes back every 60/5 s
    assert "Too many failed sign-ins" in Page(seen[-1]).words
    assert browser.sign_in(clinician(api))[0] == 429, "a good one waits too: else guessing could go on"
    assert daemon.request("GET", "/v1/visits", token=clinician(api))[0] == 200, "tokens are not touched"
    assert daemon.stop() == 0


def test_over_https_the_cookie_is_secure(api):
    certificate, key = certify(api.program.folder, "session")
    for daemon in (TlsDaemon(api.program, certificate, key), Daemon(api.program, env={"HOLDFAST_HTTPS_IN_FRONT": "yes"})):
        form, headers = {"token": clinician(api)}, {"Sec-Fetch-Site": "same-origin"}
        if isinstance(daemon, TlsDaemon):
            # That client speaks JSON only.
            form = None
        browser = Browser(daemon)
        answer = browser.ask("POST", "/sign-out") if form is None else browser.sign_in(clinician(api), **headers)
        assert answer[0] == 303
        field = answer[1]["Set-Cookie"]
        assert field.startswith("__Host-holdfast_session=") and "; Secure" in field and "Domain" not in field, field
        if form is not None:
            assert browser.get("/v1/visits")[0] == 200
            plain = browser.cookie.replace("__Host-", "")
            assert daemon.request("GET", "/v1/visits", headers={"Cookie": plain})[0] == 401
        assert daemon.stop() == 0


def test_signing_in_and_out_stands_in_the_audit(api):
    clinic = Clinic(api.program, f"Session clinic {time.time_ns()}")
    browser = Browser(api.daemon, api.request)
    assert browser.sign_in(clinic.tokens["assistant"])[0] == 303
    patient = Chart(api, clinic).patient()
    assert browser.get(f"/v1/patients/{patient['id']}", Accept="application/json")[0] == 200
    assert browser.ask("POST", "/sign-out")[0] == 303
    rows = trail(api, clinic, wait_for=lambda rows: any(r["action"] == "sign-out" for r in rows))
    told = [(r["action"], r["resource"], r["role"]) for r in rows if r["role"] == "assistant"]
    assert told == [("sign-in", "/sign-in", "assistant"), ("read", "/v1/patients", "assistant"), ("sign-out", "/sign-out", "assistant")]
    assert len({r["token_id"] for r in rows if r["role"] == "assistant"}) == 1, "a session is its token's"


def test_sessions_of_two_clinics_see_their_own(api):
    theirs = Chart(api, api.clinic_b).patient()
    browser = signed_in(api, clinician(api))
    answer = browser.get(f"/v1/patients/{theirs['id']}", Accept="application/json")
    nothing = browser.get(f"/v1/patients/{NOWHERE}", Accept="application/json")
    assert answer[0] == nothing[0] == 404 and len(answer[2]) == len(nothing[2])
