"""Patients and screws brought in as a table: a word on each line, all of them or none."""
import itertools

from chart import Chart, expect, pointers

NUMBERS = itertools.count(1)
UNKNOWN = "01890a5d-ac96-774b-bcce-b302099a8057"


def unique(word):
    return f"{word}-{next(NUMBERS)}"


def send(api, path, text, role="clinician", headers=None, token=None):
    return api.request("POST", path, text.encode(), token or api.clinic_a.tokens[role], {"Content-Type": "text/csv", **(headers or {})})


def count(api, like):
    return int(api.sql(f"select count(*) from holdfast.patients where clinic_id = '{api.clinic_a.id}' and chart_number like '{like}%'"))


def test_lines_become_patients(api):
    mark = unique("table")
    text = ("chart_number;family_name;birth_date;sex;cigarettes_per_day;identifiers\r\n"
            f"{mark}-1;\"O'Neill; \"\"Anna\"\"\";1990-05-17;female;2.5;\"[{{\"\"system\"\": \"\"urn:x\"\", \"\"value\"\": \"\"7\"\"}}]\"\r\n"
            "\r\n"
            f"{mark}-2;'=sum(a);;;;\r\n")
    report = expect(send(api, "/v1/patients/import", text), 200)
    assert [report[n] for n in ("dry_run", "rows", "created", "updated", "skipped", "refused")] == [False, 2, 2, 0, 0, 0]
    assert [(i["line"], i["result"]) for i in report["items"]] == [(2, "created"), (4, "created")]
    chart = Chart(api)
    first = expect(chart.get("/v1/patients/" + report["items"][0]["id"]), 200)
    assert first["family_name"] == "O'Neill; \"Anna\"" and first["cigarettes_per_day"] == 2.5
    assert first["identifiers"] == [{"system": "urn:x", "value": "7"}] and first["sex"] == "female"
    second = expect(chart.get("/v1/patients/" + report["items"][1]["id"]), 200)
    assert second["family_name"] == "=sum(a)" and "birth_date" not in second


def test_every_fault_of_every_line_is_told_and_nothing_written(api):
    mark = unique("faulty")
    text = (f"chart_number,sex,birth_date,cigarettes_per_day\n{mark}-1,female,1990-05-17,1\n{mark}-2,x,1990-02-30,many\n"
            f"{mark}-1,male,,\n{mark}-3,male\n")
    answer = send(api, "/v1/patients/import", text)
    assert pointers(answer) == ["/lines/3/birth_date", "/lines/3/cigarettes_per_day", "/lines/3/sex", "/lines/4/chart_number", "/lines/5"]
    assert count(api, mark) == 0


def test_the_good_ones_all_the_same(api):
    mark = unique("partly")
    text = f"chart_number,sex\n{mark}-1,female\n{mark}-2,x\n{mark}-3,male\n"
    report = expect(send(api, "/v1/patients/import?on_bad=skip", text), 200)
    assert (report["created"], report["refused"]) == (2, 1)
    assert report["items"][1]["result"] == "refused" and report["items"][1]["errors"][0]["column"] == "sex"
    assert count(api, mark) == 2


def test_a_rehearsal_tells_and_writes_nothing(api):
    mark = unique("rehearsal")
    text = f"chart_number,sex\n{mark}-1,female\n{mark}-2,x\n"
    report = expect(send(api, "/v1/patients/import?dry_run=true", text), 200)
    assert report["dry_run"] and (report["created"], report["refused"]) == (1, 1)
    assert count(api, mark) == 0
    waiting = api.sql(f"select count(*) from holdfast.audit_unsealed where action = 'create' and records[1] = '{report['items'][0]['id']}'")
    assert waiting == "0"


def test_what_is_there_already(api):
    mark = unique("there")
    assert send(api, "/v1/patients/import", f"chart_number,sex,note\n{mark},female,old\n")[0] == 200
    text = f"chart_number,sex,note\n{mark},male,\n{mark}-new,male,\n"
    assert pointers(send(api, "/v1/patients/import", text)) == ["/lines/2/chart_number"]
    report = expect(send(api, "/v1/patients/import?on_existing=skip", text), 200)
    assert [i["result"] for i in report["items"]] == ["skipped", "created"]
    report = expect(send(api, "/v1/patients/import?on_existing=update", text), 200)
    assert [i["result"] for i in report["items"]] == ["updated", "updated"]
    patient = expect(Chart(api).get("/v1/patients/" + report["items"][0]["id"]), 200)
    assert patient["sex"] == "male" and patient["note"] == "old", "an empty cell takes nothing away"


