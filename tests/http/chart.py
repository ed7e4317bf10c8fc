"""Rows for the tests: an invented patient with two palatal screws, a plate, and visits. Nothing here is expected output."""
import itertools
import json

NUMBERS = itertools.count(1)

PLATE = {
    "material": "titanium-grade-4",
    "nodes": [
        {"name": "right seat", "at_mm": {"palate": {"right_mm": 4, "behind_incisors_mm": 26}}, "tissue_gap_mm": 1.2},
        {"name": "left seat", "at_mm": {"palate": {"right_mm": -4, "behind_incisors_mm": 26}}, "tissue_gap_mm": 1.2},
        {"name": "right hook", "at_mm": {"palate": {"right_mm": 13, "behind_incisors_mm": 38}}, "tissue_gap_mm": 1.5},
    ],
    "bars": [
        {"from": "right seat", "to": "left seat", "section": {"rectangle_mm": [3.0, 1.0]}},
        {"from": "right seat", "to": "right hook", "section": {"round_mm": 1.2}},
    ],
    "seats": [{"node": "right seat", "screw": "right"}, {"node": "left seat", "screw": "left"}],
    "fittings": [{"node": "right hook", "kind": "hook"}],
}
CHAIN = {"name": "chain right", "kind": "chain", "from": {"fitting": "right hook"},
         "to": {"tooth": "16", "at": "palatal-attachment"}, "force_n": {"value": 150, "unit": "gf"},
         "activated_on": "2026-03-02"}


def body_of(answer):
    return json.loads(answer[2])


def expect(answer, status):
    """The body of an answer that has this status."""
    assert answer[0] == status, f"expected {status}, got {answer[0]}: {answer[2][:1500]!r}"
    return json.loads(answer[2]) if answer[2] else None


def pointers(answer, status=422):
    """Pointers and parameters of a refusal, sorted."""
    problem = expect(answer, status)
    assert answer[1]["Content-Type"] == "application/problem+json"
    assert problem["status"] == status and problem["type"].startswith("/problems/"), problem
    return sorted(e.get("pointer", "?" + e.get("parameter", "")) for e in problem.get("errors", []))


class Chart:
    """Creates rows as one clinic's clinician."""

    def __init__(self, api, clinic=None):
        self.api = api
        self.clinic = clinic or api.clinic_a
        self.token = self.clinic.tokens["clinician"]

    def get(self, path, **headers):
        return self.api.request("GET", path, token=self.token, headers=headers)

    def post(self, path, body):
        return self.api.request("POST", path, body, self.token)

    def patch(self, path, body, etag=None):
        if etag is None:
            etag = self.get(path)[1]["ETag"]
        return self.api.request("PATCH", path, body, self.token, {"If-Match": etag})

    def make(self, path, body):
        return expect(self.post(path, body), 201)

    def patient(self, **more):
        return self.make("/v1/patients", {"chart_number": f"chart-{next(NUMBERS)}", **more})

    def case(self, patient=None, **more):
        patient = patient or self.patient(birth_date="1990-05-17", cigarettes_per_day=0)
        return self.make("/v1/cases", {
            "patient_id": patient["id"], "title": "molar intrusion",
            "arches": {"maxilla": {"width_mm": 58, "depth_mm": 47, "vault_height_mm": 17}},
            "segments": [{"name": "upper right molars", "teeth": ["16", "17"], "joined": "rigid"}], **more})

    def model(self, **more):
        return self.make("/v1/screw-models", {"name": f"model {next(NUMBERS)}", "diameter_mm": 2.0, "core_mm": 1.5,
                                              "length_mm": 8, "thread_pitch_mm": 0.8, **more})

    def screw(self, case, model, name, right_mm, **more):
        return self.make("/v1/screws", {
            "case_id": case["id"], "name": name, "site": "palate-paramedian", "screw_model_id": model["id"],
            "entry": {"palate": {"right_mm": right_mm, "behind_incisors_mm": 26}}, "axis": "perpendicular",
            "tissue_mm": 1.5, "stand_off_mm": 1.0, "placed_on": "2026-02-16", "insertion_torque_ncm": 18, **more})

    def setup(self, case, **more):
        return self.make("/v1/setups", {"case_id": case["id"], "name": f"palatal plate {next(NUMBERS)}",
                                        "worn_from": "2026-02-16", **PLATE, **more})

    def worn_case(self):
        """A case with two screws and a plate on them: (case, setup)."""
        case, model = self.case(), self.model()
        self.screw(case, model, "right", 4)
        self.screw(case, model, "left", -4)
        return case, self.setup(case)

    def visit(self, case, setup, **more):
        return self.make("/v1/visits", {
            "case_id": case["id"], "visited_on": "2026-03-02", "worn": [{"setup_id": setup["id"]}], "elements": [CHAIN],
            "screw_checks": [{"screw": "right", "mobility_grade": 0}, {"screw": "left", "mobility_grade": 0}],
            "next_interval_days": 42, **more})
