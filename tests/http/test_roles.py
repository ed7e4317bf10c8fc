"""Who may do what, over every operation of the description and every role; and every kind of token that is none."""
import base64
import hashlib
import http.client

from chart import expect
from installation import ROLES
from rows import Rows, fresh_clinic
from test_tenants import face

# Rows of every table but those in which a refusal may leave its trace.
ROWS = """select string_agg(tablename || query_to_xml(format('select count(*) from holdfast.%I', tablename), false, true, '')::text,
    ' ' order by tablename) from pg_tables where schemaname = 'holdfast' and tablename !~ '^(audit|event|deliver)'"""
# Takes a body and writes nothing.
COMPUTES = {"/v1/mechanics/evaluate", "/v1/udi/parse"}


def restricted(api):
    return [operation for operation in api.contract.operations if operation.roles is not None]


def test_roles_are_those_of_the_contract(api):
    """The contract: dashboard is read only, the auditor reads the trail and writes nothing, and who may write may read."""
    for operation in restricted(api):
        assert operation.roles and operation.roles <= set(ROLES), operation
        if operation.method != "GET" and operation.path not in COMPUTES:
            assert not operation.roles & {"dashboard", "auditor"}, operation
            read = api.contract.operation("GET", operation.path)
            assert read is None or read.roles is None or operation.roles <= read.roles, operation
        if operation.collection in ("patients", "cases", "screws", "setups", "visits", "worklist", "outcomes", "lots"):
            assert "auditor" not in operation.roles, operation
        if operation.collection == "audit":
            assert operation.roles == {"auditor", "admin"}, operation
        if operation.collection == "tokens":
            assert operation.roles == {"admin"}, operation


def test_every_role_at_every_operation(api):
    """What stands in the description is what happens: those named succeed, all others get 403 and leave nothing."""
    rows = Rows(api, fresh_clinic(api))
    allowed = refused = 0
    for operation in restricted(api):
        if operation.streams():
            continue
        # In front of each refusal the row is there and the body good: only the role is wrong.
        path, body = rows.path(operation), rows.body(operation) if operation.takes else None
        before = api.sql(ROWS)
        for role in ROLES:
            if role not in operation.roles:
                answer = rows.send(operation, rows.clinic.tokens[role], path, body=body)
                problem = expect(answer, 403)
                assert problem["type"] == "/problems/forbidden", f"{operation} as {role}"
                assert all(name in problem["detail"] for name in operation.roles), problem
                refused += 1
        assert api.sql(ROWS) == before, f"{operation}: a refused role left a row"
        for role in ROLES:
            if role in operation.roles:
                answer = rows.send(operation, rows.clinic.tokens[role])
                assert answer[0] == int(operation.good), f"{operation} as {role}: {answer[0]} {answer[2][:400]!r}"
                allowed += 1
    assert allowed >= 100 and refused >= 50


def test_a_wrong_role_learns_nothing_else(api):
    """Whatever else is wrong with the request, and whether the row is there: the answer is the same."""
    rows = Rows(api, fresh_clinic(api))
    for operation in restricted(api):
        outside = [role for role in ROLES if role not in operation.roles]
        if not outside:
            continue
        token, path = rows.clinic.tokens[outside[0]], rows.path(operation)
        plain = face(rows.send(operation, token))
        assert plain[0] == 403
        tries = [{"path": f"{path}?nonsense=1"}, {"headers": {"If-Match": '"99"'}}, {"headers": {"If-None-Match": "*"}}]
        if "id" in operation.words:
            tries.append({"path": operation.path.replace("{id}", "01890a5d-ac96-774b-bcce-b302099a8057")})
        if operation.takes:
            tries += [{"body": "{"}, {"body": {"nonsense": 1}}, {"body": "[]"}]
        for told in tries:
            assert face(rows.send(operation, token, **told)) == plain, (operation, told)


def test_public_operations_need_no_token(api):
    rows = Rows(api, fresh_clinic(api))
    public = [operation for operation in api.contract.operations if operation.roles is None]
    assert public
    for operation in public:
        good = rows.send(operation)
        assert good[0] == int(operation.good), operation
        # Nor do they mind one that is no good.
        assert rows.send(operation, token="hf_" + "A" * 43)[0] == good[0], operation


