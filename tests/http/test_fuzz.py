"""Requests made from the service's description, good ones and spoilt ones, for FUZZ_SECONDS (60). Whatever comes: no 5xx, no
status that is not described, every refusal a problem document, no body taken that the description does not allow. FUZZ_SEED
repeats a run."""
import collections
import http.client
import json
import os
import random
import re
import time
from urllib.parse import quote, urlencode

from invent import RAW, WILD, WORDS, generate, mutate, read_strictly, spoil
from rows import Rows, fresh_clinic

NOWHERE = "01890a5d-ac96-774b-bcce-b302099a8057"
HEADERS = {
    "Accept": ["application/json", "*/*", "text/csv", "application/json;q=0", "application/*;q=0.5", ";;;", "a/b, c/d;q=1.0001", "text/html"],
    "Content-Type": ["application/json; charset=utf-8", "application/merge-patch+json", "text/plain", "application/json;charset=x", "/", ""],
    "If-Match": ["*", '"1"', 'W/"1"', '"1", "2"', '"', "1", "," * 50, '"\u00e9"', ""],
    "If-None-Match": ["*", '"1"', 'W/"1"', '"x", "1"', '"', ""],
    "Idempotency-Key": ["a", '"a b"', '"', "x" * 129, "", "\u00e9", "a,b"],
    "Prefer": ["return=minimal", "return=representation", "return=", ",,,", 'return="minimal"; x', "handling=strict"],
    "Range": ["bytes=0-5"], "X-Request-Id": ["x" * 300, "a b"], "Expect": ["nonsense"], "Accept-Encoding": ["gzip, *;q=0"],
}
QUERIES = ["", "limit=0", "limit=201", "limit=1e2", "limit=%31", "cursor=AAAA", "cursor=" + "A" * 600, "total=1", "sort=id", "sort=-",
           "on=2026-02-30", "on=0001-01-01", "on=9999-12-31", "by=nonsense", "a=1&a=2", "&&&", "=", "x", "limit", "%zz", "on=%00", "q=%ff",
           "updated_at_from=2026-13-01T00:00:00Z", "updated_at_from=2026-01-01T00:00:00%2B99:00", "updated_at_to=infinity",
           "updated_at_from=now", "visited_on_from=epoch", "patient_id=17", "state=", "site=" + "%27" * 20]


class Fuzz:
    def __init__(self, api, seed):
        self.api, self.rng = api, random.Random(seed)
        self.rows = Rows(api, fresh_clinic(api))
        self.known = [row["id"] for row in self.rows.rows.values()]
        self.seen = collections.defaultdict(collections.Counter)
        self.taken = collections.Counter()

    def value(self, operation, parameter):
        """For a query parameter: what its schema describes, what a row has, or anything."""
        roll = self.rng.random()
        if roll < 0.5:
            made = generate(self.api.contract, parameter["schema"], self.rng)
            return str(made).lower() if isinstance(made, bool) else str(made)
        if roll < 0.8:
            return str(self.rows.rows.get(operation.collection, {}).get(parameter["name"], self.rng.choice(WORDS)))
        return self.rng.choice([str(value) for value in WILD] + WORDS)[:300]

    def target(self, operation):
        rng, path = self.rng, operation.path
        for word in operation.words:
            value = self.rows.word(operation, word)
            if rng.random() < 0.15:
                value = rng.choice([NOWHERE, value.upper(), value[:-1], "%2e%2e", "%00", "17", quote(rng.choice(WORDS)), *self.known])
            path = path.replace("{" + word + "}", value)
        parameters = [p for p in operation.parameters if p["in"] == "query"]
        told = [f"{p['name']}={quote(self.value(operation, p))}" for p in parameters if rng.random() < 1.2 / len(parameters)]
        if rng.random() < 0.1:
            told.append(rng.choice(QUERIES))
        return path + ("?" + "&".join(told) if told else "")

    def headers(self, operation):
        rng, fields = self.rng, self.rows.headers(operation)
        if operation.takes:
            fields["Content-Type"] = operation.media_type()
        if rng.random() < 0.2:
            name = rng.choice(list(HEADERS))
            fields[name] = rng.choice(HEADERS[name])
        if fields.keys() & {"If-Match"} and rng.random() < 0.05:
            del fields["If-Match"]
        return {name: value.encode("utf-8") for name, value in fields.items()}

    def body(self, operation):
        rng = self.rng
        if operation.takes_form():
            form = urlencode(self.rows.body(operation))
            return form.encode() if rng.random() < 0.3 else spoil(form, rng)
        schema = operation.takes[operation.media_type()]["schema"]
        if operation.method == "POST" and rng.random() < 0.6:
            value = self.rows.body(operation)
            if rng.random() < 0.2:
                value = self.rows.refer(json.loads(json.dumps(operation.takes[operation.media_type()]["example"])))
        else:
            value = self.rows.refer(generate(self.api.contract, schema, rng))
            if operation.method == "PATCH" and isinstance(value, dict):
                for name in set(value) - set(rng.sample(sorted(value), min(len(value), 2))):
                    del value[name]
        if isinstance(value, str):
            return spoil(value, rng) if rng.random() < 0.5 else value.encode("utf-8", "surrogatepass")
        for _ in range(rng.choice([0, 0, 1, 1, 1, 2, 3])):
            value = mutate(value, rng)
        text = json.dumps(value, ensure_ascii=rng.random() < 0.5)
        roll = rng.random()
        if roll < 0.05:
            return rng.choice(RAW).encode()
        return spoil(text, rng) if roll < 0.12 else text.encode("utf-8", "surrogatepass")

    def once(self):
        rng, contract = self.rng, self.api.contract
        self.operation = operation = rng.choice([o for o in contract.operations if not o.streams()])
        method = operation.method if rng.random() < 0.95 else rng.choice(["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"])
        token = self.rows.token(operation) if rng.random() < 0.95 else rng.choice([None, "", "hf_x", *self.rows.clinic.tokens.values()])
        target, headers = self.target(operation), self.headers(operation)
        body = self.body(operation) if operation.takes else None
        # Not by the api: what is taken here is judged below.
        told = f"{method} {target} {headers} {body if body is None else body[:3000]!r}"
        try:
            answer = self.api.daemon.request(method, target, body, token, headers)
        except (OSError, http.client.HTTPException) as silence:
            time.sleep(1)  # it may just be dying
            log = "" if self.api.daemon.alive() else "\nthe daemon died: " + " | ".join(
                re.findall(r"^.*(?:error: |ERROR: |#[0-5] 0x).*$", self.api.daemon.log(), re.M))
            raise AssertionError(f"{told}: {silence!r}{log}") from silence
        self.api.exchanges.append(f"{told} -> {answer[0]} {answer[2][:600]!r}")
        del self.api.exchanges[:-5]
        assert answer[0] < 500, f"{told}: {answer[0]} {answer[2][:600]!r}"
        found = contract.check_answer(method, target, answer, b"text/html" in headers.get("Accept", b""))
        if found is not operation:
            return
        self.seen[operation.id][answer[0]] += 1
        if answer[0] < 300 or str(answer[0]) == operation.good:
            self.api.succeeded.add(operation.id)
            if body is not None and not operation.takes_form():
                self.judge(operation, told, body, headers)
        elif answer[0] == 401 and operation.roles and token == self.rows.token(operation):
            # One of the requests has revoked it.
            role = next(role for role, text in self.rows.clinic.tokens.items() if text == token)
            self.rows.clinic.tokens[role] = self.api.program.token(self.rows.clinic.id, role)

    def judge(self, operation, told, body, headers):
        """A body was taken."""
        kind = headers["Content-Type"].decode().split(";")[0]
        value, good = read_strictly(body) if kind.endswith("json") else (body.decode(), True)
        assert good, f"{told}: taken, and is no JSON document"
        faults = self.api.contract.faults(operation.takes[kind]["schema"], value)
        assert not faults, f"{told}: taken, and not described: {faults}"
        self.taken[operation.id] += 1


