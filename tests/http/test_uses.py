"""What a plate on screws is used for, one document each in api/examples: what do the teeth do, what does each screw feel, what
is the side effect, what changes when the hook moves by 2 mm. Forces and moments are checked by the statics of each
free body, from the points that the answer tells; the signs are those of the trade."""
import copy
import json
import math
import os

from chart import Chart, expect

EXAMPLES = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "api", "examples")


def load(name):
    return json.load(open(os.path.join(EXAMPLES, name + ".json"), encoding="utf-8"))


def variants(name):
    return load(name)["variants"]


def evaluate(api, document):
    return expect(Chart(api).post("/v1/mechanics/evaluate", json.dumps(document)), 200)


def moved(document, node, **by):
    """The document with one node of a plate elsewhere; the members of its told point each go by so many millimetres."""
    other = copy.deepcopy(document)
    plates = other.get("plates") or [other["plate"]]
    point = next(n["at_mm"] for p in plates for n in p["nodes"] if n["name"] == node)
    told = point if "near" in point else next(iter(point.values()))
    for member, step in by.items():
        told[member] = told.get(member, 0) + step
    return other


def add(*vectors):
    return [math.fsum(parts) for parts in zip(*vectors)]


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def near(found, wanted, by=1e-6):
    return all(abs(f - w) <= by for f, w in zip(found, wanted))


def loads(document, answer):
    """(end, point, force, couple) of each end of each element, as it acts on what it is hung on."""
    for told, element in zip(document["elements"], answer["elements"]):
        pull = [element["force_n"] * d for d in element["direction"]] if "direction" in element else [0, 0, 0]
        if told["kind"] == "applied":
            end = "from" if "from" in told else "to"
            yield told[end], element[end + "_mm"], pull, told.get("moment_nmm", [0, 0, 0])
        else:
            # A lever is held at one end only: its force makes a couple in the tube, its length times the force.
            lever = add(element["to_mm"], [-c for c in element["from_mm"]])
            couple = cross(lever, pull) if told["kind"] == "cantilever" else [0, 0, 0]
            yield told["from"], element["from_mm"], pull, couple
            yield told["to"], element["to_mm"], [-p for p in pull], [0, 0, 0]


def sum_about(centre, parts):
    force, moment = [0, 0, 0], [0, 0, 0]
    for point, pull, couple in parts:
        force = add(force, pull)
        moment = add(moment, couple, cross([p - c for p, c in zip(point, centre)], pull))
    return force, moment


def check_free_bodies(document, answer):
    """Each group of teeth gets what is hung on it; all screws together hold what is hung on the plates."""
    acting = list(loads(document, answer))
    for segment, told in zip(answer.get("segments", []), document.get("segments", [])):
        on_it = [(p, f, m) for end, p, f, m in acting
                 if end.get("segment") == told["name"] or end.get("tooth") in told["teeth"]]
        force, moment = sum_about(segment["centre_of_resistance_mm"], on_it)
        assert near(segment["force_n"], force) and near(segment["moment_nmm"], moment, 1e-5), segment["name"]
    used = {a["pointer"]: a["value"] for a in answer["assumed"]}
    heads = []
    for n, (told, screw) in enumerate(zip(document["screws"], answer["screws"])):
        entry, axis = (used.get(f"/screws/{n}/{member}", told[member]) for member in ("entry_mm", "axis"))
        reach = told["tissue_mm"] + told["stand_off_mm"]
        heads.append(([e + reach * a for e, a in zip(entry, axis)], screw["head"]["force_n"], screw["head"]["moment_nmm"]))
    on_plates = [(p, f, m) for end, p, f, m in acting if "fitting" in end]
    (held, held_about), (hung, hung_about) = sum_about([0, 0, 0], heads), sum_about([0, 0, 0], on_plates)
    assert near(held, hung) and near(held_about, hung_about, 1e-4), (held, hung, held_about, hung_about)


def segment(answer, name):
    return next(s for s in answer["segments"] if s["name"] == name)


def screw(answer, name):
    return next(s for s in answer["screws"] if s["name"] == name)


def head_sum(answer, word):
    """Force that the plate of these screws puts on the jaw."""
    return add(*(s["head"]["force_n"] for s in answer["screws"] if word in s["name"]))


def test_every_use_is_in_balance(api):
    for name in ["posterior-intrusion", "protraction", "front-retraction", "bilateral-distalisation", "unilateral-distalisation",
                 "one-tooth-at-a-time", "incisors-one-couple", "class-two-elastics", "orthopaedic-two-plates",
                 "elastics-on-a-working-plate", "hook-moved-2-mm"]:
        document = load(name)
        for one in document.get("variants", [document]):
            answer = evaluate(api, one)
            check_free_bodies(one, answer)
            assert len(answer["screws"]) == len(one["screws"]) >= 2
            assert all("axis_moment_nmm" in s and "cortex" in s for s in answer["screws"]), name


