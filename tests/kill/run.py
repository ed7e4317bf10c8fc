#!/usr/bin/python3
"""kill -9 in the middle of reads and writes: run.py DAEMON [ROUNDS]. Last line: `N passed, N failed`.

Clients create patients without pause, by turns one and three in a batch; each repeats a request under the same
Idempotency-Key until it is acknowledged. Others read, each time under a name of its own. Meanwhile the daemon, the database
server or both are killed, one round after the other, and started again. In the end every acknowledged patient must be there
exactly once, under the id that was told, and nobody else; the audit must be whole, know of each creation once, and hold every
read that was answered. The cluster is one of its own with PostgreSQL's standard settings, so that it may lose nothing."""
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
import database  # noqa: E402
from installation import Clinic, Daemon, Program  # noqa: E402

WRITERS, READERS = 6, 4
PATIENCE_S = 60.0
VICTIMS = ["daemon", "database", "both"]


class State:
    def __init__(self, program):
        self.program, self.daemon = program, Daemon(program)
        self.token = Clinic(program, "Clinic of the kill test").tokens["clinician"]
        self.stopping, self.lock = threading.Event(), threading.Lock()
        self.acknowledged, self.retried, self.replayed, self.faults = {}, 0, 0, []
        self.told = []

    def count(self):
        with self.lock:
            return len(self.acknowledged)


def create(state, key, chart_numbers):
    """Until it is acknowledged: one patient, or several in a batch."""
    rows = [{"chart_number": chart_number} for chart_number in chart_numbers]
    items = [{"method": "POST", "path": "/v1/patients", "body": row} for row in rows]
    path, body = ("/v1/patients", rows[0]) if len(rows) == 1 else ("/v1/batch", {"items": items})
    status, tries = None, 0
    while status not in (200, 201):
        tries += 1
        try:
            status, headers, text = state.daemon.request("POST", path, body, state.token, {"Idempotency-Key": key}, timeout_s=20)
        except OSError:
            status = None
        except Exception:  # an answer that was cut off in its middle
            status = None
        if status not in (None, 200, 201, 503) and not (status == 409 and b"in-progress" in text):
            state.faults.append(f"{key}: {status} {text[:200]!r}")
            return
        if status not in (200, 201):
            time.sleep(0.02)
    made = [json.loads(text)] if len(rows) == 1 else [item["body"] for item in json.loads(text)["items"]]
    with state.lock:
        state.acknowledged.update((row["chart_number"], row["id"]) for row in made)
        state.retried += tries > 1
        state.replayed += tries > 1 and headers.get("Idempotency-Replayed") is not None


def write(state, number):
    count = 0
    while not state.stopping.is_set() and not state.faults:
        count += 1
        key = f"writer-{number}-{count}"
        create(state, key, [key] if count % 2 else [f"{key}-{part}" for part in "abc"])


def read(state, number):
    """Lists and rows by turns."""
    count, path = 0, "/v1/patients?limit=5"
    while not state.stopping.is_set() and not state.faults:
        count += 1
        name = f"reader-{number}-{count}"
        try:
            status, _, body = state.daemon.request("GET", path, None, state.token, {"X-Request-Id": name}, timeout_s=20)
        except Exception:  # no answer, or cut off in its middle
            time.sleep(0.02)
            continue
        if status == 200:
            with state.lock:
                state.told.append(name)
            items = json.loads(body).get("items")
            path = f"/v1/patients/{items[0]['id']}" if items else "/v1/patients?limit=5"
        elif status != 503:
            state.faults.append(f"{name}: {status} {body[:200]!r}")


def kill_daemon(state):
    state.daemon.process.kill()
    state.daemon.process.wait()


def postmaster():
    with open(os.path.join(os.environ["HOLDFAST_TEST_CLUSTER"], "postmaster.pid")) as file:
        return int(file.readline())


