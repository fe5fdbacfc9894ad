"""Patients, prescriptions, frames and fittings over the API: the same judgements as on the pages, field by field."""

from __future__ import annotations

import base64
import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from django.urls import reverse
from knox.models import AuthToken
from pytest_django import DjangoAssertNumQueries

from dispensing.fitting.command import run as measure_files
from dispensing.models import Fitting, Frame, Patient, Prescription
from tests.builders import a_frame, a_patient, a_prescription
from tests.dispensing.api.callers import based_on, caller, faults
from tests.known import there

pytestmark = pytest.mark.django_db
SIZES = {"model": "Rowan 50", "a_mm": 50, "b_mm": 38.5, "dbl_mm": 18, "ed_mm": 53, "mount": "full_rim"}
SOMEBODY = {"family_name": "Nandakumar", "given_names": "Ilse", "born_on": "1971-05-06", "driver": True}


def prescription_of(patient: Patient, right: dict[str, Any] | None = None, **changes: Any) -> dict[str, Any]:
    """Of which a colleague would ask nothing."""
    return {
        "patient": str(patient.public_id),
        "tested_on": "2026-10-30",
        "use": "distance",
        "prescriber": "T. Prescriber",
        "right": {"sphere": -3.25, "cylinder": -1.0, "axis": 170} | (right or {}),
        "left": {"sphere": -2, "cylinder": None},
    } | changes


def test_without_a_token_or_with_a_revoked_one_nothing_is_told() -> None:
    client = caller()
    assert client.get(reverse("api-patient-list")).status_code == 200
    AuthToken.objects.all().delete()
    assert faults(client.get(reverse("api-patient-list")), 401) == {}


def test_a_patient_is_registered_found_and_corrected() -> None:
    client = caller("dora")
    made = client.post(reverse("api-patient-list"), SOMEBODY)
    assert made.status_code == 201, made.json()
    assert (made.json()["reference"], made.json()["driver"]) == (Patient.objects.get().reference, True)
    assert made.json()["may_be_contacted"] is None  # Nobody asked.
    found = client.post(reverse("api-patient-find"), {"text": "nanda"})
    assert [row["public_id"] for row in found.json()] == [made.json()["public_id"]]
    address = reverse("api-patient-detail", args=[made.json()["public_id"]])
    assert client.patch(address, {"phone": "01632 960001"}, headers=based_on(1)).json()["phone"] == "01632 960001"
    for answer, version in ((True, 2), (False, 3), (None, 4)):
        changed = client.patch(address, {"may_be_contacted": answer}, headers=based_on(version))
        assert changed.json()["may_be_contacted"] is answer
    assert client.get(address).json()["given_names"] == "Ilse"


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"family_name": ""}, "family_name", "Write the family name."),
        ({"family_name": "N" * 300}, "family_name", "This has 300 characters"),
        ({"born_on": "2999-01-01"}, "born_on", "in the future"),
        ({"born_on": "yesterday"}, "born_on", "Write the day as YYYY-MM-DD"),
        ({"family_name": "a\x00b"}, "family_name", "Null characters"),
        ({"family_name": ["a"]}, "family_name", "Not a valid string"),
    ],
    ids=str,
)
def test_a_patient_that_cannot_be_is_refused_by_field(changes: dict[str, Any], field: str, said: str) -> None:
    assert said in faults(caller().post(reverse("api-patient-list"), SOMEBODY | changes))[field]
    assert not Patient.objects.exists()


def test_a_possible_duplicate_is_named_and_registered_once_it_was_looked_at() -> None:
    client, address = caller(), reverse("api-patient-list")
    first = client.post(address, SOMEBODY).json()
    assert first["reference"] in faults(client.post(address, SOMEBODY))["although_similar_to"]
    assert client.post(address, SOMEBODY | {"although_similar_to": [first["reference"]]}).status_code == 201


