#!/usr/bin/python3
"""The same bytes from every compiler and optimisation: determinism.py DAEMON DAEMON …

Evaluates api/examples/*.json and every case's and validation's input.json by each daemon; one document = one check. What is refused
has to be refused with the same text. Last line: `N passed, N failed`."""
import glob
import json
import os
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def main():
    daemons = sys.argv[1:]
    documents = sorted(glob.glob(f"{ROOT}/api/examples/*.json") + glob.glob(f"{ROOT}/tests/cases/*/*/input.json")
                       + glob.glob(f"{ROOT}/tests/validation/*/input.json"))
    # Questions to single models of the core are not for the daemon.
    documents = [path for path in documents if "model" not in json.load(open(path, encoding="utf-8"))]
    passed, failed = 0, 0
    for document in documents:
        runs = [subprocess.run([d, "evaluate", document], capture_output=True, timeout=60) for d in daemons]
        answers = {(run.returncode, run.stdout, run.stderr) for run in runs}
        sane = all(run.returncode in (0, 2) and (run.stdout or run.stderr) for run in runs)
        if len(answers) == 1 and sane:
            passed += 1
        else:
            failed += 1
            print(f"  {os.path.relpath(document, ROOT)}: {len(answers)} different answers, exit codes "
                  f"{[run.returncode for run in runs]}")
    print(f"  {len(documents)} documents, {len(daemons)} builds")
    print(f"{passed} passed, {failed} failed")
    return 0 if failed == 0 and passed > 0 and len(daemons) > 1 else 1


if __name__ == "__main__":
    sys.exit(main())
