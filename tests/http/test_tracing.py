"""Which request, of which trace: in replies, refusals and the log."""
import itertools
import json
import socket

from chart import expect

TRACE = "4bf92f3577b34da6a3ce929d0e0e4736"
NUMBERS = itertools.count(1)


def trace_of(api, *fields):
    """The trace id that a refusal tells, over a bare socket: a client library would merge repeated fields."""
    lines = "".join(f"traceparent: {field}\r\n" for field in fields)
    with socket.create_connection(("127.0.0.1", api.port), timeout=30) as s:
        s.sendall(f"GET /v1/nothing HTTP/1.1\r\nHost: x\r\nConnection: close\r\n{lines}\r\n".encode())
        reply = b""
        while piece := s.recv(65536):
            reply += piece
    return json.loads(reply.split(b"\r\n\r\n", 1)[1])["trace_id"]


def test_a_good_traceparent_is_taken_over(api):
    """The examples of W3C Trace Context, §3.2.2 and §3.2.4 (a later version may have more fields)."""
    for field in (f"00-{TRACE}-00f067aa0ba902b7-01", f"00-{TRACE}-00f067aa0ba902b7-00", f"cc-{TRACE}-00f067aa0ba902b7-01",
                  f"cc-{TRACE}-00f067aa0ba902b7-01-what-the-future-will-be-like"):
        assert trace_of(api, field) == TRACE, field


def test_any_other_begins_a_trace(api):
    good = f"00-{TRACE}-00f067aa0ba902b7-01"
    seen = {trace_of(api)}
    wrong = ["", f"ff-{TRACE}-00f067aa0ba902b7-01", f"00-{'0' * 32}-00f067aa0ba902b7-01", f"00-{TRACE}-{'0' * 16}-01", good + "-x",
             good.upper(), good[:-1], good + "0", good.replace("-", "_"), f"cc-{TRACE}-00f067aa0ba902b7-01.x",
             f"0-{TRACE}-00f067aa0ba902b7-01", f"00-{TRACE[:-1]}g-00f067aa0ba902b7-01", f"00-{TRACE}-00f067aa0ba902b7-0x"]
    for field in wrong:
        seen.add(trace_of(api, field))
    seen.add(trace_of(api, good, good))
    assert len(seen) == len(wrong) + 2 and TRACE not in seen
    assert all(len(t) == 32 and set(t) <= set("0123456789abcdef") and set(t) != {"0"} for t in seen)


def test_the_log_knows_both(api):
    mine = f"mine-{next(NUMBERS)}.{id(api)}"
    answer = api.request("GET", "/v1/nothing", headers={"X-Request-Id": mine, "traceparent": f"00-{TRACE}-00f067aa0ba902b7-01"})
    problem = expect(answer, 404)
    assert (problem["request_id"], problem["trace_id"], answer[1]["X-Request-Id"]) == (mine, TRACE, mine)
    lines = [json.loads(line) for line in api.daemon.log().splitlines() if mine in line]
    assert [(line["request_id"], line["trace_id"], line["status"]) for line in lines] == [(mine, TRACE, 404)]


def test_a_request_id_that_is_not_clean_is_replaced(api):
    for wrong in ("", "a b", "x" * 37, "a;b", '"a"', "a/b"):
        given = api.request("GET", "/livez", headers={"X-Request-Id": wrong})[1]["X-Request-Id"]
        assert given != wrong and len(given) == 36, wrong
