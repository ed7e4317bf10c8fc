"""Webhooks: events told by requests of ours, signed as Standard Webhooks 1.0 says, tried again, logged; and the addresses
that are never called."""
import base64
import hashlib
import hmac
import http.server
import json
import re
import socket
import threading
import time

from chart import Chart, expect, pointers
from test_outage import eventually
from installation import Daemon
from rows import fresh_clinic
from test_operations import metrics

NOWHERE = "01890a5d-ac96-774b-bcce-b302099a8057"


class Receiver:
    """An address of the loopback that keeps what it is sent. `answers` are given in turn, the last one for ever."""

    def __init__(self, answers=(204,), address="127.0.0.1"):
        self.got, receiver, turn = [], self, iter(answers)
        self.last = answers[-1]

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self):
                body = self.rfile.read(int(self.headers["Content-Length"]))
                receiver.got.append((dict(self.headers.items()), body, self.path))
                answer = next(turn, receiver.last)
                if callable(answer):
                    return answer(self)
                self.send_response(answer)
                if 300 <= answer < 400:
                    self.send_header("Location", f"http://127.0.0.1:{receiver.port}/elsewhere")
                self.send_header("Content-Length", "0")
                self.end_headers()

            do_GET = do_POST

            def log_message(self, *arguments):
                pass

        self.server = http.server.ThreadingHTTPServer((address, 0), Handler)
        self.port = self.server.server_address[1]
        self.url = f"http://127.0.0.1:{self.port}/hook"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def wait(self, count, seconds=30):
        deadline = time.monotonic() + seconds
        while len(self.got) < count:
            assert time.monotonic() < deadline, f"{len(self.got)} of {count}"
            time.sleep(0.02)
        return self.got

    def close(self):
        self.server.shutdown()
        self.server.server_close()


def ask(api, clinic, method, path, body=None, status=None, **headers):
    answer = api.request(method, path, body, clinic.tokens["admin"], {k.replace("_", "-"): v for k, v in headers.items()})
    return answer if status is None else expect(answer, status)


def hook(api, clinic, url, **more):
    return ask(api, clinic, "POST", "/v1/webhooks", {"url": url, "types": "patient.created,patient.changed", **more}, 201)


def deliveries(api, hook_row, clinic, done=None, seconds=30):
    deadline = time.monotonic() + seconds
    while True:
        items = ask(api, clinic, "GET", f"/v1/deliveries?webhook_id={hook_row['id']}&sort=created_at&limit=200", None, 200)["items"]
        if done is None or done(items):
            return items
        assert time.monotonic() < deadline, items
        time.sleep(0.05)


def due_now(api, clinic):
    """The pauses between attempts are hours: here they are over."""
    api.sql(f"update holdfast.deliveries set next_at = now() where clinic_id = '{clinic.id}' and state = 'waiting'")


def signature(secret, fields, body):
    """Standard Webhooks 1.0, by this language's own means."""
    key = base64.b64decode(secret.removeprefix("whsec_"))
    text = f"{fields['webhook-id']}.{fields['webhook-timestamp']}.".encode() + body
    return "v1," + base64.b64encode(hmac.new(key, text, hashlib.sha256).digest()).decode()


def settled(items):
    return items and all(item["state"] != "waiting" for item in items)


def test_events_are_told_signed_and_thin(api):
    clinic, receiver = fresh_clinic(api), Receiver()
    before = metrics(api.daemon)["holdfast_webhooks_delivered_total"][None]
    made = hook(api, clinic, receiver.url, description="chart room")
    assert re.fullmatch(r"whsec_[A-Za-z0-9+/]{43}=", made["secret"])
    chart = Chart(api, clinic)
    patient = chart.patient(family_name="Neverintheweb", note="never in the web")
    chart.model()  # not asked for
    expect(chart.patch(f"/v1/patients/{patient['id']}", {"note": "y"}), 200)
    got = sorted(receiver.wait(2), key=lambda g: json.loads(g[1])["data"]["version"])
    for (fields, body, path), version, verb in zip(got, (1, 2), ("created", "changed")):
        told = json.loads(body)
        assert path == "/hook" and fields["Content-Type"] == "application/json"
        assert set(told) == {"type", "timestamp", "data"} and told["type"] == f"patient.{verb}"
        assert told["data"] == {"position": told["data"]["position"], "resource": "/v1/patients", "id": patient["id"], "version": version}
        assert b"ever" not in body
        assert abs(int(fields["webhook-timestamp"]) - time.time()) < 60 and fields["webhook-id"].startswith("msg_")
        assert fields["webhook-signature"] == signature(made["secret"], fields, body)
        assert "Authorization" not in fields and "Cookie" not in fields
    items = deliveries(api, made, clinic, settled)
    assert [(i["state"], i["status"], i["attempts"]) for i in items] == [("delivered", 204, 1)] * 2
    assert {"msg_" + i["id"] for i in items} == {fields["webhook-id"] for fields, _, _ in got}
    assert "next_at" not in items[0] and re.fullmatch(r"\S+Z 204 \d+ ms\n", items[0]["log"])
    assert metrics(api.daemon)["holdfast_webhooks_delivered_total"][None] >= before + 2 or api.valgrind
    receiver.close()