def test_a_prescription_is_taken_in_with_its_signs_and_remarks() -> None:
    client, patient = caller("dora"), a_patient()
    made = client.post(reverse("api-prescription-list"), prescription_of(patient))
    assert made.status_code == 201, made.json()
    stored = Prescription.objects.get()
    right, left = there(stored.right), there(stored.left)
    assert (right.sphere, right.axis, left.sphere) == (Decimal("-3.25"), 170, Decimal(-2))
    assert made.json()["right"]["sphere"] == -3.25
    assert isinstance(made.json()["remarks"], list)
    address = reverse("api-prescription-detail", args=[stored.public_id])
    changed = client.put(address, prescription_of(patient, right={"axis": 175}), headers=based_on(1))
    assert changed.json()["right"]["axis"] == 175
    balanced = client.put(address, prescription_of(patient, left={"balance": True}), headers=based_on(2)).json()
    assert (balanced["left"]["balance"], balanced["right"]["balance"]) == (True, False)


def test_what_a_colleague_would_ask_is_stored_only_once_it_is_confirmed() -> None:
    client, address = caller("dora"), reverse("api-prescription-list")
    asked = prescription_of(a_patient(), left={"sphere": 2})
    refused = client.post(address, asked)
    assert "One eye is plus, the other minus" in faults(refused)["confirmed"]
    assert not Prescription.objects.exists()
    (question,) = refused.json()["questions"]
    assert client.post(address, asked | {"confirmed": ["signs:of others"]}).status_code == 400
    made = client.post(address, asked | {"confirmed": [question["key"]]})
    assert (made.status_code, made.json()["remarks"]) == (201, [question["message"]])
    other = prescription_of(a_patient(), left={"sphere": 2.5})
    assert "confirmed" in faults(client.post(address, other | {"confirmed": [question["key"]]}))


WRONG_POWERS = [
    ({"axis": 181}, "right.axis", "An axis of 181 is not possible: write a whole number from 1 to 180."),
    ({"axis": 17.5}, "right.axis", "An axis of 17.5 is not possible: write a whole number from 1 to 180."),
    ({"axis": None}, "right.axis", ""),
    ({"sphere": 250}, "right.sphere", ""),
    ({"sphere": "2.50"}, "right.sphere", "2.50: the sign is missing. Write +2.50 or -2.50."),
    ({"sphere": True}, "right.sphere", "Give a number here."),
    ({"sphere": -3.3333}, "right.sphere", ""),
    ({"add": -2}, "right.add", ""),
    ({"prism_horizontal": 2}, "right.prism_horizontal_base", ""),
    ({"sphere": 1e308}, "right.sphere", ""),
    ({"colour": "red"}, "right.colour", "Unknown key."),
]


@pytest.mark.parametrize(("changes", "field", "said"), WRONG_POWERS, ids=str)
def test_a_power_that_cannot_be_is_refused_in_the_words_of_the_page(
    changes: dict[str, Any], field: str, said: str
) -> None:
    answer = caller().post(reverse("api-prescription-list"), prescription_of(a_patient(), right=changes))
    assert said in faults(answer)[field]
    assert not Prescription.objects.exists()


def test_whole_axes_and_powers_may_come_as_any_json_number_or_as_written_text() -> None:
    right = {"sphere": "-3,25", "cylinder": -1, "axis": 180.0, "add": 2}
    left = {"sphere": "plano", "add": "2.00"}
    answer = caller().post(reverse("api-prescription-list"), prescription_of(a_patient(), right=right, left=left))
    assert answer.status_code == 201, answer.json()
    stored = Prescription.objects.get()
    eye = there(stored.right)
    assert (eye.sphere, eye.cylinder, eye.axis, eye.add) == (Decimal("-3.25"), Decimal(-1), 180, Decimal(2))
    assert there(stored.left).sphere == 0


def test_a_prescription_stays_with_its_patient() -> None:
    stored = a_prescription(a_patient())
    address = reverse("api-prescription-detail", args=[stored.public_id])
    answer = caller().put(address, prescription_of(a_patient(family_name="Other")), headers=based_on(1))
    assert "stays with its patient" in faults(answer)["patient"]


@pytest.mark.parametrize("named", ["nobody", 7, None, "00000000-0000-4000-8000-000000000000", ["x"], {}])
def test_a_patient_that_is_not_there_is_a_fault_of_its_field(named: Any) -> None:
    asked = prescription_of(a_patient()) | {"patient": named}
    answer = caller().post(reverse("api-prescription-list"), asked)
    assert set(faults(answer)) == {"patient"}


