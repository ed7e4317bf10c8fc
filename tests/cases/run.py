#!/usr/bin/python3
"""Evaluates every case folder and compares: run.py DAEMON [FOLDER …]. Last line: `N passed, N failed`.

A case is tests/cases/<topic>/<name>/ with
  input.json   a mechanics document, for the daemon; or {"model": …}, for the program tests/support/ask that is built
               beside it and asks single models of the core. Either may hold {"variants": […]}
  source       one line: where the expected values come from (never this program)
  expect.json  a list of checks:
    {"at": "/screws[name=A]/axial_n", "equals": -1.7, "rel": 1e-6}     or "abs": 1e-9; also for arrays of numbers,
                                                                       then relative to the largest component
    {"ratio": ["/segments/0/force_n/2", "/elements/0/force_n"], "equals": 0.5, "rel": 1e-3}
    {"sum": [[8, "/screws/1/head/force_n/1"], [1, "/screws/1/axis_moment_nmm"]], "equals": 38, "rel": 1e-9}
    {"at": "/screws/0/head_displacement_um", "between": [30, 150]}
    {"at": "/screws/0/cortex", "absent": true}
    {"at": "/screws/0/unscrewing", "is": true}
    {"status": 422, "errors": ["/screws/0/axis", …]}                   refused for exactly these members
A tolerance that would hide an error of 10 % is refused. left-out.md lists the published cases that nothing here can be
asked, one line each with its reason."""
import glob
import json
import math
import os
import re
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.abspath(__file__))
STEP = re.compile(r"/([^/\[\]]+)|\[(\w+)=([^\]]*)\]")


class Absent(Exception):
    pass


def find(document, pointer):
    """The value at a JSON pointer, in which a step may also select a list's item by a member: /screws[name=A]."""
    if STEP.sub("", pointer):
        raise ValueError(f"{pointer} is no pointer")
    for step, member, wanted in STEP.findall(pointer):
        try:
            if member:
                document = next(item for item in document if str(item[member]) == wanted)
            elif isinstance(document, list):
                document = document[int(step)]
            else:
                document = document[step.replace("~1", "/").replace("~0", "~")]
        except (KeyError, IndexError, StopIteration, TypeError):
            raise Absent(f"{pointer} is not in the answer") from None
    return document


def numbers(value):
    return [float(x) for x in value] if isinstance(value, list) else [float(value)]


def compare(found, check):
    """None, or what is wrong."""
    wanted = numbers(check["equals"])
    largest = max(abs(x) for x in wanted)
    tolerance = check["abs"] if "abs" in check else check["rel"] * largest
    if largest > 0 and tolerance >= 0.1 * largest:
        return "the tolerance would hide an error of 10 %"
    found = numbers(found)
    if len(found) != len(wanted):
        return f"{len(found)} numbers, expected {len(wanted)}"
    worst = max(abs(f - w) for f, w in zip(found, wanted))
    if worst <= tolerance:
        return None
    return f"found {found}, expected {wanted} within {tolerance:g}, is {worst:g} off"


def judge(check, answer, problem):
    """None, or what is wrong."""
    known = {"at", "equals", "rel", "abs", "between", "absent", "is", "ratio", "sum", "status", "errors", "note"}
    if set(check) - known:
        return f"unknown members {sorted(set(check) - known)}"
    if "status" in check:
        if problem is None:
            return "was not refused"
        pointers = sorted(error["pointer"] for error in problem.get("errors", []))
        if problem["status"] != check["status"] or pointers != sorted(check["errors"]):
            return f"refused with {problem['status']} {pointers}"
        return None
    if answer is None:
        return f"was refused: {json.dumps(problem)}"
    try:
        if "ratio" in check:
            found = find(answer, check["ratio"][0]) / find(answer, check["ratio"][1])
        elif "sum" in check:
            found = math.fsum(weight * find(answer, at) for weight, at in check["sum"])
        else:
            found = find(answer, check["at"])
    except Absent as absent:
        return None if check.get("absent") else str(absent)
    if check.get("absent"):
        return f"is there: {found}"
    if "between" in check:
        low, high = check["between"]
        inside = all(low <= x <= high for x in numbers(found)) and math.isfinite(low) and math.isfinite(high)
        return None if inside else f"found {found}, expected between {low} and {high}"
    if "is" in check:
        same = found == check["is"] and isinstance(found, type(check["is"]))
        return None if same else f"found {found!r}, expected {check['is']!r}"
    return compare(found, check)


def evaluate(daemon, path):
    """(answer, None) or (None, problem)."""
    document = json.load(open(path, encoding="utf-8"))
    command = [os.path.join(os.path.dirname(daemon), "tests/support/ask")] if "model" in document else [daemon, "evaluate"]
    with tempfile.TemporaryDirectory() as folder:
        log = os.path.join(folder, "sanitizer")
        env = dict(os.environ, ASAN_OPTIONS=f"log_path={log}", UBSAN_OPTIONS=f"log_path={log}:print_stacktrace=1")
        run = subprocess.run([*command, path], capture_output=True, text=True, timeout=60, env=env)
        reports = [open(report, errors="replace").read() for report in glob.glob(log + ".*")]
    if reports or run.returncode not in ((0,) if "model" in document else (0, 2)):
        raise RuntimeError(f"exit code {run.returncode}: {run.stderr} {' '.join(reports)}")
    return (json.loads(run.stdout), None) if run.returncode == 0 else (None, json.loads(run.stderr))


def run_case(daemon, folder):
    """(passed, [faults])"""
    try:
        source = open(os.path.join(folder, "source"), encoding="utf-8").read().strip()
        checks = json.load(open(os.path.join(folder, "expect.json"), encoding="utf-8"))
        if not source or "\n" in source:
            raise ValueError("source must be one line")
        if not checks:
            raise ValueError("no checks")
        answer, problem = evaluate(daemon, os.path.join(folder, "input.json"))
    except Exception as fault:  # a case that cannot be judged is a failed one, whatever the reason
        return 0, [f"{type(fault).__name__}: {fault}"]
    passed, faults = 0, []
    for check in checks:
        try:
            wrong = judge(check, answer, problem)
        except (KeyError, TypeError, ValueError, ZeroDivisionError) as fault:
            wrong = f"{type(fault).__name__}: {fault}"
        if wrong is None:
            passed += 1
        else:
            faults.append(f"{json.dumps({k: check[k] for k in check if k in ('at', 'ratio', 'sum', 'status')})}: {wrong}")
    return passed, faults


def main():
    daemon = os.path.abspath(sys.argv[1])
    folders = sys.argv[2:] or sorted(os.path.dirname(p) for p in glob.glob(os.path.join(ROOT, "*", "*", "input.json")))
    passed, failed = 0, 0
    for folder in folders:
        good, faults = run_case(daemon, folder)
        passed, failed = passed + good, failed + len(faults)
        print(f"  {os.path.relpath(folder, ROOT)}: {good}")
        for fault in faults:
            print(f"    {fault}")
    left_out = sum(line.startswith("- ") for line in open(os.path.join(ROOT, "left-out.md"), encoding="utf-8"))
    print(f"{len(folders)} cases, {passed + failed} checks, {left_out} left out (listed)")
    print(f"{passed} passed, {failed} failed")
    return 0 if failed == 0 and passed > 0 else 1


if __name__ == "__main__":
    sys.exit(main())