def test_screws_by_the_names_that_people_know(api):
    chart = Chart(api)
    number, model = unique("screws"), unique("2.0 x 8")
    patient = chart.make("/v1/patients", {"chart_number": number})
    case = chart.make("/v1/cases", {"patient_id": patient["id"], "title": "intrusion"})
    chart.make("/v1/screw-models", {"name": model, "diameter_mm": 2.0, "core_mm": 1.5, "length_mm": 8})
    head = "chart_number,name,site,screw_model,placed_on,tissue_mm,entry,axis\n"
    line = '{},{},{},{},2026-02-16,1.5,"{{""palate"": {{""right_mm"": 4, ""behind_incisors_mm"": 26}}}}",perpendicular\n'
    report = expect(send(api, "/v1/screws/import", head + line.format(number, "right", "palate-paramedian", model)), 200)
    screw = expect(chart.get("/v1/screws/" + report["items"][0]["id"]), 200)
    assert screw["case_id"] == case["id"] and screw["patient_id"] == patient["id"]
    assert screw["entry"] == {"palate": {"right_mm": 4, "behind_incisors_mm": 26}} and screw["axis"] == "perpendicular"
    faulty = line.format("nobody", "a", "palate-paramedian", model) + line.format(number, "b", "nowhere", "no such model")
    assert pointers(send(api, "/v1/screws/import", head + faulty)) == ["/lines/2/chart_number", "/lines/3/screw_model"]
    chart.make("/v1/cases", {"patient_id": patient["id"], "title": "distalisation"})
    two = send(api, "/v1/screws/import", head + line.format(number, "c", "palate-paramedian", model))
    assert pointers(two) == ["/lines/2/chart_number"], "which of two cases is not guessed"
    titled = head.replace("chart_number", "chart_number,case_title") + \
        line.format(number + ",intrusion", "d", "palate-paramedian", model)
    assert expect(send(api, "/v1/screws/import", titled), 200)["created"] == 1


def test_rows_of_another_clinic_are_as_none(api):
    chart, other = Chart(api), Chart(api, api.clinic_b)
    number, model = unique("foreign"), unique("foreign model")
    patient = other.make("/v1/patients", {"chart_number": number})
    case = other.make("/v1/cases", {"patient_id": patient["id"]})
    theirs = other.make("/v1/screw-models", {"name": model, "diameter_mm": 2.0, "core_mm": 1.5, "length_mm": 8})
    head = "case_id,chart_number,screw_model_id,screw_model,name,site,placed_on\n"
    told = []
    for case_id, chart_number, model_id, name in ((case["id"], "", theirs["id"], ""), (UNKNOWN, "", UNKNOWN, ""),
                                                  ("", number, "", model), ("", "nobody", "", "nothing")):
        answer = send(api, "/v1/screws/import", f"{head}{case_id},{chart_number},{model_id},{name},a,palate-paramedian,2026-02-16\n")
        told.append([(e["pointer"], e["detail"]) for e in expect(answer, 422)["errors"]])
    assert told[0] == told[1] and told[2] == told[3] and len(told[0]) == len(told[2]) == 2, told
    expect(send(api, "/v1/patients/import", f"chart_number\n{number}\n"), 200)
    assert expect(chart.get(f"/v1/patients?chart_number={number}"), 200)["items"][0]["id"] != patient["id"]


def test_only_utf8(api):
    answer = api.request("POST", "/v1/patients/import", "chart_number,family_name\nlatin,M\xfcller\n".encode("latin-1"),
                         api.clinic_a.tokens["clinician"], {"Content-Type": "text/csv"})
    assert expect(answer, 422)["errors"] == [{"detail": "The table is not UTF-8: save it as such."}]


def test_what_is_no_table(api):
    path = "/v1/patients/import"
    assert pointers(send(api, path, "chart_number,shoe_size,chart_number\na,1,b\n")) == ["/header/1", "/header/2"]
    assert pointers(send(api, path, 'chart_number\n"open\n')) == ["/lines/2"]
    assert send(api, path, "")[0] == 400
    assert send(api, path, "chart_number\n")[0] == 422
    assert send(api, path, "chart_number\nx\n", role="dashboard")[0] == 403
    assert api.request("POST", path, {"chart_number": "x"}, api.clinic_a.tokens["clinician"])[0] == 415
    assert send(api, path + "?dry_run=perhaps&on_bad=x", "chart_number\nx\n")[0] == 400


def test_sent_again_it_writes_once(api):
    mark = unique("again")
    key = {"Idempotency-Key": unique("import")}
    first = send(api, "/v1/patients/import", f"chart_number\n{mark}\n", headers=key)
    second = send(api, "/v1/patients/import", f"chart_number\n{mark}\n", headers=key)
    assert first[0] == second[0] == 200 and first[2] == second[2] and second[1]["Idempotency-Replayed"] == "true"
    assert count(api, mark) == 1


def test_ten_thousand_lines(api):
    """Memory of one request is bounded: lines that stand give theirs back."""
    mark = unique("many")
    text = "chart_number,family_name,birth_date\n" + "".join(f"{mark}-{i},Invented {i},1990-05-17\n" for i in range(10000))
    # Past the contract's check, which takes many times as long.
    report = expect(send(api.daemon, "/v1/patients/import", text, token=api.clinic_a.tokens["clinician"]), 200)
    assert report["created"] == 10000 and count(api, mark) == 10000
