"""The feed of events: read page by page and as a stream (WHATWG HTML, 9.2 Server-sent events)."""
import json
import re
import select
import socket
import threading
import time
from urllib.parse import urlencode

from chart import Chart, expect
from installation import Daemon
import rows
from test_operations import metrics

TYPES = re.compile(r"[a-z-]+[.](created|changed|erased)")


class Stream:
    """A listener. Reads what has come; what is not complete yet waits."""

    def __init__(self, port, token, path="/v1/events", last_event_id=None, method="GET", extra=""):
        who = f"Authorization: Bearer {token}" if token.startswith("hf_") else f"Cookie: {token}"
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=30)
        fields = f"Last-Event-ID: {last_event_id}\r\n" if last_event_id else ""
        self.socket.sendall(f"{method} {path} HTTP/1.1\r\nHost: here\r\nAccept: text/event-stream\r\n{fields}{extra}"
                            f"{who}\r\n\r\n".encode())
        self.head, self.raw, self.text, self.over = None, b"", "", False
        self.events, self.last_id, self.comments, self.retry = [], None, 0, None

    def take(self):
        """What one recv gives; False at the end of the connection."""
        piece = self.socket.recv(65536)
        self.raw += piece
        if self.head is None and b"\r\n\r\n" in self.raw:
            self.head, _, self.raw = self.raw.partition(b"\r\n\r\n")
        while self.head is not None and b"\r\n" in self.raw:
            size, _, rest = self.raw.partition(b"\r\n")
            length = int(size, 16)
            if len(rest) < length + 2:
                break
            self.over = self.over or length == 0
            self.text += rest[:length].decode()
            self.raw = rest[length + 2:]
        self.parse()
        return piece != b""

    def parse(self):
        while "\n\n" in self.text:
            block, _, self.text = self.text.partition("\n\n")
            event = {}
            for line in block.split("\n"):
                name, _, value = line.partition(": ")
                if line.startswith(":"):
                    self.comments += 1
                elif name == "id":
                    self.last_id = value
                elif name == "retry":
                    self.retry = int(value)
                else:
                    event[name] = value
            if "data" in event:
                data = json.loads(event["data"])
                assert data["type"] == event["event"], block
                self.events.append(data)

    def until(self, done, seconds=20):
        """Reads until done(self) or the end; what `done` said."""
        deadline = time.monotonic() + seconds
        while not done(self) and not self.over:
            left = deadline - time.monotonic()
            if left <= 0 or not select.select([self.socket], [], [], left)[0] or not self.take():
                break
        return done(self)

    def listens(self):
        assert self.until(lambda s: s.last_id), (self.head, self.raw)
        assert b" 200 " in self.head.split(b"\r\n")[0] and b"Content-Type: text/event-stream" in self.head, self.head
        return self

    def ends(self, seconds=20):
        return self.until(lambda s: s.over, seconds)

    def close(self):
        self.socket.close()

    def positions(self):
        return [event["position"] for event in self.events]


def token_of(clinic):
    return clinic.tokens["dashboard"]


def page(api, clinic, query="", status=200, role="dashboard", **headers):
    return expect(api.request("GET", f"/v1/events{query}", token=clinic.tokens[role], headers=headers), status)


def feed(api, clinic, wanted=None, query="limit=200", seconds=20):
    """All events by cursor, once there are `wanted`."""
    events, cursor, deadline = [], "earliest", time.monotonic() + seconds
    while True:
        got = page(api, clinic, f"?cursor={cursor}&{query}")
        events, cursor = events + got["items"], got["next_cursor"]
        if not got["items"] and (wanted is None or len(events) >= wanted):
            return events
        assert time.monotonic() < deadline, (wanted, len(events))
        if not got["items"]:
            time.sleep(0.05)


def told(events):
    return [(event["type"], event["id"], event["version"]) for event in events]


def quiet_feed(api, clinic):
    """The published sites of a fresh clinic are events too."""
    return feed(api, clinic, int(api.sql(f"select count(*) from holdfast.sites where clinic_id = '{clinic.id}'")))


def fresh_clinic(api):
    """One whose own beginning has its place in the feed already: what is heard from here on is the test's."""
    clinic = rows.fresh_clinic(api)
    quiet_feed(api, clinic)
    return clinic


