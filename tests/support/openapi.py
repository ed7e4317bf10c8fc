#!/usr/bin/python3
"""Writes the description that a daemon gives of itself: openapi.py DAEMON FILE. Needs no database."""
import os
import sys
import tempfile
from types import SimpleNamespace

from installation import Daemon


def main():
    binary, target = sys.argv[1:3]
    with tempfile.TemporaryDirectory() as folder:
        nowhere = {"HOLDFAST_DATABASE": f"host={folder}", "HOLDFAST_DATABASE_OWNER": f"host={folder}"}
        daemon = Daemon(SimpleNamespace(binary=os.path.abspath(binary), folder=folder, env={**os.environ, **nowhere}))
        status, _, text = daemon.request("GET", "/v1/openapi.yaml")
        code = daemon.stop()
    if status != 200 or code != 0:
        sys.exit(f"openapi: status {status}, exit code {code}")
    with open(target, "wb") as out:
        out.write(text)


if __name__ == "__main__":
    main()