def test_whatever_comes(api):
    seconds = float(os.environ.get("FUZZ_SECONDS", "60")) / (4 if api.valgrind else 1)
    seed = int(os.environ.get("FUZZ_SEED", time.time_ns() % 1_000_000))
    print(f"  test_fuzz: FUZZ_SEED={seed}, {seconds:.0f} s", flush=True)
    fuzz, end, count, faults = Fuzz(api, seed), time.monotonic() + seconds, 0, {}
    while time.monotonic() < end and len(faults) < 20 and api.daemon.alive():
        try:
            fuzz.once()
        except AssertionError as fault:
            # One of a kind is enough to mend it.
            faults.setdefault((fuzz.operation.id, re.sub(r"[0-9]+|'[^']*'", "", str(fault).split("->")[-1])[-120:]), str(fault))
        count += 1
        if count % 2000 == 0:
            # Others' rows do not stay alone, and what was erased is there again.
            fuzz.rows = Rows(api, fuzz.rows.clinic)
    total = sum(fuzz.seen.values(), collections.Counter())
    print(f"  test_fuzz: {count} requests, " + ", ".join(f"{n} x {status}" for status, n in sorted(total.items())), flush=True)
    assert not faults, "\n".join(fault[:4000] for fault in faults.values())
    if count > 5000:
        for operation in api.contract.operations:
            if operation.streams():
                continue
            seen = fuzz.seen[operation.id]
            assert any(status < 300 or str(status) == operation.good for status in seen), f"{operation} never succeeded: {seen}"
            if not operation.takes or operation.takes_form():
                continue
            assert fuzz.taken[operation.id], operation
            assert any(status in (400, 422) for status in seen), f"{operation} never refused: {seen}"


def test_bodies_too_deep_and_too_large(api):
    rows = Rows(api, fresh_clinic(api))
    for operation in api.contract.operations:
        if not (operation.media_type() or "").endswith("json"):
            continue
        if not operation.takes:
            continue
        deep = '{"a":' * 33 + "1" + "}" * 33
        assert rows.send(operation, body=deep)[0] == 400, operation
        large = json.dumps({"note": "x" * (1 << 20)})
        assert rows.send(operation, body=large)[0] == 413, operation
        assert rows.send(operation, body='{"a":1,"a":2}')[0] == 400, operation
        assert rows.send(operation, body=json.dumps({"nonsense": 1}))[0] == 422, operation


def test_null_stands_in_no_new_row(api):
    rows = Rows(api, fresh_clinic(api))
    for operation in api.contract.operations:
        schema = api.contract.resolve(operation.takes.get("application/json", {}).get("schema", {}))
        if operation.method == "POST" and "properties" in schema:
            for name in schema["properties"]:
                answer = rows.send(operation, body={**rows.body(operation), name: None})
                assert answer[0] == 422, f"{operation} with {name} null: {answer[0]} {answer[2][:300]!r}"