def test_molars_go_in_from_the_palate(api):
    document = load("posterior-intrusion")
    plain = evaluate(api, document)
    outward = evaluate(api, moved(document, "right hook", right_mm=2))
    check_free_bodies(moved(document, "right hook", right_mm=2), outward)
    molars, further = segment(plain, "upper right molars"), segment(outward, "upper right molars")
    assert molars["movement"].startswith("intrusion"), molars["movement"]
    assert "palatal crown tipping" in molars["movement"], "the side effect of a pull from one side"
    assert head_sum(plain, "")[2] < -1, "the plate is pulled out of the palate"
    # Nearer above the teeth the chain pulls less to palatal; the other side does not notice.
    assert abs(further["local"]["buccal_n"]) < abs(molars["local"]["buccal_n"]) - 0.05
    assert segment(outward, "upper left molars")["force_n"] == segment(plain, "upper left molars")["force_n"]


def test_molars_come_forward_without_front_braces(api):
    document = load("protraction")
    plain, lower = evaluate(api, document), evaluate(api, moved(document, "hook", occlusal_mm=-2))
    molars = segment(plain, "lower left molars")["local"]
    assert "with mesial and buccal crown tipping" in segment(plain, "lower left molars")["movement"] and molars["mesial_n"] > 0.8
    assert molars["tip_nmm"] > 0 and molars["rotation_nmm"] < 0, "pulled below its centre and from the cheek, it tips and turns"
    assert head_sum(plain, "")[1] > 0, "the screws are pulled back"
    # 2 mm further down the hook lets the chain press the molar in, by the angle over the distance between the ends.
    steeper = segment(lower, "lower left molars")["local"]["occlusal_n"] - molars["occlusal_n"]
    element = plain["elements"][0]
    expected = -2 * element["force_n"] / math.dist(element["from_mm"], element["to_mm"])
    assert math.isclose(steeper, expected, rel_tol=0.1), (steeper, expected)


def test_front_teeth_go_back_from_both_sides(api):
    worn, higher, lower = (evaluate(api, d) for d in variants("hook-moved-2-mm"))
    assert worn["segments"] == evaluate(api, load("front-retraction"))["segments"]
    front = segment(worn, "upper front")
    assert "palatal movement" in front["movement"] and front["force_n"][1] > 2
    assert "palatal crown tipping" in front["movement"] and "intrusion" in front["movement"], "the side effects"
    assert abs(front["force_n"][0]) < 1e-6 and abs(front["moment_nmm"][1]) < 1e-6, "both sides alike"
    for side in ["right", "left"]:
        low, high = screw(worn, f"{side} low"), screw(worn, f"{side} high")
        assert low["lateral_n"] > 2 * high["lateral_n"], "the screw next to the hook carries most"
    tipping, lift = ([abs(segment(a, "upper front")[member][i]) for a in (lower, worn, higher)]
                     for member, i in [("moment_nmm", 0), ("force_n", 2)])
    assert tipping[0] > tipping[1] > tipping[2] and lift[0] < lift[1] < lift[2], (tipping, lift)


def test_both_sides_go_back_from_the_palate(api):
    document = load("bilateral-distalisation")
    raised = moved(moved(document, "right hook", occlusal_mm=-2), "left hook", occlusal_mm=-2)
    plain, higher = evaluate(api, document), evaluate(api, raised)
    for side in ["right", "left"]:
        before, after = (segment(a, f"upper {side} molars") for a in (plain, higher))
        assert before["movement"].startswith("distal movement") and before["local"]["mesial_n"] < -1.9
        assert "rotation" in before["movement"] and before["local"]["rotation_nmm"] < -5, "pulled from one side, they turn"
        assert "distal" in before["movement"].split("with")[1], "the line runs below the centre"
        assert after["local"]["occlusal_n"] < before["local"]["occlusal_n"], "a higher hook lifts them"
    right, left = screw(plain, "right"), screw(plain, "left")
    assert math.isclose(right["lateral_n"], left["lateral_n"], rel_tol=1e-6)
    assert math.isclose(right["axis_moment_nmm"], -left["axis_moment_nmm"], rel_tol=1e-6)
    assert right["unscrewing"] != left["unscrewing"], "a thread has one hand: one of the pair is turned out"


def test_one_side_goes_back_tooth_by_tooth(api):
    second, first = variants("one-tooth-at-a-time")
    for document, pulled, spared in [(second, "upper right second molar", "upper right first molar"),
                                     (first, "upper right first molar", "upper right second molar")]:
        answer = evaluate(api, document)
        moving = segment(answer, pulled)
        assert moving["movement"].startswith("distal movement") and segment(answer, spared)["movement"] == "no load"
        assert abs(moving["local"]["rotation_nmm"]) < 0.5, "a coil on each side keeps it from turning"
        aside = evaluate(api, moved(document, "palatal hook", buccal_mm=-2))
        assert segment(aside, pulled)["local"]["buccal_n"] < moving["local"]["buccal_n"] - 0.03, "more to palatal"
        # One side's plate turns the pair of screws: the nearer one carries more.
        assert screw(answer, "right")["lateral_n"] > 1.3 * screw(answer, "left")["lateral_n"]


