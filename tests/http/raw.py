"""Requests as bytes, for what no HTTP library would send; and a database session that holds locks."""
import os
import socket
import subprocess

import database


def dial(daemon, timeout_s=20.0):
    return socket.create_connection(("127.0.0.1", daemon.port), timeout_s)


def hear(connection):
    """All bytes until the other side ends; b'' counts for a reset as well."""
    found = b""
    try:
        while piece := connection.recv(65536):
            found += piece
    except ConnectionError:
        pass
    return found


def read_answer(file):
    """(status, headers in lower case, body) of the next answer by its Content-Length; None at the end."""
    line = file.readline()
    if not line:
        return None
    status, headers = int(line.split()[1]), {}
    while (line := file.readline().strip()):
        name, _, value = line.partition(b":")
        headers[name.decode().lower()] = value.strip().decode()
    return status, headers, file.read(int(headers.get("content-length", 0)))


class Session:
    """psql as the cluster's superuser; what it has begun stays open until it is ended."""

    def __init__(self, name="holdfast_http"):
        self.psql = subprocess.Popen(
            [database.CLUSTER, "psql", os.environ["HOLDFAST_TEST_CLUSTER"], "-d", name, "-t", "-A"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1)

    def tell(self, sql):
        """Sends it without waiting for its end."""
        self.psql.stdin.write(sql + "\n")
        self.psql.stdin.flush()

    def do(self, sql):
        """Returns when it is done."""
        self.tell(sql + "\n\\echo done")
        while (line := self.psql.stdout.readline()) != "done\n":
            assert line, f"psql ended in {sql}"

    def end(self):
        self.psql.stdin.close()
        self.psql.wait(30)
