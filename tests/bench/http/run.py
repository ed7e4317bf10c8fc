#!/usr/bin/python3
"""The service beside other stacks: run.py DAEMON FOLDER. Exit code 1 when an aim is missed.

One PostgreSQL, safe on disk, with the same rows and duties for all: token, clinic, row security, and an audit that is on disk
before the answer leaves. What the peer and pgbench run are the statements that the daemon is seen to run in PostgreSQL's log,
in one transaction a request. The peer awaits one statement after the other, as one would write it; "pipelined" is the same
peer in the pipeline mode of its library, which the daemon and pgbench use too. There the daemon differs: of reads it writes
the audit of all that wait in one transaction of their own, on one connection; the peers and pgbench write the same row with
the read. Creating is the same transaction for all. All is warmed up and the tables analysed, as the server would do by itself
in time; then it is measured in turns, and the median of the rounds counts. FOLDER holds the peer's node_modules. ROUNDS=3 SECONDS_EACH=3 CONNECTIONS=16."""
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(HERE)))
sys.path[:0] = [os.path.join(ROOT, "tests", "support"), os.path.join(ROOT, "tests", "http")]
ROUNDS, SECONDS, CONNECTIONS = (int(os.environ.get(n, d)) for n, d in (("ROUNDS", 3), ("SECONDS_EACH", 3), ("CONNECTIONS", 16)))
WORKERS = 8
TICKS = os.sysconf("SC_CLK_TCK")
# (kind, numerator, denominator, at least); the denominator "empty" is the daemon itself, refusing an empty document.
AIMS = [("row", "daemon", "peer", 2.0), ("list", "daemon", "peer", 2.0), ("unchanged", "daemon", "peer", 2.0),
        ("create", "daemon", "peer", 1.2), ("create", "daemon", "pgbench", 0.45)]
EVALUATE_OF_EMPTY = 0.5


class Server:
    """A process group that alone listens on a free port."""

    def __init__(self, name, port, process):
        self.name, self.port, self.process = name, port, process
        deadline = time.monotonic() + 30
        while not self.listening():
            if process.poll() is not None or time.monotonic() > deadline:
                sys.exit(f"{name} does not listen on {port}")
            time.sleep(0.05)

    def pids(self):
        return family(self.process.pid)

    def listening(self):
        """Is the listener on the port one of ours? Somebody else's ends the run."""
        inodes = {line.split()[9] for line in open("/proc/net/tcp").readlines()[1:]
                  if line.split()[1].endswith(f":{self.port:04X}") and line.split()[3] == "0A"}
        mine = {link for pid in self.pids() for link in links(pid)}
        if any(f"socket:[{inode}]" not in mine for inode in inodes):
            sys.exit(f"{self.name}: port {self.port} belongs to another process")
        return bool(inodes)

    def stop(self):
        if self.process.poll() is None:
            self.process.terminate()
            self.process.wait(30)


def links(pid):
    try:
        return [os.readlink(f"/proc/{pid}/fd/{fd}") for fd in os.listdir(f"/proc/{pid}/fd")]
    except OSError:
        return []


def family(pid):
    """A process and all below it."""
    found, parents = [pid], {}
    for name in os.listdir("/proc"):
        if name.isdigit():
            try:
                parents.setdefault(int(stat(name)[1]), []).append(int(name))
            except OSError:
                pass
    for one in found:
        found += parents.get(one, [])
    return found


def stat(pid):
    return open(f"/proc/{pid}/stat").read().rpartition(")")[2].split()


def cpu_s(pids):
    total = 0
    for pid in pids:
        try:
            fields = stat(pid)
            total += int(fields[11]) + int(fields[12])
        except OSError:
            pass
    return total / TICKS


def resident_mib(pids):
    kib = 0
    for pid in pids:
        found = re.search(r"VmRSS:\s+(\d+)", open(f"/proc/{pid}/status").read())
        kib += int(found.group(1)) if found else 0
    return kib / 1024