def test_a_frame_is_added_with_its_shape_and_corrected() -> None:
    client = caller()
    radii = [25.0 + 2 * (place % 18 == 0) for place in range(36)]
    made = client.post(reverse("api-frame-list"), SIZES | {"radii_mm": None})
    assert made.status_code == 201, made.json()
    assert (made.json()["a_mm"], made.json()["b_mm"], made.json()["radii_mm"]) == (50.0, 38.5, None)
    address = reverse("api-frame-detail", args=[made.json()["public_id"]])
    assert client.patch(address, {"in_stock": 3}, headers=based_on(1)).json()["in_stock"] == 3
    round_one = SIZES | {"a_mm": 50, "b_mm": 50, "ed_mm": 50, "radii_mm": [25.0] * 72}
    assert len(client.post(reverse("api-frame-list"), round_one).json()["radii_mm"]) == 72
    assert "radii_mm" in faults(client.post(reverse("api-frame-list"), SIZES | {"radii_mm": radii[:10]}))


def traced_frame(**changes: Any) -> Frame:
    """Off its boxed centre by a hair and to more decimals than are typed: what is typed anew would be another shape."""
    radii = [26.00049] + [26.0004] * 71
    sizes = {"a_mm": Decimal(52), "b_mm": Decimal(52), "ed_mm": Decimal("52.01")}
    return a_frame(radii_mm=radii, shape_origin="trace", **sizes | changes)


def test_a_shape_stays_to_the_last_digit_and_a_trace_when_something_else_is_changed() -> None:
    frame = traced_frame()
    before = frame.radii_mm
    address = reverse("api-frame-detail", args=[frame.public_id])
    assert caller().patch(address, {"in_stock": 3}, headers=based_on(1)).status_code == 200
    frame.refresh_from_db()
    assert (frame.in_stock, frame.radii_mm, frame.shape_origin) == (3, before, "trace")
    assert caller().patch(address, {"radii_mm": [26] * 36}, headers=based_on(2)).status_code == 200
    frame.refresh_from_db()
    assert (frame.radii_mm, frame.shape_origin, frame.in_stock) == ([26.0] * 36, "radii", 3)
    assert caller().patch(address, {"radii_mm": None}, headers=based_on(3)).status_code == 200
    frame.refresh_from_db()
    assert (frame.radii_mm, frame.shape_origin) == (None, "")


def test_typed_sizes_stay_beside_another_shape_only_where_that_is_said() -> None:
    asked = SIZES | {"a_mm": 52.6, "b_mm": 52, "ed_mm": 52.6, "radii_mm": [26.0] * 36}
    told = faults(caller().post(reverse("api-frame-list"), asked))
    assert "A is typed as 52.6 mm; the shape is 52.0 mm" in told["a_mm"]
    assert not Frame.objects.exists()
    assert caller().post(reverse("api-frame-list"), asked | {"keep_difference": True}).status_code == 201
    assert Frame.objects.get().a_mm == Decimal("52.6")


OF_NO_USE = [
    (True, {"stock_number": "F101"}, "This is not recorded for a patient's own frame."),
    (True, {"in_stock": 2}, "This is not recorded for a patient's own frame."),
    (False, {"condition": "Worn"}, "This is not recorded for a frame of the stock."),
    (False, {"withdrawn": True}, "This is not recorded for a frame of the stock."),
]


@pytest.mark.parametrize(("own", "given", "said"), OF_NO_USE, ids=str)
def test_what_is_not_kept_of_such_a_frame_is_no_silent_loss(own: bool, given: dict[str, Any], said: str) -> None:
    owner = {"owner": str(a_patient().public_id)} if own else {}
    told = faults(caller().post(reverse("api-frame-list"), SIZES | owner | given))
    assert told == {next(iter(given)): said}
    assert not Frame.objects.exists()


def test_an_own_frame_may_be_sent_back_as_it_was_read() -> None:
    frame = a_frame(owner=a_patient(), stock_number="", in_stock=0, condition="Worn")
    address = reverse("api-frame-detail", args=[frame.public_id])
    shown = caller().get(address).json()
    for name in ("public_id", "version", "changed_at"):
        del shown[name]
    assert caller().patch(address, shown | {"condition": "Bent"}, headers=based_on(1)).status_code == 200
    frame.refresh_from_db()
    assert (frame.condition, frame.in_stock, frame.version) == ("Bent", 0, 2)


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"b_mm": 380}, "b_mm"), ({"ed_mm": 40}, "ed_mm"), ({"mount": "glued"}, "mount")],
    ids=str,
)
def test_a_frame_that_cannot_be_is_refused_by_field(changes: dict[str, Any], field: str) -> None:
    assert field in faults(caller().post(reverse("api-frame-list"), SIZES | changes))
    assert not Frame.objects.exists()


