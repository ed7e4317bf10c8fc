"""The program on the command line: the same answers as over HTTP, exit codes, administration."""
import glob
import json
import os
import re
import socket
import subprocess
import tempfile
import threading
import time

from installation import ROLES, TOKEN, Daemon

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
EXAMPLES = sorted(glob.glob(os.path.join(ROOT, "api", "examples", "*.json")))
SMALL = {
    "frame": "occlusal-lps",
    "on": "2026-03-02",
    "teeth": [{"tooth": "16"}],
    "segments": [{"name": "molar", "teeth": ["16"], "joined": "rigid"}],
}


def test_evaluate_gives_the_bytes_of_the_http_answer(api):
    token = api.clinic_a.tokens["clinician"]
    assert len(EXAMPLES) >= 3
    for path in EXAMPLES:
        document = open(path, "rb").read()
        done = api.call("evaluate", path)
        assert done.returncode == 0, (path, done.stderr)
        status, headers, body = api.request("POST", "/v1/mechanics/evaluate", document, token)
        assert status == 200 and headers["Content-Type"] == "application/json", (path, status, body[:300])
        assert body == done.stdout, path
        from_input = api.call("evaluate", "-", input=document)
        assert from_input.returncode == 0 and from_input.stdout == done.stdout, path


def test_evaluate_refuses_with_the_problem_on_stderr(api):
    document = json.dumps({**SMALL, "on": "2026-02-30", "surprise": 1}).encode()
    done = api.call("evaluate", "-", input=document)
    assert done.returncode == 2 and done.stdout == b"", done
    problem = json.loads(done.stderr)
    assert problem["status"] == 422
    assert {error["pointer"] for error in problem["errors"]} == {"/on", "/surprise"}


def test_evaluate_malformed_and_missing(api):
    broken = api.call("evaluate", "-", input=b'{"frame": ')
    assert broken.returncode == 2 and json.loads(broken.stderr)["status"] == 400
    missing = api.call("evaluate", "/nowhere/at-all.json")
    assert missing.returncode == 2 and missing.stdout == b"" and b"/nowhere/at-all.json" in missing.stderr


def test_evaluate_takes_what_a_request_may_hold_and_no_byte_more(api):
    most = 1 << 20
    text = json.dumps(SMALL)
    assert api.call("evaluate", "-", input=text.ljust(most).encode()).returncode == 0
    done = api.call("evaluate", "-", input=text.ljust(most + 1).encode())
    assert done.returncode == 2 and done.stdout == b"" and json.loads(done.stderr)["status"] == 413, done


def test_an_answer_that_cannot_be_written_is_a_failure(api):
    for arguments in (["evaluate", EXAMPLES[0]], ["openapi"]):
        with open("/dev/full", "w") as full:
            done = subprocess.run([api.binary, *arguments], env=api.env, stdout=full, stderr=subprocess.PIPE, timeout=60)
        assert done.returncode > 0 and b"written" in done.stderr, (arguments, done)


def test_evaluate_needs_no_database(api):
    nowhere = {"HOLDFAST_DATABASE": "host=/nowhere", "HOLDFAST_DATABASE_OWNER": "host=/nowhere"}
    done = api.call("evaluate", "-", input=json.dumps(SMALL).encode(), env=nowhere)
    assert done.returncode == 0 and json.loads(done.stdout)["segments"][0]["name"] == "molar", done


def test_version_and_help(api):
    version = api.call("--version")
    assert version.returncode == 0 and re.search(rb"\b\d+\.\d+\.\d+\b", version.stdout), version
    help_text = api.call("--help")
    assert help_text.returncode == 0
    for command in [b"serve", b"evaluate", b"migrate", b"clinic create", b"token create", b"seed-demo", b"check", b"openapi", b"verify-audit", b"export", b"import"]:
        assert command in help_text.stdout, command


def test_unknown_command_is_refused(api):
    for arguments in [["frobnicate"], [], ["token", "frobnicate"], ["evaluate"], ["clinic", "create", "Two", "Words"],
                      ["token", "create", "--role", "admin"], ["token", "create", "--role"], ["check", "--config"]]:
        done = api.call(*arguments)
        assert done.returncode not in (0, None) and done.returncode > 0, (arguments, done)
        assert done.stderr and done.stdout == b"", (arguments, done)


def test_migrate_again_changes_nothing(api):
    assert "applied 0001" in api.migration_log
    before = api.sql("select count(*) from holdfast.schema_migrations")
    again = api.call("migrate")
    assert again.returncode == 0, again.stderr
    assert b"applied 0001" not in again.stdout + again.stderr
    assert api.sql("select count(*) from holdfast.schema_migrations") == before


