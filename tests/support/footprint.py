#!/usr/bin/python3
"""What an idle daemon costs: footprint.py DAEMON. Resident memory under 30 MB, after start and again after some work
has come and gone. Last line: `N passed, N failed`."""
import sys
import time

from installation import Clinic, Daemon, Program

LIMIT_KIB = 30_000_000 // 1024


def main():
    program = Program(sys.argv[1], "holdfast_footprint")
    program.run("migrate")
    token = Clinic(program, "Idle clinic").tokens["clinician"]
    daemon = Daemon(program)
    time.sleep(1)
    measured = {"after start": daemon.resident_kib()}
    for _ in range(200):
        if daemon.request("GET", "/v1/sites", token=token)[0] != 200:
            raise AssertionError("a plain list is not answered")
    time.sleep(1)
    measured["after 200 requests"] = daemon.resident_kib()
    code = daemon.stop()
    for when, kib in measured.items():
        print(f"  resident {when}: {kib} KiB, limit {LIMIT_KIB} KiB")
    failed = sum(kib > LIMIT_KIB for kib in measured.values()) + (code != 0)
    print(f"{len(measured) + 1 - failed} passed, {failed} failed")
    program.remove()
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