def test_the_front_desk_adds_no_frames() -> None:
    assert faults(caller("dora").post(reverse("api-frame-list"), SIZES), 403) == {}


def fitting_of(patient: Patient, frame: Frame, **changes: Any) -> dict[str, Any]:
    figures = [
        {"quantity": "pd_mm", "eye": "right", "readings": [31.5, 31.5]},
        {"quantity": "pd_mm", "eye": "left", "readings": [32.0]},
        {"quantity": "pantoscopic_deg", "eye": "both", "readings": [9]},
    ]
    whose = {"patient": str(patient.public_id), "frame": str(frame.public_id)}
    return {**whose, "measured_on": "2026-11-20", "near_distance_mm": 400, "measurements": figures} | changes


def test_a_fitting_is_recorded_with_readings_mean_and_doubt() -> None:
    client = caller()
    made = client.post(reverse("api-fitting-list"), fitting_of(a_patient(), a_frame()))
    assert made.status_code == 201, made.json()
    figure = next(row for row in made.json()["measurements"] if row["eye"] == "right")
    assert (figure["value"], figure["readings"]) == (31.5, [31.5, 31.5])
    assert figure["plus_minus"] > 0
    assert made.json()["measured_in_this_frame"] is True


def test_a_figure_is_taken_by_the_usual_method_unless_one_is_named_and_both_eyes_by_the_same() -> None:
    client, address = caller(), reverse("api-fitting-list")
    pds = [{"quantity": "pd_mm", "eye": eye, "readings": [32]} for eye in ("right", "left")]
    mixed = [pds[0] | {"method": "pupillometer"}, pds[1] | {"method": "rule"}]
    told = faults(client.post(address, fitting_of(a_patient(), a_frame(), measurements=mixed)))
    assert told == {"measurements[1].method": "Both eyes are taken by one method, as on the sheet."}
    assert not Fitting.objects.exists()
    tilt = {"quantity": "pantoscopic_deg", "eye": "both", "readings": [9]}
    figures = [pds[0] | {"method": "pupillometer"}, pds[1], tilt]
    made = client.post(address, fitting_of(a_patient(), a_frame(), measurements=figures))
    methods = {(row["quantity"], row["eye"]): row["method"] for row in made.json()["measurements"]}
    assert methods == {
        ("pd_mm", "right"): "pupillometer",
        ("pd_mm", "left"): "pupillometer",
        ("pantoscopic_deg", "both"): "gauge",
    }


@pytest.mark.parametrize(
    "figures",
    [
        [],
        [{"quantity": "pd_mm", "eye": "both", "readings": [63]}],
        [{"quantity": "pd_mm", "eye": "right", "readings": []}],
        [{"quantity": "pd_mm", "eye": "right", "readings": [31]}] * 2,
        [{"quantity": "pd_mm", "eye": "right", "readings": [3100]}],
        [{"quantity": "shoe_size", "eye": "right", "readings": [42]}],
        "none",
        [[]],
    ],
    ids=str,
)
def test_figures_that_cannot_be_are_refused(figures: Any) -> None:
    answer = caller().post(reverse("api-fitting-list"), fitting_of(a_patient(), a_frame(), measurements=figures))
    assert any(field.startswith("measurements") for field in faults(answer))
    assert not Fitting.objects.exists()


def test_a_fitting_in_somebody_elses_own_frame_is_refused() -> None:
    own = a_frame(owner=a_patient(), stock_number="")
    assert faults(caller().post(reverse("api-fitting-list"), fitting_of(a_patient(), own)))
    assert not Fitting.objects.exists()


MARKS = {
    "format": "fitting-points/1",
    "front": {
        "width_px": 4000,
        "height_px": 3000,
        "focal_px": 3300.0,
        "gaze": "camera",
        "scale": {"by": "frame", "a_mm": 52.0, "dbl_mm": 18.0},
        "right": {
            "pupil": [1754.0, 1490.0],
            "nasal": [1925.0, 1500.0],
            "temporal": [1490.0, 1500.0],
            "top": [1700.0, 1330.0],
            "bottom": [1700.0, 1650.0],
        },
        "left": {
            "pupil": [2246.0, 1490.0],
            "nasal": [2075.0, 1500.0],
            "temporal": [2510.0, 1500.0],
            "top": [2300.0, 1330.0],
            "bottom": [2300.0, 1650.0],
        },
    },
    "side": None,
}