def machine_busy_s():
    fields = [int(x) for x in open("/proc/stat").readline().split()[1:]]
    return (sum(fields[:8]) - fields[3] - fields[4]) / TICKS


# ---------------------------------------------------------------- what the daemon is seen to run

EXECUTED = re.compile(r"\[(\d+)\] LOG:  execute (\S+): (.*)")
DETAIL = re.compile(r"\[(\d+)\] DETAIL:  parameters: (.*)")
PARAMETER = re.compile(r"\$\d+ = (NULL|'((?:[^']|'')*)')")


def watch(log, ask):
    """(answer, statements) of one request: [{name, sql, values}] in their order."""
    begin = os.path.getsize(log)
    answer = ask()
    time.sleep(0.2)
    with open(log, encoding="utf-8") as file:
        file.seek(begin)
        lines = file.read().splitlines()
    asker = next(found.group(1) for found in map(EXECUTED.search, lines) if found and found.group(2) == "authenticate")
    steps = []
    for line in lines:
        executed, detail = EXECUTED.search(line), DETAIL.search(line)
        if executed and executed.group(1) == asker:
            steps.append({"name": executed.group(2), "sql": executed.group(3), "values": []})
        elif detail and detail.group(1) == asker:
            steps[-1]["values"] = [None if p.group(1) == "NULL" else p.group(2).replace("''", "'")
                                   for p in PARAMETER.finditer(detail.group(2))]
    return answer, steps


def same(a, b):
    try:
        return json.loads(a) == json.loads(b)
    except (TypeError, ValueError):
        return a == b


def slots(steps, token_digest, answer, asked_id=None, body=None):
    """Where the peer is to take each parameter from."""
    row = json.loads(answer[2]) if answer[0] in (200, 201) else {}
    for step in steps:
        step["params"] = []
        for value in step["values"]:
            members = [n for n, v in (body or {}).items() if value is not None and
                       same(value, v if isinstance(v, str) else json.dumps(v))]
            if value == token_digest:
                slot = {"from": "digest"}
            elif value == answer[1]["X-Request-Id"]:
                slot = {"from": "request"}
            elif asked_id is not None and value == asked_id:
                slot = {"from": "id"}
            elif body is not None and value == row.get("id"):
                slot = {"from": "made", "name": "id"}
            elif members:
                slot = {"from": "body", "name": members[0]}
            else:
                slot = {"constant": value}
            step["params"].append(slot)
    return steps


TRACE = "insert into audit_unsealed (action, resource, records, patients, request, outcome) "


def audited(kind, steps):
    """The daemon writes the audit of several reads in one transaction of its own. Who has one transaction a request leaves
    the same row in it: of a list in the same statement, as the cheapest way to have the ids."""
    if kind == "row":
        trace = {"name": "trace", "sql": TRACE + "values ('read', '/v1/patients', array[$1::uuid], array[$1::uuid], $2, 'done')",
                 "values": [steps[1]["values"][0], "bench"], "params": [{"from": "id"}, {"from": "request"}]}
        steps.append(trace)
    else:
        page = steps[1]
        page["sql"] = (f"with page as ({page['sql']}), shown as (select * from page limit $1::bigint - 1), trace as ({TRACE}"
                       "select 'list', '/v1/patients', array(select id from shown), array(select patient from shown), $2, 'done') "
                       "select * from page")
        page["values"].append("bench")
        page["params"].append({"from": "request"})


def in_one_transaction(steps):
    """The daemon's pipeline is one by itself."""
    if steps[0]["name"] != "begin":
        steps[:0] = [{"name": "begin", "sql": "begin", "values": [], "params": []}]
        steps.append({"name": "commit", "sql": "commit", "values": [], "params": []})
    return steps


def columns(contract, schema):
    def kind(member):
        if member.get("format") == "date-time":
            return "time"
        if "enum" in member or member.get("type") == "string":
            return "text"
        return {"number": "number", "integer": "number", "boolean": "boolean"}.get(member.get("type"), "json")

    return [{"name": name, "kind": kind(member)}
            for name, member in contract.document["components"]["schemas"][schema]["properties"].items()]


