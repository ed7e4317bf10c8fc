#!/usr/bin/python3
"""Every page and drawing of the demo clinic in Chromium: run.py DAEMON FOLDER [PART]. Last line: `N passed, N failed`.

Plants the demo clinic in a database of its own, starts the daemon and hands its address and a token to run.js; FOLDER holds
node_modules and gets the pictures. PART: only what has it in its name. Needs a cluster: run it by
tests/support/with-database.sh."""
import os
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "support"))
from installation import Daemon, Program  # noqa: E402

CLINIC = "019c0000-0000-7000-8000-000000000001"


def main():
    binary, folder = sys.argv[1], os.path.abspath(sys.argv[2])
    program = Program(binary, "holdfast_browser")
    try:
        program.run("migrate")
        program.run("seed-demo")
        daemon = Daemon(program)
        try:
            env = dict(os.environ, NODE_PATH=os.path.join(folder, "node_modules"), PICTURES=os.path.join(folder, "pictures"),
                       ADDRESS=f"http://127.0.0.1:{daemon.port}", TOKEN=program.token(CLINIC, "clinician", "browser"))
            code = subprocess.run(["node", os.path.join(HERE, "run.js"), *sys.argv[3:]], env=env).returncode
        finally:
            ended = daemon.stop()
        if ended != 0:
            print(f"the daemon ended with {ended}:\n{daemon.log()[-4000:]}")
        return code or ended
    finally:
        program.remove()


if __name__ == "__main__":
    sys.exit(main())