def lives(pid):
    try:
        with open(f"/proc/{pid}/stat") as file:
            return file.read().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def kill_database():
    """The server and all its processes at the same moment, as when a machine loses power (what it had written to files
    is kept: that is another test)."""
    parent = postmaster()
    children = subprocess.run(["ps", "-o", "pid=", "--ppid", str(parent)], capture_output=True, text=True).stdout.split()
    killed = [parent, *map(int, children)]
    for pid in killed:
        try:
            os.kill(pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
    while any(map(lives, killed)):  # who is still dying would be taken for a server that runs
        time.sleep(0.001)


def one_round(state, victim):
    """Seconds from the kill until writes go on."""
    begin = time.monotonic()
    if victim in ("daemon", "both"):
        kill_daemon(state)
    if victim in ("database", "both"):
        kill_database()
        database.cluster("start")
    if victim in ("daemon", "both"):
        state.daemon = Daemon(state.program)
    before = state.count()
    while state.count() < before + WRITERS:
        if state.faults or time.monotonic() - begin > PATIENCE_S:
            raise AssertionError(f"no writes after {victim} was killed: {state.faults[:3]} {state.daemon.log()[-1500:]}")
        time.sleep(0.005)
    return time.monotonic() - begin


def rows_of(sql):
    return [line.split("|") for line in database.cluster("psql", "-d", "holdfast_kill", "-t", "-A", "-c", sql).splitlines()]


CREATED = """select r, count(*) from (select unnest(records) as r, action from holdfast.audit union all
    select unnest(records), action from holdfast.audit_unsealed) a where action = 'create' group by r"""


def examine(state):
    """What is wrong in the end."""
    faults = list(state.faults)
    rows = rows_of("select chart_number, id from holdfast.patients")
    found, created = dict(rows), dict(rows_of(CREATED))
    faults += [f"acknowledged and lost: {name}" for name in state.acknowledged if name not in found]
    faults += [f"another id than told: {name}" for name, id in state.acknowledged.items() if found.get(name, id) != id]
    if len(rows) != len(state.acknowledged):
        faults.append(f"{len(rows)} rows for {len(state.acknowledged)} acknowledged writes")
    if created != dict.fromkeys(found.values(), "1"):
        faults.append(f"{len(rows)} rows, and {len(created)} creations in the audit: {list(created.items())[:3]}")
    traced = set(database.cluster(
        "psql", "-d", "holdfast_kill", "-t", "-A", "-c",
        "select request from holdfast.audit union all select request from holdfast.audit_unsealed").split())
    faults += [f"told and not in the audit: {name}" for name in state.told if name not in traced]
    if not state.told:
        faults.append("nothing was read")
    checked = state.program.call("verify-audit")
    print(f"  verify-audit: {checked.stdout.decode().strip() or checked.stderr.decode().strip()}")
    if checked.returncode != 0:
        faults.append("the audit chain does not hold")
    return faults


def run(state, rounds):
    clients = [threading.Thread(target=write, args=(state, number)) for number in range(WRITERS)]
    clients += [threading.Thread(target=read, args=(state, number)) for number in range(READERS)]
    for client in clients:
        client.start()
    gaps = {victim: [] for victim in VICTIMS}
    try:
        for i in range(rounds):
            time.sleep(random.uniform(0.02, 0.3))
            victim = VICTIMS[i % len(VICTIMS)]
            gaps[victim].append(one_round(state, victim))
            if (i + 1) % 50 == 0:
                print(f"  {i + 1} rounds, {state.count()} rows", flush=True)
    except AssertionError as stuck:
        state.faults.append(str(stuck))
        print(f"  {stuck}", flush=True)
    state.stopping.set()
    for client in clients:
        client.join(PATIENCE_S)
        if client.is_alive():
            state.faults.append("a client waits for ever")
    return gaps


def main():
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 200
    folder = tempfile.mkdtemp(prefix="holdfast-kill-")
    os.environ["HOLDFAST_TEST_CLUSTER"] = os.path.join(folder, "pg")
    os.environ.pop("CLUSTER_OPTIONS", None)
    state = None
    try:
        database.cluster("start")
        program = Program(sys.argv[1], "holdfast_kill")
        program.run("migrate")
        state = State(program)
        gaps = run(state, rounds)
        faults = examine(state)
        if state.daemon.stop() != 0:
            faults.append(f"the last daemon did not end well: {state.daemon.log()[-1500:]}")
        program.remove()
    finally:
        if state and state.daemon.alive():
            state.daemon.process.kill()
        database.cluster("stop")
        shutil.rmtree(folder, ignore_errors=True)
    print(f"  {rounds} kills, {len(state.acknowledged)} acknowledged rows, {state.retried} requests after retries, "
          f"{state.replayed} of these replayed, {len(state.told)} reads answered")
    for victim, seconds in gaps.items():
        if seconds:
            print(f"  {victim} killed: writes again after {sorted(seconds)[len(seconds) // 2]:.2f} s (median), "
                  f"{max(seconds):.2f} s (longest)")
    for fault in faults[:20]:
        print(f"    {fault}")
    print(f"{rounds if not faults else 0} passed, {len(faults)} failed")
    return 1 if faults or not state.acknowledged else 0


if __name__ == "__main__":
    sys.exit(main())