def test_incisors_by_one_couple(api):
    for document, word, side_effect in zip(
            variants("incisors-one-couple"), ["intrusion", "extrusion", "intrusion", "extrusion"],
            ["labial crown tipping", "palatal crown tipping"] * 2):
        answer = evaluate(api, document)
        assert segment(answer, "upper incisors")["movement"] == f"{word} with {side_effect}"
        levers = answer["elements"]
        force, length = levers[0]["force_n"], math.dist(levers[0]["from_mm"], levers[0]["to_mm"])
        assert math.isclose(levers[0]["cantilever"]["couple_nmm"], force * length, rel_tol=0.07), "one couple: in the tube"
        # Two screws take it as opposite forces: little is left about either axis.
        assert all(abs(s["axis_moment_nmm"]) < 0.3 * force * length for s in answer["screws"])
        assert not [f for f in answer["findings"] if f["code"] == "cantilever-reach"]
        # A tube 2 mm further back: the incisors do not notice, the couple grows by 2 mm of the force.
        plates = document.get("plates") or [document["plate"]]
        back = document
        for plate in plates:
            tube = plate["fittings"][0]["node"]
            back = moved(back, tube, **({"mesial_mm": -2} if tube != "tube" else {"behind_incisors_mm": 2}))
        for lever in back["elements"]:
            lever["length_mm"] += 2
        further = evaluate(api, back)
        check_free_bodies(back, further)
        assert near(segment(further, "upper incisors")["force_n"], segment(answer, "upper incisors")["force_n"])
        grown = math.dist(further["elements"][0]["from_mm"], further["elements"][0]["to_mm"]) - length
        more = further["elements"][0]["cantilever"]["couple_nmm"] - levers[0]["cantilever"]["couple_nmm"]
        assert grown > 1 and math.isclose(more, force * grown, rel_tol=0.25), (more, force * grown)


def test_class_two_elastics(api):
    document = load("class-two-elastics")
    plain = evaluate(api, document)
    upper, lower = head_sum(plain, "upper"), head_sum(plain, "lower")
    assert near(upper, [-f for f in lower]), "what pulls at one jaw pulls at the other"
    assert upper[1] > 2 and lower[1] < -2, "upper back, lower forward"
    assert upper[2] < -0.5 and lower[2] > 0.5, "the side effect: both jaws towards each other"
    forward = evaluate(api, moved(moved(document, "right upper hook", mesial_mm=2), "left upper hook", mesial_mm=2))
    assert head_sum(forward, "upper")[2] > upper[2] + 0.02, "2 mm further forward the line is flatter"


def test_class_three_elastics_and_a_face_mask(api):
    document = load("orthopaedic-two-plates")
    plain = evaluate(api, document)
    upper, lower = head_sum(plain, "upper"), head_sum(plain, "lower")
    elastic, mask = plain["elements"]
    assert upper[1] < -3 and lower[1] > 0.5, "upper forward by both, lower back by the elastic"
    assert math.isclose(lower[1], -elastic["force_n"] * elastic["direction"][1], rel_tol=1e-6)
    assert upper[2] < 0, "the side effect: down at the back of the upper jaw"
    higher = evaluate(api, moved(document, "upper hook", occlusal_mm=2))
    assert higher["elements"][1]["direction"][2] > mask["direction"][2], "a lower hook has a flatter mask"


def test_elastics_hang_on_a_plate_that_works(api):
    document = load("elastics-on-a-working-plate")
    both = evaluate(api, document)
    alone = copy.deepcopy(document)
    alone["elements"] = [e for e in document["elements"] if e["kind"] != "elastic"]
    without = evaluate(api, alone)
    for side in ["right", "left"]:
        molars = segment(both, f"lower {side} molars")
        assert molars == segment(without, f"lower {side} molars"), "what the coil does to the molars stays"
        assert molars["movement"].startswith("mesial movement")
    arch = segment(both, "upper arch")
    assert arch["force_n"][1] < -1 and arch["force_n"][2] < -0.5, "upper arch forward and down"
    assert segment(without, "upper arch")["movement"] == "no load"
    added = add(head_sum(both, ""), [-f for f in head_sum(without, "")])
    assert near(added, [-f for f in arch["force_n"]]), "the screws hold the elastics besides"
    assert screw(both, "right back")["lateral_n"] != screw(without, "right back")["lateral_n"]
    lower = evaluate(api, moved(document, "right hook", occlusal_mm=-2))
    assert segment(lower, "upper arch")["force_n"][2] < arch["force_n"][2] - 0.02, "2 mm lower it extrudes more"
