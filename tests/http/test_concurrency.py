"""Many at once: the same bytes whoever else asks, for one worker as for eight."""
import glob
import os
import threading

from installation import Daemon

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
DOCUMENTS = [open(path, "rb").read() for path in sorted(glob.glob(os.path.join(ROOT, "api", "examples", "*.json")))]


def answers(daemon, token, threads):
    """What each of several clients, all asking at once, gets for every example."""
    found = [None] * threads

    def ask(me):
        order = DOCUMENTS[me % len(DOCUMENTS):] + DOCUMENTS[:me % len(DOCUMENTS)]
        got = {document: daemon.request("POST", "/v1/mechanics/evaluate", document, token) for document in order * 2}
        found[me] = [(got[document][0], got[document][2]) for document in DOCUMENTS]

    clients = [threading.Thread(target=ask, args=(me,)) for me in range(threads)]
    for client in clients:
        client.start()
    for client in clients:
        client.join()
    return found


def test_the_answer_does_not_depend_on_who_else_asks(api):
    token = api.clinic_a.tokens["clinician"]
    alone = answers(api.daemon, token, 1)[0]
    assert all(status == 200 for status, _ in alone)
    for workers in (1, 2, 8):
        daemon = Daemon(api.program, env={"HOLDFAST_WORKERS": str(workers)})
        for found in answers(daemon, token, 8):
            assert found == alone, f"{workers} workers answered differently"
        assert daemon.stop() == 0, daemon.log()[-2000:]


def test_a_full_queue_says_so_and_serves_on(api):
    token = api.clinic_a.tokens["clinician"]
    daemon = Daemon(api.program, env={"HOLDFAST_WORKERS": "1", "HOLDFAST_QUEUE_LENGTH": "1"})
    body = b'{"variants":[' + b",".join(DOCUMENTS[:1] * 64) + b"]}"
    statuses, retry_after = [], []

    def ask():
        status, headers, _ = daemon.request("POST", "/v1/mechanics/evaluate", body, token)
        statuses.append(status)
        if status == 503:
            retry_after.append(int(headers["Retry-After"]))

    clients = [threading.Thread(target=ask) for _ in range(16)]
    for client in clients:
        client.start()
    for client in clients:
        client.join()
    assert len(statuses) == 16 and set(statuses) == {200, 503}, statuses
    assert all(seconds >= 1 for seconds in retry_after)
    assert daemon.request("GET", "/v1/patients", token=token)[0] == 200
    assert daemon.stop() == 0, daemon.log()[-2000:]
