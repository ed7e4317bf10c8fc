"""Two clinics, every operation of the description: what belongs to the other clinic answers like what is not there, byte for
byte but for the request's own id and the date. Beside each check the owner asks the same and is answered otherwise."""
import copy
import json
import re
import uuid
from urllib.parse import quote, urlencode

from rows import REFERENCES, UUID, Rows, fresh_clinic

# Of the request, not of what is asked.
OWN_HEADERS = {"date", "x-request-id", "traceparent", "ratelimit", "ratelimit-policy", "retry-after"}


def unknown_id():
    """A well-formed identifier (version 7) that no row has."""
    text = uuid.uuid4().hex
    return f"{text[:8]}-{text[8:12]}-7{text[13:16]}-8{text[17:20]}-{text[20:]}"


def face(answer, *echoes):
    """All of an answer but its request's own id, its date, and what the question itself contained."""
    status, headers, text = answer
    kept = sorted((name.lower(), value) for name, value in headers.items() if name.lower() not in OWN_HEADERS)
    shown = re.sub(r'"(request|trace)_id":"[^"]*"', r'"\1_id":""', json.dumps(kept) + text.decode())
    for echo in echoes:
        shown = shown.replace(echo, "(asked)")
    return status, shown


class Two:
    """Rows of two clinics. `mine` asks for what is `theirs`."""

    def __init__(self, api):
        self.api = api
        self.theirs, self.mine = Rows(api, fresh_clinic(api)), Rows(api, fresh_clinic(api))
        self.operations = api.contract.operations
        self.secrets = [self.theirs.mark, self.theirs.clinic.id]
        self.secrets += [row["id"] for row in self.theirs.rows.values()]

    def of_rows(self):
        """Operations on one row of the clinic."""
        return [o for o in self.operations if "id" in o.words and o.roles is not None]

    def silent(self, what, answer, *asked):
        """Nothing of theirs may stand in an answer but what the question contained."""
        text = answer[2].decode(errors="replace") + str(answer[1])
        told = [secret for secret in self.secrets if secret in text and not any(secret in a for a in asked)]
        assert not told, f"{what} tells {told}: {text[:600]}"

    def same(self, what, foreign, unknown, theirs, nowhere):
        self.silent(what, foreign, theirs)
        assert face(foreign, theirs) == face(unknown, nowhere), \
            f"{what}: theirs {foreign[0]} {foreign[2][:400]!r}, unknown {unknown[0]} {unknown[2][:400]!r}"


def test_foreign_rows(api):
    two, count = Two(api), 0
    for operation in two.of_rows():
        theirs, nowhere = two.theirs.row(operation.collection)["id"], unknown_id()
        two.secrets.append(theirs)
        etag = f'"{two.theirs.row(operation.collection).get("version", 1)}"'
        for method in dict.fromkeys([operation.method, "HEAD" if operation.method == "GET" else "OPTIONS", "GET", "DELETE"]):
            for fields in ({}, {"If-Match": etag}, {"If-Match": '"77"'}, {"If-None-Match": etag}, {"If-None-Match": "*"}):
                answers = [two.mine.send(operation, path=operation.path.replace("{id}", i), headers=fields, method=method)
                           for i in (theirs, nowhere)]
                two.same(f"{method} {operation.path} {fields}", *answers, theirs, nowhere)
                if method == operation.method and set(fields) != {"If-None-Match"}:
                    assert answers[0][0] == 404, f"{operation}: {answers[0][0]} {answers[0][2][:400]!r}"
                    count += 1
        own = two.theirs.send(operation)
        assert own[0] == int(operation.good), f"{operation}: its own clinic is answered {own[0]} {own[2][:400]!r}"
    assert count >= 30


def test_foreign_rows_behind_other_kinds(api):
    """Their visit asked for as a patient, and so on: an identifier of another kind is no row either."""
    two = Two(api)
    for operation in two.of_rows():
        for collection, row in two.theirs.rows.items():
            nowhere = unknown_id()
            answers = [two.mine.send(operation, path=operation.path.replace("{id}", i)) for i in (row["id"], nowhere)]
            two.same(f"{operation} with one of {collection}", *answers, row["id"], nowhere)
            assert answers[0][0] == 404


