"""HTTPS by the daemon itself: what is spoken, what is refused, what must fit together before it starts."""
import http.client
import json
import os
import socket
import ssl
import subprocess
import threading

from installation import Daemon, free_port


def certify(folder, name):
    """A key and a certificate of its own for 127.0.0.1: (certificate, key)."""
    certificate, key = os.path.join(folder, f"{name}.crt"), os.path.join(folder, f"{name}.key")
    subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes",
                    "-days", "2", "-subj", "/CN=holdfast test", "-addext", "subjectAltName=IP:127.0.0.1",
                    "-keyout", key, "-out", certificate], check=True, capture_output=True)
    return certificate, key


class TlsDaemon(Daemon):
    def __init__(self, program, certificate, key, env=None, patience_s=30.0):
        self.context = ssl.create_default_context(cafile=certificate)
        super().__init__(program, env={"HOLDFAST_TLS_CERTIFICATE": certificate, "HOLDFAST_TLS_KEY": key, **(env or {})},
                         patience_s=patience_s)

    def request(self, method, path, body=None, token=None, headers=None, timeout_s=60):
        headers = dict(headers or {})
        if token:
            headers["Authorization"] = f"Bearer {token}"
        if body is not None:
            body = json.dumps(body)
            headers["Content-Type"] = "application/json"
        connection = http.client.HTTPSConnection("127.0.0.1", self.port, timeout=timeout_s, context=self.context)
        try:
            connection.request(method, path, body=body, headers=headers)
            answer = connection.getresponse()
            return answer.status, answer.headers, answer.read()
        finally:
            connection.close()


def only(version, certificate):
    """A client that offers this version and nothing else, down to what today's defaults forbid."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.load_verify_locations(certificate)
    context.set_ciphers("ALL:@SECLEVEL=0")
    context.minimum_version = context.maximum_version = version
    return context


def spoken(port, context):
    with socket.create_connection(("127.0.0.1", port), 10) as raw:
        with context.wrap_socket(raw, server_hostname="127.0.0.1") as tls:
            return tls.version()


def old_server(certificate, key, connections):
    """Speaks every version there is: shows that a refusal is the daemon's and not the client's own."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    context.set_ciphers("ALL:@SECLEVEL=0")
    context.minimum_version = ssl.TLSVersion.TLSv1
    listener = socket.create_server(("127.0.0.1", 0))

    def serve():
        for _ in range(connections):
            raw, _ = listener.accept()
            with context.wrap_socket(raw, server_side=True) as tls:
                tls.recv(1)
        listener.close()

    threading.Thread(target=serve, daemon=True).start()
    return listener.getsockname()[1]


def test_https_serves_and_old_versions_are_refused(api):
    """TLS 1.0 and 1.1 must not be used: RFC 8996."""
    certificate, key = certify(api.program.folder, "good")
    daemon = TlsDaemon(api.program, certificate, key)
    token = api.clinic_a.tokens["clinician"]
    assert daemon.request("GET", "/readyz")[0] == 200
    status, _, body = daemon.request("POST", "/v1/patients", {"chart_number": "over TLS"}, token)
    assert status == 201, body
    assert '"scheme":"https"' in daemon.log()
    versions = ssl.TLSVersion
    assert spoken(daemon.port, only(versions.TLSv1_2, certificate)) == "TLSv1.2"
    assert spoken(daemon.port, only(versions.TLSv1_3, certificate)) == "TLSv1.3"
    old = [versions.TLSv1, versions.TLSv1_1]
    control = old_server(certificate, key, len(old))
    for version in old:
        assert spoken(control, only(version, certificate)) in ("TLSv1", "TLSv1.1"), "the client cannot offer it"
        try:
            found = spoken(daemon.port, only(version, certificate))
        except (ssl.SSLError, ConnectionError):
            pass
        else:
            raise AssertionError(f"{found} was spoken")
    # Plain HTTP on that port is no HTTP answer.
    with socket.create_connection(("127.0.0.1", daemon.port), 10) as plain:
        plain.sendall(b"GET /livez HTTP/1.1\r\nHost: x\r\n\r\n")
        try:
            assert not plain.recv(100).startswith(b"HTTP")
        except ConnectionError:
            pass
    assert daemon.request("GET", "/livez")[0] == 200
    assert daemon.stop() == 0, daemon.log()[-2000:]


def test_a_handshake_that_does_not_end_is_cut(api):
    """The deadline of a request holds from the first byte of the connection on, TLS or not."""
    certificate, key = certify(api.program.folder, "slow")
    daemon = TlsDaemon(api.program, certificate, key, {"HOLDFAST_REQUEST_DEADLINE_S": "1"})
    with socket.create_connection(("127.0.0.1", daemon.port), 10) as silent:
        silent.sendall(b"\x16\x03\x01\x02\x00\x01")
        assert silent.recv(1) == b"", "still open"
    assert daemon.request("GET", "/livez")[0] == 200
    assert daemon.stop() == 0, daemon.log()[-2000:]


def test_what_must_fit_together(api):
    certificate, key = certify(api.program.folder, "one")
    _, other = certify(api.program.folder, "other")
    folder = api.program.folder
    for settings, word in [((certificate, ""), b"need each other"), (("", key), b"need each other"),
                           ((certificate, other), b"tls_key"), ((key, certificate), b"tls_key"),
                           ((os.path.join(folder, "none.crt"), key), b"cannot be read")]:
        env = {"HOLDFAST_TLS_CERTIFICATE": settings[0], "HOLDFAST_TLS_KEY": settings[1], "HOLDFAST_PORT": str(free_port())}
        done = api.call("serve", env=env)
        assert done.returncode == 1 and word in done.stderr, (settings, done)


def test_a_public_address_needs_tls_or_a_word(api):
    env = {"HOLDFAST_LISTEN_ADDRESS": "0.0.0.0"}
    done = api.call("serve", env={**env, "HOLDFAST_PORT": str(free_port())})
    assert done.returncode == 1 and b"plain HTTP" in done.stderr, done
    certificate, key = certify(api.program.folder, "public")
    daemon = TlsDaemon(api.program, certificate, key, env)
    assert daemon.request("GET", "/livez")[0] == 200
    assert daemon.stop() == 0, daemon.log()[-2000:]
    daemon = Daemon(api.program, env={**env, "HOLDFAST_ALLOW_PLAIN_HTTP_ON_PUBLIC_ADDRESS": "yes"})
    assert daemon.request("GET", "/livez")[0] == 200
    assert daemon.stop() == 0, daemon.log()[-2000:]
