#!/usr/bin/python3
"""Runs what tests the core in a build with gcov and tells each line and branch of core/ that nothing ran:
coverage.py BUILD/cov. Branches that only an assertion of our own invariants takes are not counted."""
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


def counted(line, source):
    return "assert(" not in source[line["line_number"] - 1]


def look(build):
    data = sorted(glob.glob(f"{build}/core/*.gcda"))
    text = subprocess.run(["gcov", "-b", "-j", "-t", *data], capture_output=True, text=True, cwd=ROOT, check=True).stdout
    lines = {}
    for report in map(json.loads, filter(None, text.splitlines())):
        for file in report["files"]:
            if file["file"].startswith("core/"):
                for line in file["lines"]:
                    lines.setdefault(file["file"], {}).setdefault(line["line_number"], []).append(line)
    total = missed = ways = ways_missed = 0
    for file, numbered in sorted(lines.items()):
        source = open(os.path.join(ROOT, file), encoding="utf-8").read().splitlines()
        for number, copies in sorted(numbered.items()):
            if not counted(copies[0], source):
                continue
            total += 1
            if not any(line["count"] for line in copies):
                missed += 1
                print(f"{file}:{number}: never run: {source[number - 1].strip()}")
                continue
            # A header's inline function is compiled many times: a way is taken when any copy takes it.
            for way in zip(*(line["branches"] for line in copies if line["count"])) if copies[0]["branches"] else ():
                ways += 1
                if not any(branch["count"] for branch in way):
                    ways_missed += 1
                    print(f"{file}:{number}: a way never taken: {source[number - 1].strip()}")
    print(f"lines: {total - missed} of {total}; ways of branches: {ways - ways_missed} of {ways}")


def main():
    build = sys.argv[1]
    failed = run_all(build)
    look(build)
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
