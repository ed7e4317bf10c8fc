"""Lists: pages by cursor, filters, sort keys, totals."""
import re
from urllib.parse import quote

from chart import Chart, body_of, expect, pointers


def pages(chart, path):
    """All items, following next_cursor; the Link field must lead to the same page."""
    items, seen = [], 0
    while path:
        answer = chart.get(path)
        page = expect(answer, 200)
        items += page["items"]
        link = answer[1]["Link"]
        assert (page["next_cursor"] is None) == (link is None)
        path = None
        if link:
            path = re.fullmatch(r'<([^>]+)>; rel="next"', link).group(1)
            assert page["next_cursor"] in path
        seen += 1
        assert seen < 100
    return items


def test_pages_hold_every_row_once(api):
    chart = Chart(api)
    patient = chart.patient()
    made = [chart.case(patient, title=f"t{i}")["id"] for i in range(7)]
    for limit in (1, 2, 3, 7, 200):
        for sort in ("created_at", "-created_at"):
            found = pages(chart, f"/v1/cases?patient_id={patient['id']}&limit={limit}&sort={sort}")
            assert [c["id"] for c in found] == (made if sort == "created_at" else made[::-1]), (limit, sort)


def test_equal_sort_keys_are_not_lost(api):
    chart = Chart(api)
    case, model = chart.case(), chart.model()
    made = sorted(chart.screw(case, model, f"S{i}", i)["id"] for i in range(5))
    for sort in ("placed_on", "-placed_on"):
        found = pages(chart, f"/v1/screws?case_id={case['id']}&limit=2&sort={sort}")
        assert [s["id"] for s in found] == (made if sort == "placed_on" else made[::-1])


def test_rows_that_come_while_paging_do_not_shift_pages(api):
    chart = Chart(api)
    patient = chart.patient()
    made = [chart.case(patient)["id"] for _ in range(4)]
    first = chart.get(f"/v1/cases?patient_id={patient['id']}&limit=2&sort=-created_at")
    chart.case(patient)
    second = chart.get(re.match(r"<([^>]+)>", first[1]["Link"]).group(1))
    assert [c["id"] for c in body_of(first)["items"] + body_of(second)["items"]] == made[::-1]


def test_filters(api):
    chart = Chart(api)
    name = "Ünlike & 100%"
    patient = chart.patient(family_name=name, birth_date="1980-01-01")
    chart.patient(family_name="Other", birth_date="1980-01-01")
    found = body_of(chart.get(f"/v1/patients?family_name={quote(name)}&birth_date=1980-01-01&total=true"))
    assert [p["id"] for p in found["items"]] == [patient["id"]] and found["total"] == 1 and found["next_cursor"] is None
    assert "total" not in body_of(chart.get("/v1/patients"))
    case, model = chart.case(), chart.model()
    days = ["2026-01-31", "2026-02-01", "2026-02-28", "2026-03-01"]
    for i, day in enumerate(days):
        chart.screw(case, model, f"S{i}", i, placed_on=day)
    found = body_of(chart.get(f"/v1/screws?case_id={case['id']}&placed_on_from=2026-02-01&placed_on_to=2026-02-28&sort=placed_on"))
    assert [s["placed_on"] for s in found["items"]] == days[1:3], "both ends belong to the range"
    assert body_of(chart.get(f"/v1/screws?case_id={case['id']}&state=lost"))["items"] == []
    since = body_of(chart.get(f"/v1/screws?case_id={case['id']}&sort=created_at"))["items"][2]["updated_at"]
    found = body_of(chart.get(f"/v1/screws?case_id={case['id']}&updated_at_from={since}&sort=created_at"))
    assert [s["name"] for s in found["items"]] == ["S2", "S3"]


def test_a_filter_stays_with_its_cursor(api):
    chart = Chart(api)
    patient = chart.patient()
    for _ in range(3):
        chart.case(patient)
    path = f"/v1/cases?patient_id={patient['id']}&limit=1"
    cursor = body_of(chart.get(path))["next_cursor"]
    assert expect(chart.get(f"{path}&cursor={cursor}"), 200)
    for other in [f"/v1/cases?limit=1&cursor={cursor}", f"{path}&state=open&cursor={cursor}",
                  f"{path}&sort=created_at&cursor={cursor}", f"{path}&cursor={cursor[:-2]}", f"{path}&cursor=x",
                  f"/v1/setups?cursor={cursor}"]:
        assert pointers(chart.get(other), 400) == ["?cursor"], other


def test_wrong_parameters_all_at_once(api):
    chart = Chart(api)
    assert pointers(chart.get("/v1/screws?limit=0&sort=lot&case_id=17&state=broken&placed_on_from=yesterday&colour=1&total=2"),
                    400) == ["?case_id", "?colour", "?limit", "?placed_on_from", "?sort", "?state", "?total"]
    assert pointers(chart.get("/v1/screws?limit=201"), 400) == ["?limit"]
    assert pointers(chart.get("/v1/patients?limit=5&limit=5"), 400) == ["?limit"]
    assert pointers(chart.get("/v1/patients?note=x"), 400) == ["?note"], "only what is marked as a filter is one"
    assert pointers(chart.get(f"/v1/patients/{chart.patient()['id']}?fields=id"), 400) == ["?fields"]


def test_default_limit_is_fifty(api):
    chart = Chart(api, api.clinic_b)
    patient = chart.patient()
    for _ in range(51):
        chart.make("/v1/cases", {"patient_id": patient["id"]})
    page = body_of(chart.get(f"/v1/cases?patient_id={patient['id']}"))
    assert len(page["items"]) == 50 and page["next_cursor"]
