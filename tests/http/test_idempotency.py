"""Idempotency-Key: one row however often, and however late, a POST is sent again."""
import itertools
import json
import threading

from chart import Chart, expect
from installation import Daemon

KEYS = (f"key-{n}" for n in itertools.count(1))


def send(api, body, key, path="/v1/patients", token=None, **headers):
    return api.request("POST", path, body, token or api.clinic_a.tokens["clinician"], {"Idempotency-Key": key, **headers})


def rows(api, chart_number):
    return int(api.sql(f"select count(*) from holdfast.patients where clinic_id = '{api.clinic_a.id}' "
                       f"and chart_number = '{chart_number}'"))


def kind(answer, status):
    return expect(answer, status)["type"].removeprefix("/problems/")


def test_a_retry_gets_the_first_reply(api):
    for number, body in (("once", {"chart_number": "once"}), ("twice", {"chart_number": "twice", "note": "Ünal\t\"q\"\n"})):
        key = next(KEYS)
        first, again = send(api, body, key), send(api, body, key)
        expect(first, 201)
        assert first[1]["Idempotency-Replayed"] is None and again[1]["Idempotency-Replayed"] == "true"
        assert (again[0], again[2]) == (first[0], first[2])
        for name in ("Location", "ETag", "Content-Type"):
            assert again[1][name] == first[1][name] and first[1][name], name
        assert rows(api, number) == 1
    # The row has moved on; the reply is still that of the creation.
    Chart(api).patch(first[1]["Location"], {"note": "later"})
    assert send(api, body, key)[2] == first[2]


def test_rows_with_rules_too(api):
    chart, key = Chart(api), next(KEYS)
    body = {"patient_id": chart.patient()["id"], "title": "said twice"}
    first, again = (send(api, body, key, "/v1/cases") for _ in range(2))
    assert expect(first, 201) == expect(again, 201) and again[1]["Idempotency-Replayed"] == "true"
    assert api.sql(f"select count(*) from holdfast.cases where title = 'said twice' and clinic_id = '{api.clinic_a.id}'").strip() == "1"


def test_another_body_is_refused(api):
    key = next(KEYS)
    expect(send(api, {"chart_number": "reuse-1"}, key), 201)
    assert kind(send(api, {"chart_number": "reuse-2"}, key), 422) == "idempotency-key-reused"
    assert rows(api, "reuse-2") == 0


def test_a_key_belongs_to_a_token_and_a_path(api):
    key, chart = next(KEYS), Chart(api)
    expect(send(api, {"chart_number": "scope-1"}, key), 201)
    other = send(api, {"chart_number": "scope-1"}, key, token=api.clinic_b.tokens["clinician"])
    assert expect(other, 201) and other[1]["Idempotency-Replayed"] is None
    same_clinic = send(api, {"chart_number": "scope-1"}, key, token=api.clinic_a.tokens["assistant"])
    assert kind(same_clinic, 409) == "conflict-unique", "another token of the clinic does not see the reply"
    expect(send(api, {"name": "scope", "diameter_mm": 2, "core_mm": 1.5, "length_mm": 8}, key, "/v1/screw-models"), 201)
    assert chart.get("/v1/patients?chart_number=scope-1")[0] == 200


def test_a_refusal_keeps_nothing(api):
    key = next(KEYS)
    expect(send(api, {"chart_number": 7}, key), 422)
    expect(send(api, {"chart_number": "repaired"}, key), 201)
    key = next(KEYS)
    assert kind(send(api, {"chart_number": "repaired"}, key), 409) == "conflict-unique"
    expect(send(api, {"chart_number": "repaired-2"}, key), 201)


def test_the_forms_of_a_key(api):
    body = {"chart_number": "forms"}
    first = send(api, body, '"a\\"b\\\\c"')
    expect(first, 201)
    assert send(api, body, 'a"b\\c')[2] == first[2], "a string and the same key bare (RFC 9651, section 3.3.3)"
    for good in ("x" * 128, '"' + "y" * 128 + '"', "8e03978e-40d5-43dd-bc93-6894a57f9324"):
        expect(send(api, {"chart_number": good[-40:]}, good), 201)
    for bad in ("", '""', "x" * 129, "a b", '"a b"', '"open', '"a";p=1', '"a\\n"', "caf\u00e9"):
        assert kind(send(api, {"chart_number": "never"}, bad), 400) == "bad-request", bad
    assert rows(api, "never") == 0
    assert expect(send(api, {"chart_number": "n2"}, "a b", token="hf_" + "A" * 43), 401)