def test_foreign_words(api):
    """Whatever else stands in a path: a lot, a key."""
    two = Two(api)
    for operation in two.operations:
        if operation.roles is None or not set(operation.words) - {"id"} or "id" in operation.words:
            continue
        theirs = two.theirs.path(operation)
        nowhere = theirs.replace(two.theirs.mark, "mark9999")
        answers = [two.mine.send(operation, path=path) for path in (theirs, nowhere)]
        two.same(repr(operation), *answers, two.theirs.mark, "mark9999")
        if nowhere != theirs:
            assert two.theirs.send(operation)[2] != answers[0][2], operation


def values_of(row, name):
    """What a filter of this name could be asked by to find the row."""
    value = row.get(name, row.get(re.sub(r"_(from|to)$", "", name)))
    return value if isinstance(value, str) else None


def test_foreign_values_in_filters(api):
    two, found = Two(api), 0
    for operation in two.operations:
        if operation.method != "GET" or operation.roles is None or operation.words or operation.streams():
            continue
        theirs = two.theirs.rows.get(operation.collection, {})
        for name, parameter in operation.named("query").items():
            schema = two.api.contract.resolve(parameter["schema"])
            if "enum" in schema or schema.get("format") in ("date", "date-time") or schema.get("type") != "string":
                continue
            is_id = schema.get("format") == "uuid"
            value = values_of(theirs, name)
            if value is None and name in REFERENCES:
                value = two.theirs.row(REFERENCES[name])["id"]
            if value is None or (value not in two.secrets and two.theirs.mark not in value and not is_id):
                continue
            nowhere = unknown_id() if is_id else value.replace(two.theirs.mark, "mark9999")
            paths = [f"{operation.path}?{urlencode({name: v})}" for v in (value, nowhere)]
            answers = [two.mine.send(operation, path=path) for path in paths]
            two.same(f"{operation}?{name}", *answers, value, nowhere)
            own = two.theirs.send(operation, path=paths[0])
            found += own[0] == 200 and own[2] != answers[0][2]
    assert found >= 8, "the owner finds rows by its filters"


def test_lists_tell_nothing(api):
    """Every read without a word in its path, by every role, with every total: lists, worklist, outcomes, events, audit,
    exports. Theirs is there to be told."""
    two, told = Two(api), 0
    for operation in two.operations:
        if operation.method != "GET" or operation.roles is None or operation.words or operation.streams():
            continue
        paths = [operation.path] + [f"{operation.path}?{name}={value}" for name, value in
                                    (("limit", "200"), ("total", "true")) if name in operation.named("query")]
        for role in operation.roles:
            for path in paths:
                two.silent(f"{operation} as {role}", two.mine.send(operation, two.mine.clinic.tokens[role], path))
        own = two.theirs.send(operation)[2].decode()
        told += any(secret in own for secret in two.secrets)
    assert told >= 8, "the owner reads its own rows there"


def test_totals_count_own_rows(api):
    two = Two(api)
    empty = fresh_clinic(api)
    for operation in two.operations:
        if "total" in operation.named("query"):
            token = empty.tokens[sorted(operation.roles)[0]]
            before = json.loads(api.request("GET", f"{operation.path}?total=true", None, token)[2])["total"]
            extra = two.api.contract.operation("POST", operation.path)
            if extra is not None:
                assert two.theirs.send(extra)[0] == int(extra.good), extra
            after = json.loads(api.request("GET", f"{operation.path}?total=true", None, token)[2])["total"]
            # Its own audit may note its own reading.
            assert operation.collection == "audit" or before == after, operation


def test_foreign_cursors(api):
    """A cursor is a place in an order, no right: with theirs one reads on in one's own rows."""
    two, tried = Two(api), 0
    for operation in two.operations:
        if "cursor" not in operation.named("query") or operation.roles is None or operation.words:
            continue
        create = api.contract.operation("POST", operation.path)
        if create is not None:
            for rows in (two.theirs, two.mine):
                for _ in range(2):
                    assert rows.send(create)[0] == int(create.good)
        page = json.loads(two.theirs.send(operation, path=f"{operation.path}?limit=1")[2])
        if not page.get("next_cursor"):
            continue
        two.secrets += [item["id"] for item in page["items"] if "id" in item]
        mine = json.loads(two.mine.send(operation, path=f"{operation.path}?limit=200")[2])["items"]
        answer = two.mine.send(operation, path=f"{operation.path}?limit=200&cursor={quote(page['next_cursor'])}")
        two.silent(repr(operation), answer)
        if answer[0] == 200 and create is not None:
            mine_ids = {item["id"] for item in mine}
            assert {item["id"] for item in json.loads(answer[2])["items"]} <= mine_ids, operation
        else:
            assert answer[0] in (200, 400), answer
        tried += 1
    assert tried >= 8


