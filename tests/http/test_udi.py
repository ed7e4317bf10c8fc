"""Scans of packages by HTTP; which scans mean what is tests/unit/server/test_gs1.c. The strings are those of GS1's syntax
dictionary and of published examples named there."""
from chart import Chart, expect, pointers
from rows import fresh_clinic

GTIN, SCAN = "09506000134352", "]d2010950600013435217280131" + "10LOT42A\x1d21SN0007"


def parse(chart, udi, query=""):
    return chart.post(f"/v1/udi/parse{query}", {"udi": udi})


def test_a_scan_finds_the_model(api):
    chart = Chart(api, fresh_clinic(api))
    told = expect(parse(chart, SCAN, "?on=2028-01-31"), 200)
    assert told == {"udi": SCAN, "gtin": GTIN, "lot": "LOT42A", "serial": "SN0007", "expires_on": "2028-01-31", "expired": False,
                    "pieces": [{"ai": "01", "value": GTIN}, {"ai": "17", "value": "280131"}, {"ai": "10", "value": "LOT42A"},
                               {"ai": "21", "value": "SN0007"}], "screw_models": []}
    old = chart.model(gtin=GTIN, name="old", effective_to="2027-01-01")
    new = chart.model(gtin=GTIN, name="new", effective_from="2027-01-01")
    chart.model(name="another", gtin="67548320187766")
    for on, model, expired in (("2026-12-31", old, False), ("2027-01-01", new, False), ("2028-02-01", new, True)):
        told = expect(parse(chart, SCAN, f"?on={on}"), 200)
        assert told["screw_models"] == [{"id": model["id"], "name": model["name"]}] and told["expired"] is expired, on
    assert expect(chart.get(f"/v1/screw-models?gtin={GTIN}"), 200)["items"] == [new, old]
    elsewhere = Chart(api, fresh_clinic(api))
    assert expect(parse(elsewhere, SCAN), 200)["screw_models"] == []


def test_the_year_is_that_of_the_day(api):
    """barcodefaq.com/udi/gs1, expired since 2015; in 2060 the same digits are a year to come."""
    chart = Chart(api)
    udi = "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"
    told = expect(parse(chart, udi), 200)
    assert (told["made_on"], told["expires_on"], told["expired"]) == ("2014-12-31", "2015-07-07", True)
    assert expect(parse(chart, udi, "?on=2090-01-01"), 200)["expires_on"] == "2115-07-07"


def test_what_is_no_scan_is_refused(api):
    chart = Chart(api)
    for udi in ("010950600013435317280131", "01095060001343521728133110A", "01095060001343529912", "hello", "日本", "<b>"):
        assert pointers(parse(chart, udi)) == ["/udi"], udi
    assert pointers(chart.post("/v1/udi/parse", {"scan": 7})) == ["/scan", "/udi"]
    assert pointers(parse(chart, SCAN, "?on=soon"), 400) == ["?on"]
    assert pointers(chart.post("/v1/screw-models", {"name": "x", "diameter_mm": 2, "length_mm": 9, "gtin": GTIN[1:]})) == ["/gtin"]
    assert pointers(chart.post("/v1/screw-models", {"name": "x", "diameter_mm": 2, "length_mm": 9,
                                                    "gtin": "09506000134353"})) == ["/gtin"]