def answering(steps):
    return next(i for i, step in enumerate(steps) if step["name"].endswith("-read") or "-list-" in step["name"])


def literal(value):
    return "null" if value is None else "'" + value.replace("'", "''") + "'"


def hide_colons(quoted):
    text = quoted.group()
    return "U&" + text.replace("\\", "\\\\").replace(":", "\\003A") if ":" in text else text


def pgbench_script(steps, create):
    """The same statements as a script of pgbench, in one pipeline."""
    lines = ["\\startpipeline"]
    if create:
        lines[:0] = ["\\set n random(1, 281474976710655)", "\\set d :d + 1",
                     "\\set day 100000 + :client_id * 200000 + :d"]
    for step in steps:
        sql = step["sql"]
        for i in range(len(step["params"]), 0, -1):
            slot, text = step["params"][i - 1], literal(step["values"][i - 1])
            if slot.get("from") == "made":
                text = "('01900000-0000-7000-8000-' || lpad(to_hex(:n::bigint), 12, '0'))::uuid"
            elif slot.get("name") == "visited_on":
                text = "(date '2026-03-02' + :day::integer)"
            sql = re.sub(rf"\${i}\b", lambda _: text, sql)
        # pgbench takes :word for a variable of its own, within quotation marks too.
        lines.append(re.sub(r"'(?:[^']|'')*'", hide_colons, sql) + ";")
    return "\n".join(lines + ["\\endpipeline", ""])


# ---------------------------------------------------------------- the bench

