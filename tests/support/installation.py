"""A whole installation for a test run: database, roles, clinics, tokens, daemon."""
import glob
import http.client
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import tempfile
import time

import database

ROLES = ["clinician", "assistant", "dashboard", "integrator", "auditor", "admin"]
UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}")
TOKEN = re.compile(r"hf_[A-Za-z0-9_-]{22,}")


class Clinic:
    """id, name, tokens {role: token}."""

    def __init__(self, program, name):
        self.name = name
        self.id = UUID.search(program.run("clinic", "create", name)).group()
        self.tokens = {role: program.token(self.id, role) for role in ROLES}

    def __getitem__(self, name):
        return getattr(self, name)


class Program:
    """The binary with the environment that it needs to find its database."""

    def __init__(self, binary, name):
        self.binary = os.path.abspath(binary)
        self.folder = tempfile.mkdtemp(prefix="holdfast-test-")
        self.sanitizer_log = os.path.join(self.folder, "sanitizer")
        self.owner, self.app = database.create(name)
        self.env = dict(os.environ, HOLDFAST_DATABASE=self.app, HOLDFAST_DATABASE_OWNER=self.owner,
                        # Receivers of the tests; the rest of the loopback is closed to webhooks like any other private network.
                        HOLDFAST_WEBHOOK_NETWORKS="127.0.0.1/32",
                        ASAN_OPTIONS=f"log_path={self.sanitizer_log}:detect_stack_use_after_return=1",
                        UBSAN_OPTIONS=f"log_path={self.sanitizer_log}:print_stacktrace=1",
                        TSAN_OPTIONS=f"log_path={self.sanitizer_log}")

    def call(self, *arguments, input=None, env=None):
        """The finished process; stdout and stderr are bytes."""
        return subprocess.run([self.binary, *arguments], input=input, capture_output=True, timeout=120,
                              env={**self.env, **(env or {})})

    def run(self, *arguments):
        """Standard output of a call that has to succeed."""
        done = self.call(*arguments)
        if done.returncode != 0:
            raise AssertionError(f"holdfastd {' '.join(arguments)}: exit code {done.returncode}: {done.stderr.decode()}")
        return done.stdout.decode()

    def token(self, clinic, role, label="test"):
        return TOKEN.search(self.run("token", "create", "--clinic", clinic, "--role", role, "--label", label)).group()

    def sanitizer_reports(self):
        return [open(path, errors="replace").read() for path in sorted(glob.glob(self.sanitizer_log + ".*"))]

    def remove(self):
        shutil.rmtree(self.folder, ignore_errors=True)


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


class Daemon:
    """A running `holdfastd serve` on a free port of the loopback address."""

    def __init__(self, program, wrapper=(), env=None, patience_s=30.0):
        self.port = free_port()
        self.log_path = os.path.join(program.folder, f"daemon-{self.port}.log")
        with open(self.log_path, "wb") as log:
            self.process = subprocess.Popen([*wrapper, program.binary, "serve"], stdout=log, stderr=log,
                                            env={**program.env, "HOLDFAST_PORT": str(self.port), **(env or {})})
        deadline = time.monotonic() + patience_s
        while True:
            try:
                if self.request("GET", "/livez")[0] == 200:
                    return
            except OSError:
                pass
            if self.process.poll() is not None or time.monotonic() > deadline:
                self.process.kill()
                raise AssertionError(f"the daemon did not come up:\n{self.log()}")
            time.sleep(0.02)

    def request(self, method, path, body=None, token=None, headers=None, timeout_s=60):
        """(status, headers, body bytes). A dict or list is sent as JSON; headers in the answer ignore case."""
        headers = dict(headers or {})
        if isinstance(body, (dict, list)):
            body = json.dumps(body)
        if isinstance(body, str):
            body = body.encode()
        if body is not None and not any(name.lower() == "content-type" for name in headers):
            headers["Content-Type"] = "application/merge-patch+json" if method == "PATCH" else "application/json"
        if token is not None:
            headers["Authorization"] = f"Bearer {token}"
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout_s)
        try:
            connection.request(method, path, body=body, headers=headers)
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read()
        finally:
            connection.close()

    def log(self):
        return open(self.log_path, errors="replace").read()

    def alive(self):
        return self.process.poll() is None

    def resident_kib(self):
        status = open(f"/proc/{self.process.pid}/status").read()
        return int(re.search(r"VmRSS:\s+(\d+)", status).group(1))

    def stop(self, patience_s=60.0):
        """Asks it to end and returns its exit code; killed when it does not."""
        if self.alive():
            self.process.send_signal(signal.SIGTERM)
        try:
            return self.process.wait(patience_s)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
            return -signal.SIGKILL