def test_without_a_key_every_post_is_a_new_one(api):
    chart = Chart(api)
    expect(chart.post("/v1/patients", {"chart_number": "keyless"}), 201)
    assert kind(chart.post("/v1/patients", {"chart_number": "keyless"}), 409) == "conflict-unique"


def test_many_clients_with_one_key_make_one_row(api):
    for round_number in range(6):
        key, number, answers = next(KEYS), f"crowd-{round_number}", []

        def ask():
            answers.append(send(api, {"chart_number": number}, key))

        clients = [threading.Thread(target=ask) for _ in range(16)]
        for client in clients:
            client.start()
        for client in clients:
            client.join()
        made = [a for a in answers if a[0] == 201]
        assert len(answers) == 16 and len({a[2] for a in made}) == 1, [a[0] for a in answers]
        assert sum(a[1]["Idempotency-Replayed"] is None for a in made) == 1
        for answer in answers:
            if answer[0] != 201:
                assert kind(answer, 409) == "idempotency-in-progress" and answer[1]["Retry-After"] == "1"
        assert rows(api, number) == 1


def test_a_key_outlives_the_daemon(api):
    token, key = api.clinic_a.tokens["clinician"], next(KEYS)
    replies = []
    for _ in range(2):
        daemon = Daemon(api.program)
        replies.append(daemon.request("POST", "/v1/patients", {"chart_number": "restart"}, token, {"Idempotency-Key": key}))
        assert daemon.stop() == 0
    assert replies[0][0] == 201 and replies[1][2] == replies[0][2] and replies[1][1]["Idempotency-Replayed"] == "true"


def test_a_lost_answer_is_found_again(api):
    """The daemon is killed when the row is committed, before the client has its answer."""
    token, key, number = api.clinic_a.tokens["clinician"], next(KEYS), "lost-answer"
    api.sql("create function public.slow() returns trigger language plpgsql as $$ begin perform pg_sleep(0.7); return null; end $$; "
            "create constraint trigger slow after insert on holdfast.patients deferrable initially deferred "
            f"for each row when (new.chart_number = '{number}') execute function public.slow()")
    try:
        daemon = Daemon(api.program)
        lost = []

        def ask():
            try:
                lost.append(daemon.request("POST", "/v1/patients", {"chart_number": number}, token, {"Idempotency-Key": key}))
            except OSError:
                lost.append(None)

        client = threading.Thread(target=ask)
        client.start()
        while "COMMIT" not in api.sql("select upper(query) from pg_stat_activity where state = 'active' "
                                      "and wait_event = 'PgSleep'"):
            pass
        daemon.process.kill()
        daemon.process.wait()
        client.join()
        assert lost == [None]
        while rows(api, number) == 0:
            pass
    finally:
        api.sql("drop function public.slow() cascade")
    # The row is seen a moment before the transaction lets its lock go.
    while (found := send(api, {"chart_number": number}, key))[0] == 409:
        assert kind(found, 409) == "idempotency-in-progress"
    assert expect(found, 201)["chart_number"] == number and found[1]["Idempotency-Replayed"] == "true"
    assert rows(api, number) == 1


def test_a_reply_is_forgotten_after_a_day(api):
    key, body = next(KEYS), {"chart_number": "a day ago"}
    first = send(api, body, key)
    api.sql(f"update holdfast.replies set kept_at = now() - interval '23 hours 59 minutes' where key = '{key}' and clinic_id = '{api.clinic_a.id}'")
    assert send(api, body, key)[2] == first[2]
    api.sql(f"update holdfast.replies set kept_at = now() - interval '24 hours 1 minute' where key = '{key}' and clinic_id = '{api.clinic_a.id}'")
    assert kind(send(api, body, key), 409) == "conflict-unique", "taken as a new request"
    expect(send(api, {"chart_number": "sweeps"}, next(KEYS)), 201)
    assert api.sql(f"select count(*) from holdfast.replies where key = '{key}' and clinic_id = '{api.clinic_a.id}'").strip() == "0"


def test_a_change_has_its_version_instead(api):
    chart = Chart(api)
    path, key = "/v1/patients/" + chart.patient()["id"], next(KEYS)
    etag = chart.get(path)[1]["ETag"]
    headers = {"If-Match": etag, "Idempotency-Key": key}
    assert chart.api.request("PATCH", path, {"note": "n"}, chart.token, headers)[0] == 200
    assert chart.api.request("PATCH", path, {"note": "n"}, chart.token, headers)[0] == 412


def test_reads_cost_no_reply(api):
    before = api.sql("select count(*) from holdfast.replies")
    answer = send(api, json.dumps({"frame": "occlusal-lps"}), next(KEYS), "/v1/mechanics/evaluate")
    assert answer[0] in (200, 422) and api.sql("select count(*) from holdfast.replies") == before
