"""The API as a page: it tells all of the description (read here by PyYAML), and every line for a shell does what it says."""
import html
import json
import os
import re
import shlex
import subprocess

from browser import Page
from chart import expect
from rows import Rows, fresh_clinic

SECTION = re.compile(r'<section class="operation" aria-labelledby="([^"]+)">(.*?)</section>', re.S)
LINE = re.compile(r'<pre class="shell"><code>(.*?)</code></pre>', re.S)
REFUSED = re.compile(r'href="#refusal-(\d+)"')
# What the page says runs as it stands; only where the answer goes and what is told of it is added.
WATCHED = """curl() { command curl -s -S --max-time 30 -o "$OUT" -w '%{http_code} %{content_type}\\n' "$@"; }\n"""


def page_of(api):
    return Page(api.request("GET", "/api"))


def plain(markup):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", markup)))


def sections(page):
    return {found.group(1): found.group(2) for found in SECTION.finditer(page.source)}


def test_every_operation_is_there(api):
    page = page_of(api)
    told = sections(page)
    assert set(told) == {operation.id for operation in api.contract.operations}
    for operation in api.contract.operations:
        words, node = plain(told[operation.id]), operation.node
        assert words.strip().startswith(f"{operation.method.lower()} {operation.path} "), words[:200]
        assert node["summary"].replace("`", "") in words
        assert ("Needs no token" if operation.roles is None else "For " + ", ".join(node["x-roles"])) in words
        for parameter in operation.parameters:
            assert f"{parameter['name']}{' *' if parameter.get('required') else ''} {parameter['in']}" in words, parameter
            assert plain(parameter.get("description", "").replace("`", "")) in words, parameter
        refused = [status for status in node["responses"] if status[0] in "45"]
        assert REFUSED.findall(told[operation.id]) == refused
        for status, response in node["responses"].items():
            if status[0] in "23":
                assert f"Answer {status}" in words
                for kind in api.contract.resolve(response).get("content", {}):
                    assert f"{kind}: " in words, kind


def members(schema, way=""):
    """Every member that stands in a schema itself, as the page names it."""
    for name, below in schema.get("properties", {}).items():
        path = f"{way}.{name}" if way else name
        yield path, below
        yield from members(below, path)
    if "items" in schema:
        yield from members(schema["items"], way + "[]")
    if isinstance(schema.get("additionalProperties"), dict):
        yield from members(schema["additionalProperties"], f"{way}.…" if way else "…")
    for choice in ("oneOf", "anyOf"):
        for one in schema.get(choice, []):
            yield from members(one, way)


def test_every_shape_is_there(api):
    source = page_of(api).source
    shapes = source[source.index('<h2 id="schemas">'):source.index('<h2 id="headers">')]
    parts = {found.group(1): found.group(2) for found in re.finditer(r'<h3 id="([^"]+)">(.*?)(?=<h3 |\Z)', shapes, re.S)}
    schemas = api.contract.document["components"]["schemas"]
    assert set(parts) == set(schemas)
    count = 0
    for name, schema in schemas.items():
        rows = {re.search("<code>(.*?)</code>", row).group(1): plain(row) for row in re.findall("<tr><th scope=\"row\">.*?</tr>", parts[name], re.S)}
        wanted = dict(members(schema))
        assert set(rows) == set(wanted), (name, set(rows) ^ set(wanted))
        for path, member in wanted.items():
            assert plain(member.get("description", "").replace("`", "")) in rows[path], (name, path)
            for bound in ("minimum", "maximum", "maxLength", "pattern", "default"):
                assert bound not in member or str(member[bound]) in rows[path], (name, path, bound, rows[path])
            assert all(str(value) in rows[path] for value in member.get("enum", [])), (name, path)
            count += 1
    assert count > 500


def body_of_line(words):
    """Place of the body among the words of a line; 0: it has none."""
    return next((i + 1 for i, word in enumerate(words) if word in ("--json", "--data-binary")), 0)


def with_rows(rows, operation, line):
    """The line with the identifiers of rows that are there in the place of the example's."""
    words = shlex.split(line)
    at = body_of_line(words)
    if not at:
        return line
    example = operation.takes[operation.media_type()].get("example")
    assert words[at] == example or json.loads(words[at]) == example, "the line's body is the description's example"
    body = rows.example(operation) if operation.method == "POST" else example
    return line.replace(shlex.quote(words[at]), shlex.quote(body if isinstance(body, str) else json.dumps(body)))


def run_line(api, rows, operation, line, out):
    env = dict(os.environ, OUT=out, HOLDFAST=f"http://127.0.0.1:{api.port}", TOKEN=rows.token(operation) or "")
    for word in operation.words:
        env[word] = rows.word(operation, word)
    if "If-Match" in operation.named("header"):
        of_row = api.contract.operation("GET", f"/v1/{operation.collection}/{env['id']}")
        env["etag"] = rows.send(of_row, path=f"/v1/{operation.collection}/{env['id']}")[1]["ETag"]
    done = subprocess.run(["bash", "-c", WATCHED + with_rows(rows, operation, line)], env=env, capture_output=True, text=True,
                          timeout=60)
    # 28: a stream goes on until the line's own time is up.
    assert done.returncode == (28 if operation.streams() and "-N" in line else 0), (line, done.returncode, done.stderr)
    return done.stdout.split()


def test_every_line_runs(api):
    rows, told, count = Rows(api, fresh_clinic(api)), sections(page_of(api)), 0
    out = os.path.join(api.program.folder, "line.out")
    for operation in api.contract.operations:
        lines = [html.unescape(line) for line in LINE.findall(told[operation.id])]
        offered = list(api.contract.resolve(operation.node["responses"][operation.good]).get("content", {})) \
            if operation.good != "303" else []
        assert len(lines) == len(offered), (operation, lines)
        for line, kind in zip(lines, offered):
            status, answered = run_line(api, rows, operation, line, out)[:2]
            assert (status, answered.rstrip(";")) == (operation.good, kind), (line, status, answered, open(out).read()[:500])
            count += 1
    assert count > 60


def test_what_is_set_before_is_a_visit(api):
    """The lines of "Before you begin", as they stand, with this daemon and token."""
    rows = Rows(api, fresh_clinic(api))
    lines = [html.unescape(line) for line in LINE.findall(page_of(api).source)[:2]]
    assert lines[0].startswith("export HOLDFAST=http://127.0.0.1:8080 TOKEN=")
    env = dict(os.environ, HOLDFAST=f"http://127.0.0.1:{api.port}", TOKEN=rows.clinic.tokens["dashboard"])
    done = subprocess.run(["bash", "-c", lines[1] + '\nprintf "%s %s" "$id" "$etag"'], env=env, capture_output=True, text=True, timeout=60)
    visit = rows.row("visits")
    etag = rows.chart.get(f"/v1/visits/{visit['id']}")[1]["ETag"]
    assert done.stdout == f"{visit['id']} {etag}", done


def test_the_page_needs_nothing_else(api):
    """No script, nothing from elsewhere; links lead to places that are there (read strictly by Page)."""
    page = page_of(api)
    assert "script" not in page.tags and not re.search(r'(?:src|href)="(?:https?:)?//', page.source)
    for link in {link for link in page.links if link.startswith("/") and link not in ("/worklist", "/v1/patients")}:
        assert api.request("GET", link, headers={"Accept": "text/html, */*"})[0] == 200, link
    assert expect(api.request("GET", "/problems"), 200)["items"]