def test_what_was_done_is_told_in_order(api):
    clinic = fresh_clinic(api)
    chart, before = Chart(api, clinic), quiet_feed(api, clinic)
    case, setup = chart.worn_case()
    visit = chart.visit(case, setup)
    answer = chart.patch(f"/v1/visits/{visit['id']}", {"note": "seen again"})
    request = answer[1]["X-Request-Id"]
    chart.patch(f"/v1/visits/{visit['id']}", {"note": "seen again"})  # changes nothing
    patient = api.sql(f"select patient_id from holdfast.cases where id = '{case['id']}'")
    events = feed(api, clinic, len(before) + 8)[len(before):]
    kinds = [event["type"] for event in events]
    assert kinds == ["patient.created", "case.created", "screw-model.created", "screw.created", "screw.created",
                     "setup.created", "visit.created", "visit.changed"], kinds
    assert events[0]["id"] == patient and events[0]["resource"] == "/v1/patients"
    assert events[-1] == {**events[-1], "resource": "/v1/visits", "id": visit["id"], "version": 2, "request_id": request}
    # Without gaps from 1, and thin: where the record is read, and nothing of it.
    assert [event["position"] for event in before + events] == list(range(1, len(before) + len(events) + 1))
    for event in before + events:
        assert set(event) <= {"position", "at", "type", "resource", "id", "version", "request_id"}
        assert TYPES.fullmatch(event["type"])
    got = api.request("GET", f"{events[-1]['resource']}/{events[-1]['id']}", token=token_of(clinic))
    assert expect(got, 200)["version"] == 2


def test_a_change_of_the_plate_is_an_event(api):
    clinic = fresh_clinic(api)
    chart = Chart(api, clinic)
    case, setup = chart.worn_case()
    expect(chart.patch(f"/v1/setups/{setup['id']}", {"worn_from": "2026-03-10", "purpose": "bent anew"}), 200)
    deadline = time.monotonic() + 20
    while (last := (feed(api, clinic) or [{"type": "none yet"}])[-1])["type"] != "setup.changed":
        assert time.monotonic() < deadline, last
    assert last["id"] == setup["id"]


def test_every_versioned_table_announces(api):
    """The types of the description are those that the tables can say."""
    parameter = api.contract.document["components"]["parameters"]["type"]
    assert "visit.created" in parameter["description"]
    nouns = api.sql("select encode(tgargs, 'escape') from pg_trigger where tgname = 'announce'").splitlines()
    assert len(nouns) >= 8
    clinic = fresh_clinic(api)
    for noun in nouns:
        for verb in ("created", "changed", "erased"):
            page(api, clinic, f"?type={noun.split(chr(92))[0]}.{verb}")
    tables = api.sql("select count(*) from pg_trigger where tgname = 'touch' and tgrelid::regclass::text not like 'pg_%'")
    assert int(tables) == len(nouns)


def test_pages_filters_and_faults(api):
    clinic, other = fresh_clinic(api), fresh_clinic(api)
    chart, before = Chart(api, clinic), quiet_feed(api, clinic)
    quiet_feed(api, other)
    made = [chart.patient()["id"] for _ in range(5)]
    chart.model()
    feed(api, clinic, len(before) + 6)
    first = page(api, clinic, "?limit=2")
    second = page(api, clinic, f"?limit=2&cursor={first['next_cursor']}")
    assert [e["position"] for e in first["items"] + second["items"]] == [1, 2, 3, 4]
    # A filter chooses; the cursor goes behind everything that was looked at.
    patients = page(api, clinic, "?type=patient.created")
    assert [e["id"] for e in patients["items"]] == made
    assert page(api, clinic, f"?cursor={patients['next_cursor']}")["items"] == []
    two = page(api, clinic, "?type=patient.created,screw-model.created&limit=200")["items"]
    assert len(two) == 6 and {e["type"] for e in two} == {"patient.created", "screw-model.created"}
    latest = page(api, clinic, "?cursor=latest")
    assert latest["items"] == [] and latest["next_cursor"] == patients["next_cursor"]
    more = chart.patient()["id"]
    deadline = time.monotonic() + 20
    while not (got := page(api, clinic, f"?cursor={latest['next_cursor']}"))["items"]:
        assert time.monotonic() < deadline
    assert [e["id"] for e in got["items"]] == [more]
    for query in ("type=patient.read", "type=", "type=patient.created,", "limit=0", "limit=201", "limit=x", "cursor=", "cursor=x",
                  "cursor=3", "cursor=3.000000", "cursor=-1", f"cursor={first['next_cursor']}0", "since=1", "limit=1&limit=2"):
        answer = api.request("GET", f"/v1/events?{query}", token=token_of(clinic))
        assert expect(answer, 400)["errors"][0]["parameter"] == query.split("=")[0], query
    # Carried over to another clinic: no place there.
    expect(api.request("GET", f"/v1/events?cursor={first['next_cursor']}", token=token_of(other)), 400)
    assert expect(api.request("GET", "/v1/events", token=clinic.tokens["auditor"]), 403)
    assert api.request("GET", "/v1/events")[0] == 401
    assert api.request("GET", "/v1/events", token=token_of(clinic), headers={"Accept": "text/csv"})[0] == 406


