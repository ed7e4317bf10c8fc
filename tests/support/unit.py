#!/usr/bin/python3
"""Runs criterion binaries: unit.py BINARY … Last line: `N passed, N failed`.

Criterion's own exit code is not enough: it is 0 when no test ran and when a sanitizer found a leak. So every binary
must tell that it tested something, and a sanitizer's report is a failure of the binary that wrote it."""
import glob
import os
import re
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

import database

# A test that asks for more than there is gets this line and its NULL.
REFUSED = re.compile(r"(==\d+==WARNING: AddressSanitizer failed to allocate 0x[0-9a-f]+ bytes\n)+")
SYNTHESIS = re.compile(r"Tested: (\d+) \| Passing: (\d+) \| Failing: (\d+) \| Crashing: (\d+)")


def environment(log):
    env = dict(os.environ)
    env["ASAN_OPTIONS"] = f"log_path={log}:detect_stack_use_after_return=1:strict_string_checks=1"
    env["UBSAN_OPTIONS"] = f"log_path={log}:print_stacktrace=1"
    env["TSAN_OPTIONS"] = f"log_path={log}:halt_on_error=0"
    return env


def run(binary, folder):
    name = "/".join(binary.split("/")[-2:])
    log = os.path.join(folder, name.replace("/", "-"))
    env = environment(log)
    if "/server/" in binary:
        # A database of its own for each, so that they cannot stand on each other's rows.
        owner, app = database.create(os.path.basename(binary))
        env.update(HOLDFAST_TEST_DATABASE=owner, HOLDFAST_TEST_DATABASE_APP=app)
    try:
        done = subprocess.run([binary, "-j1"], env=env, capture_output=True, text=True, errors="replace", timeout=300)
        output, code = done.stdout + done.stderr, done.returncode
    except subprocess.TimeoutExpired as late:
        output, code = f"{late.stderr or ''}\nno end after 300 s", 1
    found = SYNTHESIS.search(output)
    tested, passing, failing = (int(n) for n in found.groups()[:3]) if found else (0, 0, 0)
    faults = []
    if tested == 0:
        faults.append("no test ran")
    if code != 0 and failing == 0:
        faults.append(f"exit code {code}")
    reports = [open(report, errors="replace").read() for report in sorted(glob.glob(log + ".*"))]
    faults += [f"sanitizer: {report}" for report in reports if not REFUSED.fullmatch(report)]
    told = "".join(f"\n    {line}" for line in [*output.strip().splitlines(), *faults]) if failing or faults else ""
    print(f"  {name}: {passing}{told}\n", end="", flush=True)
    return passing, failing + len(faults)


def main():
    # Two lanes: the core's programs need nothing, the server's take turns at the cluster.
    lanes = [[os.path.abspath(b) for b in sys.argv[1:] if ("/server/" in b) == server] for server in (False, True)]
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(len(lanes)) as pool:
        done = pool.map(lambda lane: [run(binary, folder) for binary in lane], lanes)
        results = [result for lane in done for result in lane]
    passed, failed = (sum(column) for column in zip(*results)) if results else (0, 1)
    print(f"{passed} passed, {failed} failed")
    return 0 if failed == 0 and passed > 0 else 1


if __name__ == "__main__":
    sys.exit(main())
