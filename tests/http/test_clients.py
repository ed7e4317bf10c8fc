"""api/clients.md: what it tells a client to write, run as it stands against a clinic of its own. JavaScript and the TypeScript
client need Node.js and packages: `make clients` brings both and names the folder in HOLDFAST_NODE."""
import json
import os
import re
import subprocess
import sys
import time

from chart import Chart, expect
from rows import Rows, fresh_clinic
from test_demo import CLINIC, Demo

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
NODE = os.environ.get("HOLDFAST_NODE")
TASKS = ["Sign in", "A list, page by page", "Create once", "Change what was read", "What if", "What happens"]


def pieces(language):
    """{task: what stands there in a language}."""
    with open(os.path.join(ROOT, "api", "clients.md"), encoding="utf-8") as file:
        parts = re.split(r"^## (.+)$", file.read(), flags=re.M)[1:]
    return {task: "\n".join(re.findall(rf"^```{language}\n(.*?)^```$", text, re.M | re.S))
            for task, text in zip(parts[::2], parts[1::2])}


def wait_for_events(chart, least):
    deadline = time.monotonic() + 20
    while len(expect(chart.get("/v1/events?limit=200"), 200)["items"]) < least:
        assert time.monotonic() < deadline, "the feed does not come"
        time.sleep(0.1)


def run(api, clinic, language, command):
    """What each task printed, in lines. The pages of two, so that there are several."""
    told = pieces(language)
    assert list(told) == TASKS and all(told.values()), list(told)
    say = {"sh": "echo '== %s'\n", "python": "print('== %s', flush=True)\n", "js": "console.log('== %s');\n"}[language]
    text = "".join(say % task + piece + "\n" for task, piece in told.items()).replace("limit=100", "limit=2")
    path = os.path.join(api.program.folder, "client." + {"sh": "sh", "python": "py", "js": "mjs"}[language])
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    env = dict(os.environ, HOLDFAST=f"http://127.0.0.1:{api.port}", TOKEN=clinic.tokens["clinician"])
    done = subprocess.run([*command, path], env=env, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, (done.stdout[-1500:], done.stderr[-1500:])
    parts = re.split(r"^== (.+)\n", done.stdout, flags=re.M)[1:]
    return dict(zip(parts[::2], (part.splitlines() for part in parts[1::2])))


def check(api, language, command, chart_number):
    clinic = fresh_clinic(api)
    rows = Rows(api, clinic)
    chart = Chart(api, clinic)
    charts = {rows.row("patients")["chart_number"], *(chart.patient()["chart_number"] for _ in range(4))}
    visit = rows.row("visits")
    wait_for_events(chart, 5)
    out = run(api, clinic, language, command)
    assert out["Sign in"] == [] and out["Create once"] == []
    assert len(out["A list, page by page"]) == 5 and set(out["A list, page by page"]) == charts
    created = [p for p in expect(chart.get("/v1/patients?limit=200"), 200)["items"] if p["chart_number"] == chart_number]
    assert len(created) == 1 and created[0]["cigarettes_per_day"] == 5 and created[0]["version"] == 2
    assert out["Change what was read"] == ["2"]
    # The horizon is the only thing that differs from the stored visit's own question.
    document = expect(chart.get(f"/v1/visits/{visit['id']}/mechanics-document"), 200)
    answer = expect(chart.post("/v1/mechanics/evaluate", {**document, "horizon_days": 84}), 200)
    told = [line.rsplit(" ", 1) for line in out["What if"]]
    assert [name for name, _ in told] == [s["name"] for s in answer["stability"]["screws"]] and len(told) == 2
    assert [float(loss) for _, loss in told] == [s["loss"]["mid"] for s in answer["stability"]["screws"]]
    stored = expect(chart.get(f"/v1/visits/{visit['id']}/stability"), 200)["stability"]["screws"]
    assert all(float(loss) > s["loss"]["mid"] for (_, loss), s in zip(told, stored)), "twice the days, more risk"
    wait_for_events(chart, len(out["What happens"]))
    feed = [f"{e['type']} {e['id']}" for e in expect(chart.get("/v1/events?limit=200"), 200)["items"]]
    assert out["What happens"] == feed[:len(out["What happens"])] and len(out["What happens"]) >= 5
    return out, created[0]


def test_curl(api):
    check(api, "sh", ["bash", "-eu", "-o", "pipefail"], "A-2001")


def test_python(api):
    out, patient = check(api, "python", [sys.executable, "-I"], "A-2002")
    assert out["What happens"][-1] == f"patient.changed {patient['id']}"


if NODE:
    def test_javascript(api):
        check(api, "js", ["node"], "A-2003")

    def test_typescript(api):
        """Generated, compiled, and run against the demo clinic."""
        demo = Demo(api)
        token = api.program.token(CLINIC, "clinician", "typescript")
        visit = demo.all("visits")[0]["id"]
        env = dict(os.environ, HOLDFAST=f"http://127.0.0.1:{api.port}", TOKEN=token, VISIT=visit)
        done = subprocess.run(["node", os.path.join(NODE, "out", "demo.js")], env=env, capture_output=True, text=True, timeout=60)
        assert done.returncode == 0, done.stderr
        told = json.loads(done.stdout)
        assert sorted(told["charts"]) == sorted(p["chart_number"] for p in demo.all("patients")) and len(told["charts"]) > 3
        answer = expect(demo.get(f"/v1/visits/{visit}/force-system"), 200)
        assert told["movements"] == [[s["name"], s["movement"]] for s in answer["segments"]]
        document = expect(demo.get(f"/v1/visits/{visit}/mechanics-document"), 200)
        altered = {**document, "elements": [{**e, "force_n": 0.5} for e in document["elements"]]}
        wanted = expect(demo.post("/v1/mechanics/evaluate", altered), 200)
        assert told["forces"] == [e["force_n"] for e in wanted["elements"]] != [e["force_n"] for e in answer["elements"]]
        assert told["refused"][0] == 422 and sorted(told["refused"][1]) == ["/chart_number", "/cigarettes_per_day"]
