"""Tokens: made, listed and revoked by the clinic's administrator; expiry; what is kept of them."""
import hashlib
import json
import time

from chart import Chart, body_of, expect, pointers
from installation import TOKEN
from raw import Session

NOWHERE = "01890a5d-ac96-774b-bcce-b302099a8057"


def admin(api, method, path, body=None, clinic=None):
    return api.request(method, path, body, (clinic or api.clinic_a).tokens["admin"])


def test_a_token_is_told_once(api):
    status, headers, text = admin(api, "POST", "/v1/tokens", {"role": "dashboard", "label": "front desk", "expires_on": "2099-01-01"})
    made = json.loads(text)
    assert status == 201 and TOKEN.fullmatch(made["token"]) and headers["Cache-Control"] == "no-store", text
    assert made["role"] == "dashboard" and made["label"] == "front desk" and made["expires_at"] == "2099-01-01T00:00:00.000000Z"
    assert api.request("GET", "/v1/patients", token=made["token"])[0] == 200
    assert api.request("POST", "/v1/patients", {"chart_number": "x"}, made["token"])[0] == 403
    listed = expect(admin(api, "GET", "/v1/tokens?limit=200"), 200)["items"]
    row = next(item for item in listed if item["id"] == made["id"])
    assert row["last_used_at"] >= row["created_at"] and "revoked_at" not in row
    assert made["token"] not in json.dumps(listed) and "digest" not in row
    # Nothing in the database holds the text, whatever was sent along.
    again = api.request("POST", "/v1/tokens", {"role": "dashboard", "label": "kept?"}, api.clinic_a.tokens["admin"],
                        {"Idempotency-Key": "no-token-is-kept"})
    text = expect(again, 201)["token"]
    assert api.sql(f"select count(*) from holdfast.replies where body like '%{text}%'") == "0"


def test_revocation_holds_from_the_next_request(api):
    made = expect(admin(api, "POST", "/v1/tokens", {"role": "clinician", "label": "lost phone"}), 201)
    assert api.request("GET", "/v1/patients", token=made["token"])[0] == 200
    revoked = expect(admin(api, "POST", f"/v1/tokens/{made['id']}/revoke"), 200)
    assert revoked["id"] == made["id"] and revoked["revoked_at"]
    assert api.request("GET", "/v1/patients", token=made["token"])[0] == 401
    again = expect(admin(api, "POST", f"/v1/tokens/{made['id']}/revoke"), 200)
    assert again["revoked_at"] == revoked["revoked_at"], "the first time stands"


def test_an_expired_token_is_refused(api):
    made = expect(admin(api, "POST", "/v1/tokens", {"role": "clinician", "label": "of yesterday", "expires_on": "2020-01-01"}), 201)
    assert api.request("GET", "/v1/patients", token=made["token"])[0] == 401


def test_of_this_clinic_only(api):
    made = expect(admin(api, "POST", "/v1/tokens", {"role": "admin", "label": "ours"}), 201)
    for token_id in (made["id"], NOWHERE):
        assert admin(api, "POST", f"/v1/tokens/{token_id}/revoke", clinic=api.clinic_b)[0] == 404
    theirs = expect(admin(api, "GET", "/v1/tokens?limit=200", clinic=api.clinic_b), 200)["items"]
    assert made["id"] not in [item["id"] for item in theirs]
    assert api.request("GET", "/v1/patients", token=made["token"])[0] == 200, "still in force"


def test_every_fault_at_once(api):
    answer = admin(api, "POST", "/v1/tokens", {"role": "emperor", "expires_on": "2026-02-30", "clinic_id": NOWHERE})
    assert pointers(answer) == ["/clinic_id", "/expires_on", "/label", "/role"]


def test_making_and_revoking_is_in_the_audit(api):
    made = expect(admin(api, "POST", "/v1/tokens", {"role": "dashboard", "label": "audited"}), 201)
    admin(api, "POST", f"/v1/tokens/{made['id']}/revoke")
    deadline = time.monotonic() + 20
    while True:
        rows = expect(api.request("GET", "/v1/audit?limit=200", token=api.clinic_a.tokens["auditor"]), 200)["items"]
        actions = [row["action"] for row in reversed(rows) if row["record_ids"] == [made["id"]]]
        if actions == ["create", "revoke"]:
            break
        assert time.monotonic() < deadline, actions
        time.sleep(0.1)


def test_expiry_from_the_command_line(api):
    create = ["token", "create", "--clinic", api.clinic_a.id, "--role", "dashboard"]
    for expires, works in (("30", True), ("2099-12-31", True), ("2020-01-01", False)):
        token = TOKEN.search(api.program.run(*create, "--expires", expires)).group()
        assert (api.request("GET", "/v1/patients", token=token)[0] == 200) == works, expires
    for wrong in ("0", "soon", "2026-02-30", "-3", "99999999"):
        done = api.call(*create, "--expires", wrong)
        assert done.returncode > 0 and done.stderr and not TOKEN.search(done.stdout.decode()), wrong
    days = api.sql("select round(extract(epoch from expires_at - created_at) / 86400) from holdfast.tokens"
                   f" where clinic_id = '{api.clinic_a.id}' and expires_at between now() and now() + interval '40 days'")
    assert days == "30"


def test_the_first_use_of_a_token_holds_up_no_other(api):
    """The note of the last use is part of a request's transaction, however long that takes; a kept reply refers to the
    token meanwhile."""
    token = api.program.token(api.clinic_a.id, "clinician", "never used")
    digest = hashlib.sha256(token.encode()).hexdigest()
    slow = Session()
    slow.do(f"begin; select holdfast.authenticate(decode('{digest}', 'hex'), '{{clinician}}');")
    try:
        begin = time.monotonic()
        for i in range(3):
            answer = api.request("POST", "/v1/patients", {"chart_number": f"first use {i}"}, token, {"Idempotency-Key": f"first-use-{i}"})
            assert answer[0] == 201, answer
        assert time.monotonic() - begin < 1.5, "waited for the other request"
    finally:
        slow.do("rollback;")
        slow.end()