class Bench:
    def __init__(self, binary, folder):
        # Read here, because they look for the cluster in the environment.
        from installation import Clinic, Daemon, Program  # noqa: E402
        from contract import Contract  # noqa: E402
        import database  # noqa: E402
        self.folder, self.database, self.Daemon = folder, database, Daemon
        self.program = Program(binary, "holdfast_bench")
        self.program.run("migrate")
        self.clinic = Clinic(self.program, "Bench clinic")
        self.token = self.clinic.tokens["clinician"]
        self.env = {"HOLDFAST_WORKERS": str(WORKERS), "HOLDFAST_LOG_LEVEL": "warning", "HOLDFAST_QUEUE_LENGTH": "1024"}
        self.socket = database.cluster("socket")
        self.servers = {}
        # Days of visits, counted on: within what the service takes, and in years of its own for pgbench.
        self.first_day, self.pgbench_day = 22000, 0
        self.learn(Contract)

    def sql(self, text):
        return self.database.cluster("psql", "-d", "holdfast_bench", "-t", "-A", "-c", text)

    def path(self, name, text=None):
        path = os.path.join(self.folder, name)
        if text is not None:
            with open(path, "w", encoding="utf-8") as file:
                file.write(text)
        return path

    def learn(self, Contract):
        """Plants the rows and watches the daemon answer one request of each kind."""
        from chart import CHAIN, Chart, PLATE  # noqa: E402
        import hashlib
        self.sql("alter database holdfast_bench set log_statement = 'all'")
        daemon = self.Daemon(self.program, env={**self.env, "HOLDFAST_WORKERS": "1"})
        contract = Contract(daemon.request("GET", "/v1/openapi.yaml")[2].decode())

        class Api:
            request = staticmethod(daemon.request)

        chart = Chart(Api, self.clinic)
        patients = [chart.patient(given_name="Ada", family_name=f"Number {i}", birth_date="1990-05-17", sex="female",
                                  cigarettes_per_day=0, note="seen for the first time")["id"] for i in range(200)]
        cases = []
        model = chart.model()
        for i in range(32):
            case = chart.case()
            for name, right in (("right", 4), ("left", -4)):
                chart.screw(case, model, name, right)
            cases.append((case["id"], chart.make("/v1/setups", {"case_id": case["id"], "name": "plate",
                                                                "worn_from": "2026-02-16", **PLATE})["id"]))
        digest = hashlib.sha256(self.token.encode()).hexdigest()
        log = os.path.join(os.environ["HOLDFAST_TEST_CLUSTER"], "server.log")

        def visit(case, setup, day):
            return {"case_id": case, "visited_on": day, "worn": [{"setup_id": setup}], "elements": [CHAIN],
                    "screw_checks": [{"screw": "right", "mobility_grade": 0}], "next_interval_days": 42, "note": "fine"}

        def ask(method, path, body=None, **headers):
            return watch(log, lambda: daemon.request(method, path, body, self.token, headers))

        self.plans, self.scripts = [], {}
        for kind, path, schema in (("row", f"/v1/patients/{patients[7]}", "Patient"), ("list", "/v1/patients", "Patient")):
            ask("GET", path)
            answer, steps = ask("GET", path)
            slots(steps, digest, answer, patients[7] if kind == "row" else None)
            audited(kind, steps)
            in_one_transaction(steps)
            self.plans.append({"kind": kind, "method": "GET", "path": re.sub("/[0-9a-f-]{36}", "/:id", path),
                               "steps": steps, "answer": answering(steps), "columns": columns(contract, schema)})
            self.scripts[kind] = [pgbench_script(steps, False)]
            if kind == "row":
                self.path("row.json", answer[2].decode())
        # Each case has its own setup; the peer takes both from the body.
        scripts = []
        for i, (case, setup) in enumerate(cases[:8]):
            body = visit(case, setup, f"2026-03-{i + 3:02d}")
            answer, steps = ask("POST", "/v1/visits", body)
            if answer[0] != 201:
                sys.exit(f"no visit was made: {answer[2]!r}")
            scripts.append(pgbench_script(in_one_transaction(slots(steps, digest, answer, None, body)), True))
        self.plans.append({"kind": "create", "method": "POST", "path": "/v1/visits", "steps": steps, "answer": answering(steps),
                           "columns": columns(contract, "Visit"), "schema": {
                               **contract.document["components"]["schemas"]["VisitNew"],
                               "components": contract.document["components"]}})
        self.scripts["create"] = scripts
        self.path("patients", "\n".join(patients) + "\n")
        self.path("visit.json", json.dumps(visit("@case@", "@setup@", "@day@")))
        self.path("cases", "\n".join(f"{case} {setup}" for case, setup in cases) + "\n")
        self.path("empty.json", "{}")
        daemon.stop()
        self.sql("alter database holdfast_bench reset log_statement")

    def start(self):
        daemon = self.Daemon(self.program, env=self.env)
        self.servers["daemon"] = Server("daemon", daemon.port, daemon.process)
        from installation import free_port  # noqa: E402
        for name in ("peer", "pipelined"):
            port = free_port()
            plan = {"routes": self.plans, "connections": WORKERS, "host": self.socket, "database": "holdfast_bench",
                    "user": "holdfast_app", "port": port, "pipelined": name == "pipelined"}
            self.servers[name] = Server(name, port, subprocess.Popen(
                ["node", os.path.join(HERE, "peer.js"), self.path(f"{name}.json", json.dumps(plan))], stdout=subprocess.DEVNULL,
                env={**os.environ, "NODE_PATH": os.path.join(self.folder, "node_modules"), "NODE_ENV": "production"}))
        if shutil.which("nginx") or os.path.exists("/usr/sbin/nginx"):
            port = free_port()
            conf = self.path("nginx.conf", f"""daemon off; pid {self.folder}/nginx.pid; error_log {self.folder}/nginx.log;
worker_processes 1; events {{ worker_connections 1024; }}
http {{ access_log off; sendfile on; keepalive_requests 1000000000; types {{ application/json json; }}
client_body_temp_path {self.folder}/t1; proxy_temp_path {self.folder}/t2; fastcgi_temp_path {self.folder}/t3;
uwsgi_temp_path {self.folder}/t4; scgi_temp_path {self.folder}/t5;
server {{ listen 127.0.0.1:{port}; root {self.folder}; }} }}
""")
            self.servers["nginx"] = Server("nginx", port, subprocess.Popen(
                [shutil.which("nginx") or "/usr/sbin/nginx", "-c", conf, "-e", f"{self.folder}/nginx.log"]))

    def compare(self):
        """Both must answer the same, or nothing here means anything."""
        import http.client
        patients = open(self.path("patients")).read().split()
        for path in [f"/v1/patients/{patients[3]}", "/v1/patients"]:
            seen = []
            for name in ("daemon", "peer", "pipelined"):
                connection = http.client.HTTPConnection("127.0.0.1", self.servers[name].port, timeout=30)
                connection.request("GET", path, headers={"Authorization": f"Bearer {self.token}"})
                answer = connection.getresponse()
                body = json.loads(answer.read())
                body.pop("next_cursor", None)
                seen.append((answer.status, body))
            for answer in seen[1:]:
                if answer != seen[0]:
                    sys.exit(f"{path}: not the same answer\n{str(seen[0])[:800]}\n{str(answer)[:800]}")

    def postmaster(self):
        return int(open(os.path.join(os.environ["HOLDFAST_TEST_CLUSTER"], "postmaster.pid")).readline())

    def measure(self, name, kind, seconds):
        """requests/s, µs of the server a request, µs of PostgreSQL a request, share of strangers."""
        postgres = family(self.postmaster())
        if name == "pgbench":
            return self.pgbench(kind, seconds)
        server = self.servers[name]
        if not server.listening():
            sys.exit(f"{name} does not listen any more")
        pids = server.pids()
        body = {"create": "visit.json", "evaluate": "document.json", "empty": "empty.json"}.get(kind)
        ids = self.path("cases" if kind == "create" else "patients")
        before = cpu_s(pids), cpu_s(postgres), machine_busy_s(), cpu_s([os.getpid()])
        children = os.times()
        begin = time.monotonic()
        out = subprocess.run(["wrk", "-t1", f"-c{CONNECTIONS}", f"-d{seconds}", "-s", os.path.join(HERE, "load.lua"),
                              f"http://127.0.0.1:{server.port}", "--", kind, self.token, ids, self.path(body) if body else "-",
                              str(self.first_day)], capture_output=True, text=True, check=True).stdout
        wall = time.monotonic() - begin
        count = int(re.search(r"(\d+) requests in", out).group(1))
        failed = re.search(r"Non-2xx or 3xx responses: (\d+)", out)
        failed = int(failed.group(1)) if failed else 0
        if failed != (count if kind == "empty" else 0) or "Socket errors" in out:
            sys.exit(f"{kind} from {name}: {failed} of {count} were refused\n{out}")
        if kind == "create":
            self.first_day += count // 32 + 2
        own, database = cpu_s(pids) - before[0], cpu_s(postgres) - before[1]
        used = os.times().children_user + os.times().children_system - children.children_user - children.children_system
        strangers = machine_busy_s() - before[2] - own - database - used
        return count / wall, own / count * 1e6, database / count * 1e6, strangers / wall

    def pgbench(self, kind, seconds):
        files = []
        for i, script in enumerate(self.scripts[kind]):
            files += ["-f", self.path(f"{kind}-{i}.sql", script)]
        out = subprocess.run(["pgbench", "-n", "-M", "prepared", f"-c{WORKERS}", "-j1", f"-Dd={self.pgbench_day}", f"-T{seconds}",
                              "-h", self.socket, "-U", "holdfast_app", *files, "holdfast_bench"], capture_output=True, text=True)
        found = re.search(r"tps = ([0-9.]+)", out.stdout)
        if out.returncode != 0 or found is None:
            sys.exit(f"pgbench {kind}: {out.stderr[-1500:]}")
        self.pgbench_day += SECONDS * 2000
        return float(found.group(1)), float("nan"), float("nan"), 0.0

    def settle(self):
        """Waits until the trail of what was measured is sealed, which is the daemon's work for all of them."""
        deadline = time.monotonic() + 120
        while self.sql("select count(*) from holdfast.audit_unsealed") != "0":
            if time.monotonic() > deadline:
                sys.exit("the audit is not sealed after two minutes")
            time.sleep(0.1)

    def run(self):
        both = ["daemon", "peer", "pipelined"]
        kinds = {"row": [*both, "pgbench"], "list": [*both, "pgbench"], "unchanged": both, "create": [*both, "pgbench"],
                 "empty": ["daemon"], "evaluate": ["daemon"], "file": ["nginx"] if "nginx" in self.servers else []}
        for kind, names in kinds.items():
            for name in names:
                self.measure(name, kind, 2)
        self.settle()
        # Plans made when a table was empty would be kept until then.
        self.sql("vacuum analyze")
        seen = {}
        for turn in range(ROUNDS):
            for kind, names in kinds.items():
                for name in names if turn % 2 == 0 else names[::-1]:
                    result = self.measure(name, kind, SECONDS)
                    self.settle()
                    seen.setdefault((kind, name), []).append(result)
                    note = f", strangers {result[3] * 100:.0f} % of a core" if result[3] > 0.1 else ""
                    print(f"  round {turn + 1}: {kind} from {name}: {result[0]:.0f}/s{note}", flush=True)
        return {key: tuple(statistics.median(r[i] for r in results) for i in range(3)) + (min(r[0] for r in results),
                max(r[0] for r in results)) for key, results in seen.items()}

    def close(self):
        for server in self.servers.values():
            server.stop()
        self.program.remove()