def test_two_clinics_do_not_hear_each_other(api):
    ours, theirs = fresh_clinic(api), fresh_clinic(api)
    listener = Stream(api.port, token_of(theirs)).listens()
    made = Chart(api, ours).patient()["id"]
    also = Chart(api, theirs).patient()["id"]
    assert listener.until(lambda s: s.events) and told(listener.events) == [("patient.created", also, 1)]
    text = json.dumps(feed(api, theirs))
    assert also in text and made not in text
    listener.close()


def test_all_or_nothing(api):
    clinic = fresh_clinic(api)
    chart, before = Chart(api, clinic), quiet_feed(api, clinic)
    item = lambda number: {"method": "POST", "path": "/v1/patients", "body": {"chart_number": number}}
    refused = chart.post("/v1/batch", {"items": [item("a"), item("b"), item("a")]})
    assert refused[0] == 409, refused
    expect(chart.post("/v1/patients", {"chart_number": "c", "sex": "x"}), 422)
    done = expect(chart.post("/v1/batch", {"items": [item("a"), item("b"), item("d")]}), 200)
    events = feed(api, clinic, len(before) + 3)[len(before):]
    assert told(events) == [("patient.created", i["body"]["id"], 1) for i in done["items"]]
    assert len({event["request_id"] for event in events}) == 1
    time.sleep(0.5)
    assert len(feed(api, clinic)) == len(before) + 3


def test_erased_patients_leave_ids_only(api):
    clinic = fresh_clinic(api)
    chart = Chart(api, clinic)
    case, setup = chart.worn_case()
    chart.visit(case, setup)
    patient = chart.get(f"/v1/patients/{case['patient_id']}")
    expect(api.request("POST", f"/v1/patients/{case['patient_id']}/erase", {"reason": "asked for"}, clinic.tokens["admin"],
                       {"If-Match": patient[1]["ETag"]}), 200)
    deadline = time.monotonic() + 20
    while not (gone := [e for e in feed(api, clinic) if e["type"].endswith(".erased")]):
        assert time.monotonic() < deadline
        time.sleep(0.05)
    kinds = [event["type"] for event in gone]
    assert sorted(kinds) == sorted(["visit.erased", "setup.erased", "screw.erased", "screw.erased", "case.erased", "patient.erased"])
    assert gone[-1]["type"] == "patient.erased" and gone[-1]["id"] == case["patient_id"]


WRITERS, EACH = 32, 12