def takes_json(operation):
    """Tables have their own tests."""
    return (operation.media_type() or "").endswith("json")


def references(node, path=()):
    """Where in a body something refers to a row, and of what: [(path, collection)]."""
    if isinstance(node, (dict, list)):
        for name, value in node.items() if isinstance(node, dict) else enumerate(node):
            yield from references(value, (*path, name))
    elif isinstance(node, str) and UUID.search(node):
        yield path, node.split("/")[2] if node.startswith("/v1/") else REFERENCES[path[-1]]
    elif path and path[-1] == "site":
        yield path, "sites"


def with_id(body, path, value):
    """The body with another row at this place."""
    body = copy.deepcopy(body)
    node = body
    for step in path[:-1]:
        node = node[step]
    old = node[path[-1]]
    node[path[-1]] = UUID.sub(value, old) if UUID.search(old) else value
    return body


def test_foreign_references_in_bodies(api):
    two, tried = Two(api), 0
    for operation in two.operations:
        if operation.method != "POST" or not takes_json(operation) or operation.roles is None:
            continue
        body = two.mine.body(operation)
        for path, collection in references(body):
            theirs, nowhere = two.theirs.row(collection)["id"], unknown_id()
            if collection == "sites":
                theirs, nowhere = two.theirs.row("sites")["key"], "mark9999-site"
            answers = [two.mine.send(operation, body=with_id(body, path, value)) for value in (theirs, nowhere)]
            two.same(f"{operation} {path}", *answers, theirs, nowhere)
            assert answers[0][0] in (404, 422), f"{operation} {path}: {answers[0]}"
            tried += 1
    assert tried >= 9


def test_unique_values_of_another_clinic_are_free(api):
    two = Two(api)
    for operation in two.operations:
        if operation.method != "POST" or operation.roles is None or operation.words or not takes_json(operation):
            continue
        body, own = two.theirs.body(operation), two.mine.body(operation)
        shared = {**own, **{name: body[name] for name in ("chart_number", "name", "key") if name in body}}
        assert two.theirs.send(operation, body=body)[0] == int(operation.good)
        answer = two.mine.send(operation, body=shared)
        assert answer[0] == int(operation.good), f"{operation}: {answer[0]} {answer[2][:400]!r}"


def test_foreign_idempotency_keys(api):
    two, tried = Two(api), 0
    for operation in two.operations:
        if "Idempotency-Key" not in operation.named("header"):
            continue
        key = {"Idempotency-Key": f"{two.theirs.mark}-{operation.id}"}
        body, path = two.theirs.body(operation), two.theirs.path(operation)
        first, again = (two.theirs.send(operation, path=path, body=body, headers=key) for _ in range(2))
        assert first[0] == int(operation.good) and again[1]["Idempotency-Replayed"] == "true", operation
        for theirs in (two.mine.body(operation), body):
            answer = two.mine.send(operation, body=theirs, headers=key)
            assert answer[1]["Idempotency-Replayed"] is None, operation
            two.silent(repr(operation), answer, two.theirs.mark, *(row["id"] for row in two.theirs.rows.values()))
            if theirs is not body:
                assert answer[0] == int(operation.good), f"{operation}: {answer[0]} {answer[2][:400]!r}"
        tried += 1
    assert tried >= 8


def test_nothing_of_theirs_was_changed(api):
    """All that one clinic may try on the other's rows leaves them as they were."""
    two = Two(api)
    reads = [o for o in two.of_rows() if o.method == "GET" and o.path.endswith("{id}")]
    before = {o.path: two.theirs.send(o)[2] for o in reads}
    for operation in two.of_rows():
        if operation.method != "GET":
            theirs = two.theirs.row(operation.collection)["id"]
            body = {"note": "changed", "name": "changed", "title": "changed"} if operation.takes else None
            for fields in ({"If-Match": "*"}, {"If-Match": '"1"'}):
                answer = two.mine.send(operation, path=operation.path.replace("{id}", theirs), headers=fields, body=body)
                assert answer[0] == 404, f"{operation}: {answer[0]}"
    for operation in reads:
        assert two.theirs.send(operation)[2] == before[operation.path], operation