def test_settings_come_from_a_file_and_from_the_environment(api):
    """The environment goes before the file, the file before the defaults; what opens the database is not shown."""
    with tempfile.NamedTemporaryFile("w", suffix=".conf") as file:
        file.write("# a comment\n\nqueue_length = 77\nworkers=2\ndatabase = host=db password=hush\n")
        file.flush()
        done = api.call("--config", file.name, "--show-config", env={"HOLDFAST_WORKERS": "3", "HOLDFAST_DATABASE": "host=x password=hist"})
        assert done.returncode == 0 and done.stderr == b"", done
        shown = dict(line.split(" = ", 1) for line in done.stdout.decode().splitlines())
        assert (shown["queue_length"], shown["workers"], shown["port"]) == ("77", "3", "8080"), shown
        assert shown["database"] == "(set, not shown)" and b"hush" not in done.stdout and b"hist" not in done.stdout
        file.write("prot = 1\nworkers = many\nworkers\nrequest_deadline_s = -1\n")
        file.flush()
        for arguments in (["--show-config"], ["check"], ["serve"]):
            done = api.call("--config", file.name, *arguments)
            told = done.stderr.decode()
            assert done.returncode == 1 and done.stdout == b"", (arguments, done)
            assert all(f"{file.name}:{line}:" in told for line in (6, 7, 8, 9)), told
        gone = file.name
    done = api.call("--config", gone, "check")
    assert done.returncode == 1 and gone.encode() in done.stderr


def test_a_port_that_is_taken_is_named(api):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = api.call("serve", env={"HOLDFAST_PORT": str(port)})
    assert done.returncode == 1 and f"port {port} on 127.0.0.1 is taken".encode() in done.stderr, done


def test_check_tells_whether_it_could_serve(api):
    assert api.call("check").returncode == 0
    wrong = api.call("check", env={"HOLDFAST_DATABASE": "host=/nowhere dbname=none"})
    assert wrong.returncode > 0 and wrong.stderr


def test_a_token_works_until_it_is_revoked(api):
    made = api.call("token", "create", "--clinic", api.clinic_a.id, "--role", "clinician", "--label", "to be revoked")
    token = TOKEN.search(made.stdout.decode()).group()
    assert api.request("GET", "/v1/patients", token=token)[0] == 200
    listed = api.program.run("token", "list", api.clinic_a.id)
    assert "to be revoked" in listed and token not in listed
    line = next(line for line in listed.splitlines() if "to be revoked" in line)
    token_id = re.search(r"[0-9a-f]{8}-[0-9a-f-]{27}", line).group()
    assert api.call("token", "revoke", token_id).returncode == 0
    assert api.request("GET", "/v1/patients", token=token)[0] == 401


def test_tokens_are_kept_as_digests_only(api):
    stored = api.sql("select encode(digest, 'hex') || coalesce(label, '') from holdfast.tokens")
    for token in [*api.clinic_a.tokens.values(), *api.clinic_b.tokens.values()]:
        assert token not in stored and token[3:] not in stored
    assert len(stored.splitlines()) >= 2 * len(ROLES)


def test_token_of_unknown_clinic_or_role_is_refused(api):
    for clinic, role in [("01890000-0000-7000-8000-000000000000", "clinician"), (api.clinic_a.id, "emperor")]:
        done = api.call("token", "create", "--clinic", clinic, "--role", role)
        assert done.returncode > 0 and done.stderr and not TOKEN.search(done.stdout.decode()), done


def test_seed_demo_twice_is_one_demo_clinic(api):
    assert api.call("seed-demo").returncode == 0
    rows = api.sql("select count(*) from holdfast.visits")
    assert int(rows) > 0
    again = api.call("seed-demo")
    assert again.returncode == 0, again.stderr
    assert api.sql("select count(*) from holdfast.visits") == rows
    assert api.sql("select count(*) from holdfast.clinics where demo") == "1"


def test_a_taken_port_is_told_at_once(api):
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        begin = time.monotonic()
        done = api.call("serve", env={"HOLDFAST_PORT": str(port)})
    assert done.returncode == 1 and str(port).encode() in done.stderr, done
    assert time.monotonic() - begin < 30


def test_a_wrong_setting_stops_the_start(api):
    for setting in [{"HOLDFAST_PORT": "99999"}, {"HOLDFAST_WORKERS": "many"}, {"HOLDFAST_LISTEN_ADDRESS": "0.0.0.0"}]:
        done = api.call("serve", env=setting)
        assert done.returncode > 0 and done.stderr, (setting, done)


def test_terminate_finishes_the_request_in_work(api):
    token = api.clinic_a.tokens["clinician"]
    document = {"variants": [json.load(open(EXAMPLES[0], encoding="utf-8"))] * 64}
    daemon = Daemon(api.program)
    answers = []

    def ask():
        try:
            answers.append(daemon.request("POST", "/v1/mechanics/evaluate", document, token)[0])
        except ConnectionRefusedError:
            answers.append("not let in")

    askers = [threading.Thread(target=ask) for _ in range(8)]
    for asker in askers:
        asker.start()
    time.sleep(0.05)
    code = daemon.stop()
    for asker in askers:
        asker.join()
    # Who comes after the door was shut is told so; nobody who was let in is dropped.
    assert code == 0, daemon.log()[-2000:]
    assert len(answers) == len(askers) and set(answers) <= {200, 503, "not let in"}, answers
    assert 200 in answers, answers


def test_log_lines_are_json_and_tell_no_patient(api):
    token = api.clinic_a.tokens["clinician"]
    chart_number, name = "log-secret-4711", "Secretname"
    api.request("POST", "/v1/patients", {"chart_number": chart_number, "family_name": name}, token)
    api.request("GET", f"/v1/patients?chart_number={chart_number}", token=token)
    time.sleep(0.2)
    lines = api.daemon.log().splitlines()
    assert lines
    for line in lines:
        json.loads(line)
        assert chart_number not in line and name not in line and token not in line, line
