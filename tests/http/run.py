#!/usr/bin/python3
"""Black-box tests of the daemon: run.py [--valgrind] DAEMON [PATTERN …]. Last line: `N passed, N failed`.

Starts the given binary on a free port with a database and two clinics of its own and calls every function
test_*(api) of tests/http/test_*.py whose `file.function` or `file` matches a PATTERN (shell style). Needs a cluster: run it by
tests/support/with-database.sh. Every exchange is held against the service's description, and in a whole run every operation
has to be seen to succeed. With --valgrind the daemon runs under memcheck, and an error or a lost block fails."""
import fnmatch
import glob
import importlib.util
import os
import sys
import time
import traceback

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [HERE, os.path.join(HERE, "..", "support")]
import database  # noqa: E402
from contract import Contract  # noqa: E402
from installation import Clinic, Daemon, Program  # noqa: E402


class Api:
    """What a test is given. `token=None` sends no Authorization."""

    def __init__(self, binary, valgrind):
        self.program = Program(binary, "holdfast_http")
        self.binary, self.env, self.valgrind = self.program.binary, self.program.env, valgrind
        self.migration_log = self.program.run("migrate")
        self.clinic_a, self.clinic_b = Clinic(self.program, "First test clinic"), Clinic(self.program, "Second test clinic")
        self.valgrind_logs = os.path.join(self.program.folder, "valgrind")
        self.exchanges, self.faults, self.succeeded = [], [], set()
        self.start_daemon()
        self.contract = Contract(self.daemon.request("GET", "/v1/openapi.yaml")[2].decode())

    def start_daemon(self):
        wrapper, env = [], {}
        if self.valgrind:
            wrapper = ["valgrind", "--leak-check=full", "--show-leak-kinds=definite,indirect",
                       "--errors-for-leak-kinds=definite,indirect", "--error-exitcode=99",
                       f"--log-file={self.valgrind_logs}.%p"]
            env = {"HOLDFAST_REQUEST_DEADLINE_S": "60"}
        self.daemon = Daemon(self.program, wrapper, env, 120 if self.valgrind else 30)
        self.port = self.daemon.port

    def request(self, method, path, body=None, token=None, headers=None):
        answer = self.daemon.request(method, path, body, token, headers)
        self.exchanges.append(f"{method} {path} {'' if body is None else body} -> {answer[0]} {answer[2][:600]!r}")
        operation = self.contract.check(method, path, body, headers, answer)
        if operation is not None and (answer[0] < 300 or str(answer[0]) == operation.good):
            self.succeeded.add(operation.id)
        return answer

    def call(self, *arguments, input=None, env=None):
        """Another run of the same binary: the finished process with stdout and stderr as bytes."""
        return self.program.call(*arguments, input=input, env=env)

    def sql(self, text):
        """Unaligned rows, as the superuser of the cluster: no policy applies."""
        return database.cluster("psql", "-d", "holdfast_http", "-t", "-A", "-c", text)

    def stop_database(self):
        database.cluster("stop")

    def start_database(self):
        database.cluster("start")

    def restart_database(self):
        self.stop_database()
        self.start_database()

    def stop_daemon(self):
        """Every daemon has to end by itself with exit code 0."""
        code = self.daemon.stop()
        if code != 0:
            self.faults.append(f"the daemon ended with {code}:\n{self.daemon.log()[-4000:]}")

    def close(self):
        self.stop_daemon()
        self.faults += [f"sanitizer: {report}" for report in self.program.sanitizer_reports()]
        logs = [open(path, errors="replace").read() for path in glob.glob(self.valgrind_logs + ".*")]
        self.faults += [f"valgrind: {log}" for log in logs if "ERROR SUMMARY: 0 errors" not in log]
        if self.valgrind and not logs:
            self.faults.append("valgrind wrote nothing")
        self.program.remove()


def tests(patterns):
    for path in sorted(glob.glob(os.path.join(HERE, "test_*.py"))):
        name = os.path.basename(path)[:-3]
        spec = importlib.util.spec_from_file_location(name, path)
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        for function, test in list(vars(module).items()):
            wanted = any(fnmatch.fnmatch(f"{name}.{function}", p) or fnmatch.fnmatch(name, p) for p in patterns)
            if function.startswith("test_") and callable(test) and wanted:
                yield name, function, test


def run(api, name, function, test):
    """True when it passed."""
    api.exchanges.clear()
    try:
        test(api)
        if not api.daemon.alive():
            raise AssertionError(f"the daemon died:\n{api.daemon.log()[-4000:]}")
        return True
    except Exception:  # whatever stops a test is its failure
        frames = traceback.format_exc().splitlines()
        print(f"  {name}.{function}:")
        print("\n".join("    " + line for line in frames[-12:]))
        print("\n".join("    " + line for line in api.exchanges[-3:]))
    if not api.daemon.alive():
        api.start_daemon()
    return False


def main():
    arguments = [a for a in sys.argv[1:] if a != "--valgrind"]
    api = Api(arguments[0], "--valgrind" in sys.argv)
    passed, failed, of_file = 0, 0, {}
    try:
        for name, function, test in tests(arguments[1:] or ["*"]):
            begin = time.monotonic()
            good = run(api, name, function, test)
            passed, failed = passed + good, failed + (not good)
            count, seconds = of_file.get(name, (0, 0.0))
            of_file[name] = (count + good, seconds + time.monotonic() - begin)
            if of_file[name][0] % 10 == 0:
                print(f"  {name}: {of_file[name][0]} …", flush=True)
    finally:
        api.close()
    if arguments[1:] in ([], ["test_*"]):
        api.faults += [f"no test saw {o} succeed" for o in api.contract.operations if o.id not in api.succeeded]
    for name, (count, seconds) in of_file.items():
        print(f"  {name}: {count} in {seconds:.1f} s")
    for fault in api.faults:
        print("\n".join("    " + line for line in fault.splitlines()))
    # The end of the daemon is a check of its own: exit code 0, no report of a sanitizer or of valgrind.
    passed, failed = passed + (not api.faults), failed + len(api.faults)
    print(f"{passed} passed, {failed} failed")
    return 0 if failed == 0 and passed > 1 else 1


if __name__ == "__main__":
    sys.exit(main())
