"""Recall: GET /v1/lots/{gtin}/{lot}. Scans as GS1's General Specifications write them (from memory): (01) GTIN of 14 digits,
(17) expiry, (10) lot; as read aloud with brackets, or as the scanner sends it with symbology identifier and FNC1 (0x1d). The
GTINs are invented; their last digits are check digits with the weights 3, 1, 3 …: 0 + 3*0 + … of 0001234567890 gives 5."""
from chart import Chart, expect, pointers
from rows import fresh_clinic
from test_audit import Traced

GTIN, OTHER = "00012345678905", "00098765432107"
# name, what is recorded of it, where it belongs for GTIN and lot L-7
SCREWS = [
    ("read aloud", {"lot": "L-7", "udi": f"(01){GTIN}(17)270101(10)L-7"}, "certain"),
    ("data matrix", {"lot": "L-7", "udi": f"]d201{GTIN}1727010110L-7\x1d21X"}, "certain"),
    ("bare", {"lot": "L-7", "udi": f"01{GTIN}10L-7"}, "certain"),
    ("with FNC1", {"lot": "L-7", "udi": f"\x1d01{GTIN}10L-7"}, "certain"),
    ("no scan", {"lot": "L-7"}, "possible"),
    ("another code", {"lot": "L-7", "udi": "+E123ABC"}, "possible"),
    ("only scanned", {"udi": f"(01){GTIN}(10)L-7"}, "possible"),
    ("another product", {"lot": "L-7", "udi": f"(01){OTHER}(10)L-7"}, None),
    ("another lot", {"lot": "L-8", "udi": f"(01){GTIN}(10)L-8"}, None),
    ("nothing recorded", {}, None),
]


def screws_of(chart):
    case, model = chart.case(), chart.model()
    return case, {name: chart.screw(case, model, name, 1 + 0.1 * i, **recorded) for i, (name, recorded, _) in enumerate(SCREWS)}


def test_every_screw_that_could_be_of_the_lot(api):
    chart = Chart(api, fresh_clinic(api))
    _, made = screws_of(chart)
    told = expect(chart.get(f"/v1/lots/{GTIN}/L-7"), 200)
    for where in ("certain", "possible"):
        assert sorted(s["name"] for s in told[where]) == sorted(name for name, _, place in SCREWS if place == where), where
        assert all(screw == made[screw["name"]] for screw in told[where]), "as each reads by itself"
    assert told["complete"] is True
    # Without a scan the model's GTIN tells.
    for gtin in (GTIN, "67548320187766"):
        chart.screw(chart.case(), chart.model(gtin=gtin), "by model", 4, lot="L-7")
        told = expect(chart.get(f"/v1/lots/{GTIN}/L-7"), 200)
        assert sum(s["name"] == "by model" for s in told["certain"]) == 1, gtin
        assert not any(s["name"] == "by model" for s in told["possible"])
    # A screw that was lost or taken out is still whose body it was in.
    bare = made["bare"]
    expect(chart.patch(f"/v1/screws/{bare['id']}", {"state": "removed", "state_on": "2026-05-01"}), 200)
    assert "removed" in [s["state"] for s in expect(chart.get(f"/v1/lots/{GTIN}/L-7"), 200)["certain"]]


def test_a_gtin_in_its_shorter_forms(api):
    chart = Chart(api, fresh_clinic(api))
    screws_of(chart)
    whole = expect(chart.get(f"/v1/lots/{GTIN}/L-7"), 200)
    for shorter in (GTIN[1:], GTIN[2:]):
        assert expect(chart.get(f"/v1/lots/{shorter}/L-7"), 200) == whole
    # A digit mistyped in a recall must not be told "nobody".
    for wrong in ("00012345678904", "00012345687905", "0001234567890", "1", "0001234567890x", "000123456789050"):
        assert chart.get(f"/v1/lots/{wrong}/L-7")[0] == 400, wrong
    assert expect(chart.get(f"/v1/lots/{GTIN}/l-7"), 200) == {"certain": [], "possible": [], "complete": True}
    assert pointers(chart.get(f"/v1/lots/{GTIN}/L-7?limit=5"), 400) == ["?limit"]


def test_the_audit_knows_whose_screws_were_shown(api):
    clinic = fresh_clinic(api)
    chart, traced = Chart(api, clinic), Traced(api, clinic)
    case, made = screws_of(chart)
    answer, name = traced.ask("GET", f"/v1/lots/{GTIN}/L-7", role="dashboard")
    row, told = traced.row(name), expect(answer, 200)
    assert row["resource"] == "/v1/lots/{gtin}/{lot}" and row["patient_ids"] == [case["patient_id"]], row
    assert sorted(row["record_ids"]) == sorted(s["id"] for s in told["certain"] + told["possible"]) and len(row["record_ids"]) == 7


def test_a_lot_of_thousands_says_that_it_is_cut(api):
    clinic = fresh_clinic(api)
    chart = Chart(api, clinic)
    case, model = chart.case(), chart.model()
    seed = chart.screw(case, model, "seed", 3, lot="big", udi=f"(01){GTIN}(10)big")
    api.sql(f"insert into holdfast.screws select (jsonb_populate_record(s, jsonb_build_object('id', gen_random_uuid(), 'name', "
            f"'copy ' || n))).* from holdfast.screws s, generate_series(1, 1000) n where s.id = '{seed['id']}'")
    told = expect(chart.get(f"/v1/lots/{GTIN}/big"), 200)
    assert len(told["certain"]) == 1000 and told["complete"] is False