def forged(token):
    """Texts that resemble a token."""
    digest = hashlib.sha256(token.encode()).digest()
    last = "A" if token[-1] != "A" else "B"
    return [token[:-1] + last, token[:-1], token + "A", "hf_" + "A" * (len(token) - 3), token.lower(), token.upper(),
            digest.hex(), "hf_" + base64.urlsafe_b64encode(digest).decode().rstrip("="), f"{token},{token}", f"{token} x",
            token[3:], "' or true --", "hf_%00", "null", "*"]


def bearer(operation, rows, field):
    headers = rows.headers(operation)
    if operation.takes:
        headers["Content-Type"] = operation.media_type()
    if field is not None:
        headers["Authorization"] = field
    return rows.api.request(operation.method, rows.path(operation), "{}" if operation.takes else None, None, headers)


def test_no_token_and_malformed_ones(api):
    rows = Rows(api, fresh_clinic(api))
    good = rows.clinic.tokens["admin"]
    basic = base64.b64encode(b"admin:" + good.encode()).decode()
    for operation in restricted(api):
        none = face(bearer(operation, rows, None))
        assert none[0] == 401 and "www-authenticate" in none[1] and "Bearer" in none[1], operation
        for field in ["", "Bearer", "Bearer ", good, f"Basic {basic}", f"Token {good}", f"Bearer{good}", "Bearer \t", "x" * 4000]:
            assert face(bearer(operation, rows, field)) == none, (operation, field)
    for operation in restricted(api)[:3]:
        answer = api.request(operation.method, f"{rows.path(operation)}?access_token={good}", headers=rows.headers(operation))
        assert answer[0] == 401, operation


def test_forged_tokens(api):
    """All that is no token of anybody's is answered alike, well formed or not."""
    rows = Rows(api, fresh_clinic(api))
    for operation in restricted(api):
        for text in forged(rows.clinic.tokens[sorted(operation.roles)[0]]):
            answer = bearer(operation, rows, f"Bearer {text}")
            assert answer[0] == 401 and answer[1]["WWW-Authenticate"].startswith("Bearer"), (operation, text, answer)


def test_expired_and_revoked_tokens(api):
    """They answer like one that never was."""
    rows = Rows(api, fresh_clinic(api))
    clinic, program = rows.clinic.id, api.program
    for change in ("expires_at = now() - interval '1 second'", "revoked_at = now()", "revoked_at = now() - interval '1 day'"):
        tokens = {role: program.token(clinic, role, f"ends {change}") for role in ROLES}
        for operation in restricted(api)[:2]:
            assert rows.send(operation, tokens[sorted(operation.roles)[0]])[0] == int(operation.good), operation
        changed = change.replace("'", "''")
        api.sql(f"update holdfast.tokens set {change} where label = 'ends {changed}'")
        for operation in restricted(api):
            token = tokens[sorted(operation.roles)[0]]
            unknown = face(bearer(operation, rows, "Bearer hf_" + "A" * (len(token) - 3)))
            assert unknown[0] == 401
            assert face(bearer(operation, rows, f"Bearer {token}")) == unknown, (operation, change)
            outside = [role for role in ROLES if role not in operation.roles]
            for role in outside[:1]:
                assert face(bearer(operation, rows, f"Bearer {tokens[role]}")) == unknown, (operation, role)


def test_two_tokens_are_none(api):
    """Repeated Authorization fields: neither is chosen."""
    rows = Rows(api, fresh_clinic(api))
    connection = http.client.HTTPConnection("127.0.0.1", api.port, timeout=60)
    connection.putrequest("GET", "/v1/patients")
    connection.putheader("Authorization", "Bearer " + rows.clinic.tokens["clinician"])
    connection.putheader("Authorization", "Bearer " + rows.clinic.tokens["admin"])
    connection.endheaders()
    answer = connection.getresponse()
    assert answer.status in (400, 401), answer.status
    connection.close()