def test_the_secret_is_told_once(api):
    clinic, receiver = fresh_clinic(api), Receiver()
    made = hook(api, clinic, receiver.url)
    path = f"/v1/webhooks/{made['id']}"
    for answer in (ask(api, clinic, "GET", path), ask(api, clinic, "GET", "/v1/webhooks"),
                   ask(api, clinic, "PATCH", path, {"description": "x"}, If_Match='"1"')):
        assert answer[0] == 200 and b"whsec_" not in answer[2] and b"secret" not in answer[2]
    # The serving role cannot read it either.
    assert api.sql("select has_column_privilege('holdfast_app', 'holdfast.webhooks', 'secret', 'select')") == "f"
    fresh = ask(api, clinic, "POST", f"{path}/rotate-secret", None, 200)
    assert fresh["secret"] != made["secret"] and fresh["version"] == 3
    Chart(api, clinic).patient()
    fields, body, _ = receiver.wait(1)[0]
    assert fields["webhook-signature"].split(" ") == [signature(s["secret"], fields, body) for s in (fresh, made)]
    api.sql(f"update holdfast.webhooks set old_until = now() where id = '{made['id']}'")
    Chart(api, clinic).patient()
    fields, body, _ = receiver.wait(2)[1]
    assert fields["webhook-signature"] == signature(fresh["secret"], fields, body)
    receiver.close()


def test_a_failed_one_is_tried_again_with_the_same_id(api):
    clinic, receiver = fresh_clinic(api), Receiver((500, 503, 200))
    made = hook(api, clinic, receiver.url)
    Chart(api, clinic).patient()
    for attempt in (1, 2, 3):
        receiver.wait(attempt)
        item = deliveries(api, made, clinic, lambda i: i and len(i[0].get("log", "").splitlines()) == attempt)[0]
        if attempt < 3:
            assert item["state"] == "waiting" and item["status"] == (500, 503)[attempt - 1]
            pause = api.sql(f"select round(extract(epoch from next_at - now())) from holdfast.deliveries where id = '{item['id']}'")
            assert (0, 45)[attempt - 1] <= int(pause) <= (5, 60)[attempt - 1], pause
            due_now(api, clinic)
    assert item["state"] == "delivered" and item["attempts"] == 3
    ids, stamps = zip(*[(fields["webhook-id"], int(fields["webhook-timestamp"])) for fields, _, _ in receiver.got])
    assert len(set(ids)) == 1 and list(stamps) == sorted(stamps)
    assert len({body for _, body, _ in receiver.got}) == 1
    again = ask(api, clinic, "POST", f"/v1/deliveries/{item['id']}/redeliver", None, 200)
    assert again["state"] == "waiting" and again["attempts"] == 0
    assert receiver.wait(4)[3][0]["webhook-id"] == ids[0]
    receiver.close()


def test_given_up_after_eight(api):
    clinic, receiver = fresh_clinic(api), Receiver((500,))
    made = hook(api, clinic, receiver.url)
    Chart(api, clinic).patient()
    for attempt in range(1, 9):
        items = deliveries(api, made, clinic, lambda i: i and len(i[0].get("log", "").splitlines()) == attempt)
        due_now(api, clinic)
    assert items[0]["state"] == "given-up" and items[0]["attempts"] == 8 and "next_at" not in items[0]
    time.sleep(1)
    assert len(receiver.got) == 8
    receiver.close()


def test_what_a_receiver_may_answer(api):
    """A redirect is not followed, a long answer not read, a missing one waited for no longer than 10 s; 410 ends it."""
    clinic = fresh_clinic(api)

    def endless(handler):
        handler.send_response(200)
        handler.send_header("Content-Length", "100000000")
        handler.end_headers()
        try:
            for _ in range(100):
                handler.wfile.write(b"x" * 1000000)
        except OSError:
            handler.close_connection = True

    moved, long, gone = Receiver((302,)), Receiver((endless,)), Receiver((410,))
    hooks = [hook(api, clinic, r.url) for r in (moved, long, gone)]
    Chart(api, clinic).patient()
    for r in (moved, long, gone):
        r.wait(1)
    first = deliveries(api, hooks[0], clinic, lambda i: i and "log" in i[0])[0]
    assert first["status"] == 302 and first["state"] == "waiting" and [path for _, _, path in moved.got] == ["/hook"]
    assert deliveries(api, hooks[1], clinic, settled)[0]["state"] == "delivered"
    assert deliveries(api, hooks[2], clinic, settled)[0]["state"] == "given-up"
    assert ask(api, clinic, "GET", f"/v1/webhooks/{hooks[2]['id']}", None, 200)["active"] is False
    Chart(api, clinic).patient()
    deliveries(api, hooks[1], clinic, lambda i: len(i) == 2)
    assert len(deliveries(api, hooks[2], clinic)) == 1, "not told any more"
    for r in (moved, long, gone):
        r.close()


