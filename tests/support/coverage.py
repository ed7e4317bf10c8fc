#!/usr/bin/python3
"""Runs what tests the core in a build with gcov and tells each line and branch way of core/ that nothing ran:
coverage.py BUILD/cov. Branches that only an assertion of our own invariants takes are not counted, nor the lines of
coverage.exceptions: file, tab, the line's text, tab, why nothing can run it. Fails for anything missed and not listed
there, for a listed line that misses nothing, and for a failed test."""
import glob
import json
import os
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))


def run_all(build):
    for old in glob.glob(f"{build}/**/*.gcda", recursive=True):
        os.remove(old)
    units = sorted(p for p in glob.glob(f"{build}/tests/unit/*/test_*") if os.access(p, os.X_OK) and "." not in os.path.basename(p))
    failed = subprocess.run([f"{HERE}/unit.py", *units], stdout=subprocess.DEVNULL).returncode
    failed |= subprocess.run([f"{ROOT}/tests/cases/run.py", f"{build}/holdfastd"], stdout=subprocess.DEVNULL).returncode
    for example in sorted(glob.glob(f"{ROOT}/api/examples/*.json")):
        subprocess.run([f"{build}/holdfastd", "evaluate", example], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return failed


def exceptions():
    with open(f"{HERE}/coverage.exceptions", encoding="utf-8") as listed:
        rows = [line.rstrip("\n").split("\t") for line in listed]
    if any(len(row) != 3 or not all(row) for row in rows):
        sys.exit("coverage.exceptions: each line is file, tab, text of the line, tab, reason")
    return {(file, text) for file, text, _ in rows}


def lines_of_core(build):
    """{file: {number: [the line as gcov tells it, once for each time it was compiled]}}"""
    data = sorted(glob.glob(f"{build}/core/*.gcda"))
    text = subprocess.run(["gcov", "-b", "-j", "-t", *data], capture_output=True, text=True, cwd=ROOT, check=True).stdout
    lines = {}
    for report in map(json.loads, filter(None, text.splitlines())):
        for file in report["files"]:
            if file["file"].startswith("core/"):
                for line in file["lines"]:
                    lines.setdefault(file["file"], {}).setdefault(line["line_number"], []).append(line)
    return lines


def taken(copies):
    """How often each way of a line's branches was taken. A header's function is compiled many times: any counts."""
    return [sum(way["count"] for way in ways) for ways in zip(*(line["branches"] for line in copies if line["count"]))]


def look(build):
    listed, used = exceptions(), set()
    count = {"lines": [0, 0], "ways": [0, 0]}
    for file, numbered in sorted(lines_of_core(build).items()):
        source = open(os.path.join(ROOT, file), encoding="utf-8").read().splitlines()
        for number, copies in sorted(numbered.items()):
            text = source[number - 1].strip()
            if "assert(" in text:
                continue
            ran, ways = any(line["count"] for line in copies), taken(copies)
            if (file, text) in listed and not (ran and all(ways)):
                used.add((file, text))
                continue
            count["lines"][0] += ran
            count["lines"][1] += 1
            count["ways"][0] += sum(map(bool, ways))
            count["ways"][1] += len(ways)
            if not ran:
                print(f"{file}:{number}: never run: {text}")
            elif not all(ways):
                print(f"{file}:{number}: a way never taken ({' '.join(map(str, ways))} times): {text}")
    for file, text in sorted(listed - used):
        print(f"coverage.exceptions: misses nothing: {file}: {text}")
    print("; ".join(f"{what}: {done} of {all_}" for what, (done, all_) in count.items()) + f"; exceptions: {len(listed)}")
    return listed == used and all(done == all_ for done, all_ in count.values())


def main():
    build = sys.argv[1]
    failed = run_all(build)
    if failed:
        print("a test failed: what it runs is not told rightly")
    sys.exit(0 if look(build) and not failed else 1)


if __name__ == "__main__":
    main()