def report(bench, seen):
    print(f"\n{'kind':10} {'server':8} {'req/s':>8} {'[low-high]':>16} {'server µs/req':>14} {'PostgreSQL µs/req':>18}")
    for (kind, name), (rate, own, database, low, high) in seen.items():
        print(f"{kind:10} {name:8} {rate:8.0f} {f'[{low:.0f}-{high:.0f}]':>16} {own:14.1f} {database:18.1f}")
    for name, server in bench.servers.items():
        print(f"{name}: {resident_mib(server.pids()):.0f} MiB resident after it all")
    missed = 0
    for kind, one, other, least in AIMS:
        ratio = seen[kind, one][0] / seen[kind, other][0]
        missed += ratio < least
        print(f"{kind}: {ratio:.2f} of {other} (aim {least}){'' if ratio >= least else '  MISSED'}")
    for kind in ("row", "list", "unchanged", "create"):
        print(f"{kind}: {seen[kind, 'daemon'][0] / seen[kind, 'pipelined'][0]:.2f} of pipelined (no aim)")
    ratio = seen["evaluate", "daemon"][0] / seen["empty", "daemon"][0]
    print(f"evaluate: {ratio:.2f} of an empty document's refusal (aim {EVALUATE_OF_EMPTY}){'' if ratio >= EVALUATE_OF_EMPTY else '  MISSED'}")
    missed += ratio < EVALUATE_OF_EMPTY
    if ("file", "nginx") in seen:
        print(f"row: {seen['row', 'daemon'][0] / seen['file', 'nginx'][0]:.2f} of the same bytes as a file from nginx (no aim)")
    return missed


def main():
    binary, folder = sys.argv[1], os.path.abspath(sys.argv[2])
    os.environ["HOLDFAST_TEST_CLUSTER"] = os.path.join(folder, "pg")
    cluster = os.path.join(ROOT, "deploy", "local", "cluster.sh")
    shutil.copy(os.path.join(ROOT, "api", "examples", "posterior-intrusion.json"), os.path.join(folder, "document.json"))
    subprocess.run([cluster, "start", os.environ["HOLDFAST_TEST_CLUSTER"]], check=True, stdout=subprocess.DEVNULL)
    bench = None
    try:
        bench = Bench(binary, folder)
        bench.start()
        bench.compare()
        missed = report(bench, bench.run())
    finally:
        if bench is not None:
            bench.close()
        subprocess.run([cluster, "stop", os.environ["HOLDFAST_TEST_CLUSTER"]], check=False)
        shutil.rmtree(os.environ["HOLDFAST_TEST_CLUSTER"], ignore_errors=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