def test_closed_addresses_are_not_called(api):
    """The receiver would answer at each of them; what a name leads to counts, not what it looks like."""
    clinic, receiver = fresh_clinic(api), Receiver(address="0.0.0.0")
    port = receiver.port
    closed = [f"http://127.0.0.2:{port}/", f"https://127.0.0.2:{port}/", f"http://0.0.0.0:{port}/", f"http://0x7f.2:{port}/",
              f"http://[::ffff:127.0.0.2]:{port}/", f"http://[::1]:{port}/", "http://10.255.255.1/", "https://169.254.169.254/latest",
              f"http://{socket.gethostname()}:{port}/"]
    closed = closed if socket.gethostbyname(socket.gethostname()) != "127.0.0.1" else closed[:-1]
    hooks = [hook(api, clinic, url) for url in closed]
    open_one = hook(api, clinic, receiver.url)
    Chart(api, clinic).patient()
    receiver.wait(1)
    for made in hooks:
        item = deliveries(api, made, clinic, lambda i: i and "log" in i[0])[0]
        assert item["error"] == "address not allowed" and "status" not in item, (made["url"], item)
    assert len(receiver.got) == 1 and deliveries(api, open_one, clinic, settled)[0]["state"] == "delivered"
    receiver.close()


def test_faults_and_other_clinics(api):
    clinic, other = fresh_clinic(api), fresh_clinic(api)
    for body, faulty in (({}, ["/url"]), ({"url": "ftp://x/"}, ["/url"]), ({"url": "https://a:b@x/"}, ["/url"]), ({"url": "https://"}, ["/url"]),
                         ({"url": "https://x/#y"}, ["/url"]), ({"url": "file:///etc/passwd"}, ["/url"]), ({"url": "https://x/\u00e4"}, ["/url"]),
                         ({"url": "https://x/", "types": "patient.read"}, ["/types"]), ({"url": "https://x/", "secret": "s"}, ["/secret"]),
                         ({"url": "https://x/", "types": "", "active": "yes"}, ["/active", "/types"])):
        assert pointers(ask(api, clinic, "POST", "/v1/webhooks", body)) == faulty, body
    receiver = Receiver()
    made = hook(api, clinic, receiver.url, active=False)
    path = f"/v1/webhooks/{made['id']}"
    assert pointers(ask(api, clinic, "PATCH", path, {"url": "x", "types": "y"}, If_Match="*")) == ["/types", "/url"]
    before = Chart(api, clinic).patient()["id"]
    # Lined up is what has its place in the feed while the webhook is active.
    eventually(lambda: before in str(ask(api, clinic, "GET", "/v1/events?limit=200")[2]), "the event")
    ask(api, clinic, "PATCH", path, {"active": True}, 200, If_Match="*")
    Chart(api, other).patient()
    ours = Chart(api, clinic).patient()["id"]
    time.sleep(0.5)
    assert [json.loads(body)["data"]["id"] for _, body, _ in receiver.wait(1)][-1] == ours
    item = deliveries(api, made, clinic, settled)[-1]
    for clinic_id, row in ((other, made["id"]), (other, NOWHERE)):
        assert ask(api, clinic_id, "POST", f"/v1/webhooks/{row}/rotate-secret")[0] == 404
    assert ask(api, other, "POST", f"/v1/deliveries/{item['id']}/redeliver")[0] == 404
    assert deliveries(api, made, other) == []
    assert api.request("GET", "/v1/webhooks", token=clinic.tokens["clinician"])[0] == 403
    receiver.close()


def test_a_daemon_that_dies_loses_none(api):
    """Killed while a receiver thinks: the claim runs out and the event is told again, with the same id."""
    if api.valgrind:
        return
    clinic, halt = fresh_clinic(api), threading.Event()

    def hang(handler):
        halt.wait(20)
        handler.close_connection = True

    receiver = Receiver((hang, 200))
    made = hook(api, clinic, receiver.url)
    api.stop_daemon()
    daemon = Daemon(api.program)
    daemon.request("POST", "/v1/patients", {"chart_number": "told twice"}, clinic.tokens["clinician"])
    receiver.wait(1)
    daemon.process.kill()
    daemon.process.wait()
    halt.set()
    api.start_daemon()
    time.sleep(1)
    assert len(receiver.got) == 1, "claimed for a minute"
    api.sql(f"update holdfast.deliveries set claimed_until = now() where webhook_id = '{made['id']}'")
    receiver.wait(2)
    assert deliveries(api, made, clinic, settled)[0]["attempts"] == 2
    assert len({fields["webhook-id"] for fields, _, _ in receiver.got}) == 1
    receiver.close()