class Lines(list[str]):
    def write(self, text: str) -> None:
        self.append(text)

    def flush(self) -> None:
        """Everything is there already."""


def test_measuring_gives_what_the_command_gives(tmp_path: Path) -> None:
    file, out = tmp_path / "marks.json", Lines()
    file.write_text(json.dumps(MARKS))
    assert measure_files([str(file)], out, Lines()) == 0
    by_command = json.loads("".join(out))
    answer = caller().post(reverse("api-measure"), MARKS)
    assert answer.status_code == 200
    assert answer.json() == by_command | {"file": answer.json().get("file")}
    assert set(answer.json()) <= set(by_command)


NO_MARKS = [
    ({}, "format", "is missing"),
    ([], "non_field_errors", "must be an object, found a list"),
    ("x", "non_field_errors", "must be an object"),
    (3, "non_field_errors", "must be an object"),
    (None, "non_field_errors", "must be an object"),
    (MARKS | {"colour": 1}, "colour", "unknown key"),
    (MARKS | {"front": {"width_px": "wide"}}, "front.width_px", "must be a number, found the text 'wide'"),
]


@pytest.mark.parametrize(("body", "path", "said"), NO_MARKS, ids=str)
def test_marks_that_are_no_document_are_refused_with_their_path(body: Any, path: str, said: str) -> None:
    answer = caller().post(reverse("api-measure"), json.dumps(body), content_type="application/json")
    assert said in faults(answer)[path]


@pytest.mark.parametrize(
    "body", [b"{", b"\xff\xfe", b"[" * 100_000, b'{"a": NaN}', b""], ids=lambda body: repr(body[:9])
)
@pytest.mark.parametrize("name", ["api-measure", "api-patient-list", "api-prescription-list", "api-check"])
def test_what_is_not_json_is_refused_and_breaks_nothing(name: str, body: bytes) -> None:
    answer = caller().post(reverse(name), body, content_type="application/json")
    faults(answer)


def test_a_body_of_many_megabytes_is_refused() -> None:
    answer = caller().post(reverse("api-measure"), b" " * 6_000_000, content_type="application/json")
    assert 400 <= answer.status_code < 500


@pytest.mark.parametrize(
    "cursor", ["x", "cD1hYmM=", "bz05OTk5OTk5OTk5OTk5OTk5OTk5OTk=", "cD05OTk5OTk5OTk5OTk5OTk5OTk5OTk5OQ=="]
)
@pytest.mark.parametrize("noun", ["patient", "prescription", "frame", "fitting", "order"])
def test_a_page_key_that_was_tampered_with_is_no_page(noun: str, cursor: str) -> None:
    answer = caller().get(reverse(f"api-{noun}-list"), {"cursor": cursor})
    assert answer.status_code in (200, 404)


def _fill(noun: str, number: int) -> None:
    patient = a_patient(family_name=f"Family {number}")
    if noun == "prescription":
        a_prescription(patient)
    if noun in ("frame", "fitting"):
        frame = a_frame()
        Fitting.objects.create(
            patient=patient, frame=frame, measured_on=date(2026, 11, 1), frame_sizes=frame.boxed_sizes
        )


@pytest.mark.parametrize("noun", ["patient", "prescription", "frame", "fitting"])
def test_a_list_asks_the_database_the_same_few_questions_however_long_it_is(
    noun: str, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client = caller()
    for number in range(15):
        _fill(noun, number)
    client.get(reverse(f"api-{noun}-list"))  # the visit is begun
    with django_assert_max_num_queries(8):
        answer = client.get(reverse(f"api-{noun}-list"))
    assert len(answer.json()["results"]) == 15


def test_no_name_stands_in_the_address_of_a_page_of_patients() -> None:
    for number in range(51):
        a_patient(family_name=f"Featherstone{number}")
    client = caller()
    first = client.get(reverse("api-patient-list")).json()
    key = first["next"].split("cursor=")[1]
    assert b"Featherstone" not in base64.b64decode(unquote(key))
    assert len(client.get(first["next"]).json()["results"]) == 1