def test_nothing_is_lost_or_misplaced_behind_a_reader(api):
    """32 writers at once, each creating rows and changing one of them; a reader that always goes on from its last cursor
    and a listener both see every event once, in one order, and the versions of a row in theirs."""
    clinic = fresh_clinic(api)
    chart, before = Chart(api, clinic), quiet_feed(api, clinic)
    writers, each = (4, 3) if api.valgrind else (WRITERS, EACH)
    wanted = writers * each * 2
    patients = [chart.patient() for _ in range(writers)]
    feed(api, clinic, len(before) + writers)
    listener = Stream(api.port, token_of(clinic)).listens()
    faults, seen, done = [], [], threading.Event()

    def write(patient):
        try:
            for n in range(each):
                for method, path, body, fields in (
                        ("POST", "/v1/cases", {"patient_id": patient["id"], "title": f"{n}"}, {}),
                        ("PATCH", f"/v1/patients/{patient['id']}", {"note": f"{n}"}, {"If-Match": "*"})):
                    while (answer := api.daemon.request(method, path, body, chart.token, fields))[0] == 503:
                        time.sleep(0.02)
                    assert answer[0] in (200, 201), answer
        except Exception as fault:
            faults.append(fault)

    def read():
        cursor = page(api, clinic, "?cursor=latest")["next_cursor"]
        while True:
            last = done.is_set()
            answer = api.daemon.request("GET", f"/v1/events?cursor={cursor}&limit=50", token=token_of(clinic))
            if answer[0] != 200:
                continue
            got = json.loads(answer[2])
            seen.extend(got["items"])
            cursor = got["next_cursor"]
            if last and not got["items"]:
                return

    reader = threading.Thread(target=read)
    reader.start()
    threads = [threading.Thread(target=write, args=(patient,)) for patient in patients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults, faults[0]
    assert listener.until(lambda s: len(s.events) >= wanted, 60), len(listener.events)
    done.set()
    reader.join()
    listener.close()
    first = len(before) + writers + 1
    assert [event["position"] for event in seen] == list(range(first, first + wanted))
    assert seen == listener.events
    for patient in patients:
        versions = [event["version"] for event in seen if event["id"] == patient["id"]]
        assert versions == list(range(2, each + 2)), versions


def test_a_stream_is_as_described(api):
    clinic = fresh_clinic(api)
    for last, path in ((None, "/v1/events"), (None, "/v1/events?cursor=earliest"), (None, "/v1/events?type=visit.created")):
        stream = Stream(api.port, token_of(clinic), path, last).listens()
        assert b"Cache-Control: no-store" in stream.head and b"Transfer-Encoding: chunked" in stream.head
        assert 1000 <= stream.retry < 5000 and stream.last_id == page(api, clinic, "?cursor=latest")["next_cursor"]
        stream.close()
    head = Stream(api.port, token_of(clinic), method="HEAD", extra="Connection: close\r\n")
    while head.take():
        pass
    assert b" 200 " in head.head and b"text/event-stream" in head.head and head.raw == b""
    for path, token, status in (("/v1/events?type=x", token_of(clinic), b"400"), ("/v1/events", "hf_" + "x" * 43, b"401"),
                                ("/v1/events", clinic.tokens["auditor"], b"403"), ("/v1/events?cursor=9.000000", token_of(clinic), b"400")):
        refused = Stream(api.port, token, path)
        refused.until(lambda s: s.head)
        assert status in refused.head.split(b"\r\n")[0] and b"application/problem+json" in refused.head, refused.head
        refused.close()


def test_a_filtered_stream(api):
    clinic = fresh_clinic(api)
    chart = Chart(api, clinic)
    stream = Stream(api.port, token_of(clinic), "/v1/events?type=patient.changed,screw-model.created").listens()
    patient = chart.patient()
    chart.case(patient)
    expect(chart.patch(f"/v1/patients/{patient['id']}", {"note": "x"}), 200)
    model = chart.model()
    assert stream.until(lambda s: len(s.events) == 2)
    assert told(stream.events) == [("patient.changed", patient["id"], 2), ("screw-model.created", model["id"], 1)]
    stream.close()


def test_a_stream_is_taken_up_again_over_a_restart(api):
    """What happened before, during and after: the daemon is stopped and started while a client listens."""
    clinic = fresh_clinic(api)
    daemon = Daemon(api.program)
    stream = Stream(daemon.port, token_of(clinic)).listens()
    chart = Chart(api, clinic)
    made = [chart.patient()["id"] for _ in range(3)]
    assert stream.until(lambda s: len(s.events) == 3)
    begin = time.monotonic()
    daemon.process.terminate()
    assert stream.ends(), "a stream is ended, not broken off"
    assert daemon.stop() == 0, daemon.log()[-2000:]
    assert time.monotonic() - begin < 15, "streams do not hold up the end"
    made += [chart.patient()["id"] for _ in range(70)]  # more than is kept in memory for a listener: ends behind it
    feed(api, clinic, len(made))
    events, last = list(stream.events), stream.last_id
    daemon = Daemon(api.program)
    for _ in range(5):
        again = Stream(daemon.port, token_of(clinic), last_event_id=last).listens()
        last_made = Chart(api, clinic).patient()["id"]
        made.append(last_made)
        again.until(lambda s: s.events and s.events[-1]["id"] == last_made)
        events, last = events + again.events, again.last_id
        again.close()
    final = Stream(daemon.port, token_of(clinic), last_event_id=last).listens()
    final.until(lambda s: len(events) + len(s.events) >= len(made))
    events += final.events
    assert [event["id"] for event in events] == made
    assert [event["position"] for event in events] == list(range(events[0]["position"], events[0]["position"] + len(made)))
    final.close()
    assert daemon.stop() == 0, daemon.log()[-2000:]


def test_a_revoked_token_ends_its_streams(api):
    clinic = fresh_clinic(api)
    admin = clinic.tokens["admin"]
    made = expect(api.request("POST", "/v1/tokens", {"role": "dashboard", "label": "screen"}, admin), 201)
    stream, other = Stream(api.port, made["token"]).listens(), Stream(api.port, token_of(clinic)).listens()
    expect(api.request("POST", f"/v1/tokens/{made['id']}/revoke", None, admin), 200)
    begin = time.monotonic()
    assert stream.ends(), "still open"
    assert time.monotonic() - begin < 5
    patient = Chart(api, clinic).patient()["id"]
    assert other.until(lambda s: s.events) and other.events[0]["id"] == patient
    assert stream.events == []
    other.close()
    stream.close()


def test_a_browser_listens_with_its_session(api):
    """An EventSource cannot send a token. The stream ends with the session."""
    clinic = fresh_clinic(api)
    answer = api.daemon.request("POST", "/sign-in", urlencode({"token": token_of(clinic)}), headers={
        "Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin"})
    assert answer[0] == 303, answer
    cookie = answer[1]["Set-Cookie"].split(";")[0]
    stream = Stream(api.port, cookie).listens()
    patient = Chart(api, clinic).patient()["id"]
    assert stream.until(lambda s: s.events) and stream.events[0]["id"] == patient
    gone = api.daemon.request("POST", "/sign-out", headers={"Cookie": cookie, "Sec-Fetch-Site": "same-origin"})
    assert gone[0] == 303, gone
    begin = time.monotonic()
    assert stream.ends() and time.monotonic() - begin < 5
    stream.close()


def test_what_is_no_longer_kept(api):
    clinic = fresh_clinic(api)
    sites = quiet_feed(api, clinic)
    first = page(api, clinic, "?limit=1")["next_cursor"]
    chart = Chart(api, clinic)
    kept = chart.patient()["id"]
    assert feed(api, clinic, len(sites) + 1)[-1]["id"] == kept
    last = page(api, clinic, "?cursor=latest")["next_cursor"]
    api.sql(f"update holdfast.events set at = now() - interval '91 days' where clinic_id = '{clinic.id}' and type like 'site%'")
    assert int(api.sql("select holdfast.trim_events(90)")) > 5
    problem = page(api, clinic, f"?cursor={first}", 410)
    assert problem["type"] == "/problems/cursor-gone"
    stream = Stream(api.port, token_of(clinic), last_event_id=first)
    stream.until(lambda s: s.head)
    assert b" 410 " in stream.head
    stream.close()
    assert [e["id"] for e in page(api, clinic)["items"]] == [kept], "from the beginning of what is kept"
    assert page(api, clinic, f"?cursor={last}")["items"] == []
    # A database brought back to an earlier time: nobody waits for positions to be reached again.
    api.sql(f"delete from holdfast.events where clinic_id = '{clinic.id}'; "
            f"update holdfast.event_heads set position = 1, trimmed = 0 where clinic_id = '{clinic.id}'")
    page(api, clinic, f"?cursor={last}", 410)


def test_a_slow_listener_is_sent_away_and_misses_nothing(api):
    """It stops reading while more happens than is kept for it; the daemon's memory does not grow with it."""
    clinic = fresh_clinic(api)
    daemon = Daemon(api.program, env={"HOLDFAST_REQUEST_DEADLINE_S": "60" if api.valgrind else "5"})
    slow = Stream(daemon.port, token_of(clinic))
    slow.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    slow.listens()
    brisk = Stream(daemon.port, token_of(clinic)).listens()
    # By the tables themselves, so that it is quick; not all at once, which would be too much for a brisk one too.
    count, at_once = 1500, 300
    for first in range(1, count, at_once):
        api.sql(f"""insert into holdfast.patients (clinic_id, id, chart_number)
            select '{clinic.id}', gen_random_uuid(), 'slow-' || n from generate_series({first}, {first + at_once - 1}) n""")
        assert brisk.until(lambda s: len(s.events) == first + at_once - 1, 60), len(brisk.events)
    time.sleep(0.1 if api.valgrind else 8)
    slow.until(lambda s: False, 10)  # what was under way, then the end
    assert len(slow.events) < count
    events, last = list(slow.events), slow.last_id
    for _ in range(20):
        again = Stream(daemon.port, token_of(clinic), last_event_id=last).listens()
        again.until(lambda s: s.over or len(events) + len(s.events) >= count, 5)
        events, last = events + again.events, again.last_id
        again.close()
        if len(events) >= count:
            break
    assert events == brisk.events
    assert daemon.stop() == 0, daemon.log()[-2000:]


def test_a_quiet_stream_is_kept_alive_and_one_without_client_is_found(api):
    if api.valgrind:
        return
    clinic = fresh_clinic(api)
    stream, left = Stream(api.port, token_of(clinic)).listens(), [Stream(api.port, token_of(clinic)).listens() for _ in range(4)]
    for one in left:
        one.close()
    assert stream.until(lambda s: s.comments == 1, 20), "nothing within 20 s; promised are 15"
    assert stream.until(lambda s: s.comments == 2, 20)
    assert stream.events == [] and not stream.over
    # Those of other tests too: found by the same means.
    deadline = time.monotonic() + 60
    while metrics(api.daemon)["holdfast_event_streams"][None] != 1:
        assert time.monotonic() < deadline, metrics(api.daemon)["holdfast_event_streams"]
        time.sleep(0.2)
    stream.close()


LISTENERS, CHANGES = 1000, 100


def test_a_thousand_listeners(api):
    """Every one of 1,000 gets every one of 100 events, in order, over a restart of the daemon in the middle."""
    if api.valgrind:
        return
    clinic = fresh_clinic(api)
    chart = Chart(api, clinic)
    writer = api.daemon
    made, lasts, heard = [], [None] * LISTENERS, [[] for _ in range(LISTENERS)]
    memory = []
    for part in range(2):
        # All of them come at one moment: as many may wait.
        daemon = Daemon(api.program, env={"HOLDFAST_QUEUE_LENGTH": str(LISTENERS)})
        empty = daemon.resident_kib()
        streams = [Stream(daemon.port, token_of(clinic), last_event_id=last) for last in lasts]
        for stream in streams:
            stream.listens()
        for n in range(CHANGES // 2):
            made.append(json.loads(writer.request("POST", "/v1/patients", {"chart_number": f"{part}-{n}"}, chart.token)[2])["id"])
        begin = time.monotonic()
        for stream, events in zip(streams, heard):
            assert stream.until(lambda s: len(events) + len(s.events) >= len(made), 60), (len(events), len(stream.events))
        memory.append((empty, daemon.resident_kib(), time.monotonic() - begin))
        assert metrics(daemon)["holdfast_event_streams"][None] == LISTENERS
        daemon.process.terminate()
        for i, stream in enumerate(streams):
            assert stream.ends(60), "ended, not broken off"
            heard[i] += stream.events
            lasts[i] = stream.last_id
            stream.close()
        assert daemon.stop() == 0, daemon.log()[-2000:]
    for events in heard:
        assert [event["id"] for event in events] == made
    for empty, full, seconds in memory:
        print(f"  {LISTENERS} listeners: {full - empty} KiB more than none ({(full - empty) / LISTENERS:.1f} each), "
              f"all had the last event {seconds:.2f} s after it was written")
