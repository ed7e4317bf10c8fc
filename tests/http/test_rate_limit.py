"""What a token may ask in a minute, and what is told of it (fields of the IETF draft on rate limits, revision 10)."""
import re
import threading
import time

from chart import expect
from installation import Daemon


def told(headers):
    """(q, w, r, t)"""
    policy = re.fullmatch(r'"default";q=(\d+);w=(\d+)', headers["RateLimit-Policy"])
    left = re.fullmatch(r'"default";r=(\d+);t=(\d+)', headers["RateLimit"])
    return tuple(map(int, policy.groups() + left.groups()))


def test_a_token_has_its_share(api):
    daemon = Daemon(api.program, env={"HOLDFAST_RATE_LIMIT_PER_MINUTE": "20", "HOLDFAST_WORKERS": "4"})
    mine, other = api.clinic_a.tokens["clinician"], api.clinic_a.tokens["assistant"]
    began = time.monotonic()
    answers = []

    def ask():
        for _ in range(10):
            answers.append(daemon.request("GET", "/v1/patients?limit=1", token=mine))

    clients = [threading.Thread(target=ask) for _ in range(4)]
    for client in clients:
        client.start()
    for client in clients:
        client.join()
    took = time.monotonic() - began
    good, refused = ([a for a in answers if a[0] == status] for status in (200, 429))
    # One comes back every 60/20 = 3 s.
    assert 20 <= len(good) <= 20 + took / 3 and len(good) + len(refused) == 40, [a[0] for a in answers]
    assert {told(a[1])[:2] for a in answers} == {(20, 60)}
    assert sorted({told(a[1])[2] for a in good}) == list(range(20)), "each tells one less"
    for answer in refused:
        assert expect(answer, 429)["type"] == "/problems/rate-limited"
        assert 1 <= int(answer[1]["Retry-After"]) <= 3 and told(answer[1])[2:] in {(0, t) for t in range(57, 61)}
    assert told(daemon.request("GET", "/v1/patients", token=other)[1])[2] == 19, "another token has its own"
    for path in ("/livez", "/readyz", "/problems", "/metrics"):
        answer = daemon.request("GET", path, token=mine)
        assert answer[0] == 200 and answer[1]["RateLimit"] is None, path
    assert daemon.request("GET", "/v1/patients")[0] == 401
    time.sleep(3.2)
    again = daemon.request("POST", "/v1/patients", {"sex": "x"}, mine)
    assert again[0] == 422 and told(again[1])[2] == 0, "refusals count and tell too"
    assert daemon.stop() == 0


def test_without_a_limit_nothing_is_said(api):
    answer = api.request("GET", "/v1/patients", token=api.clinic_a.tokens["clinician"])
    assert expect(answer, 200) and answer[1]["RateLimit"] is None and answer[1]["RateLimit-Policy"] is None


def test_a_replayed_reply_tells_the_budget_of_now(api):
    daemon = Daemon(api.program, env={"HOLDFAST_RATE_LIMIT_PER_MINUTE": "100"})
    token = api.clinic_a.tokens["integrator"]
    for left in (99, 98):
        answer = daemon.request("POST", "/v1/patients", {"chart_number": "budget"}, token, {"Idempotency-Key": "budget"})
        assert expect(answer, 201) and answer[1].get_all("RateLimit-Policy") == ['"default";q=100;w=60']
        assert told(answer[1])[2] == left
    assert daemon.stop() == 0
