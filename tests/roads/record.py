"""The two ways into the dispensing record: each kind of record as typed on its page and as a program sends it.

Each kind is sent in as a new record and as a correction of one, with a slip put in; another record stands beside it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.urls import reverse

from dispensing.models import Fitting, Frame, Measurement, Patient
from tests.builders import a_frame, a_patient, a_prescription
from tests.dispensing.api.callers import based_on, caller, faults
from tests.orders import shop
from tests.people import person, signed_in

Told = dict[str, str]


@dataclass(frozen=True)
class Slip:
    """``typed`` in ``field`` of the page and ``sent`` under ``path`` of the JSON are the same slip, told by ``said``.

    ``typed`` None: what is sent, as text. ``also_typed``, ``also_sent``: what belongs to it. ``told_at``: the path of
    the fault, where it is not ``path``.
    """

    noun: str
    field: str
    path: str
    sent: Any
    said: str
    typed: str | None = None
    also_typed: dict[str, Any] = dataclasses.field(default_factory=dict)
    also_sent: dict[str, Any] = dataclasses.field(default_factory=dict)
    told_at: str = ""

    def place(self, road: str) -> str:
        """Where this road tells of it."""
        return self.field if road.startswith("page") else self.told_at or self.path

    @property
    def text(self) -> str:
        return str(self.sent) if self.typed is None else self.typed

    @property
    def body(self) -> dict[str, Any]:
        """The slip in JSON, nested as its path is."""
        outermost, *inner = self.path.split(".")
        body = self.sent
        for name in reversed(inner):
            body = {name: body}
        return {outermost: body}

    def __str__(self) -> str:
        return f"{self.noun}: {self.path} {self.text[:24]}"


def merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    result = dict(base)
    for name, value in changes.items():
        inner = result.get(name)
        result[name] = merged(inner, value) if isinstance(inner, dict) and isinstance(value, dict) else value
    return result


@dataclass(frozen=True)
class SetUp:
    """What is stored before anything is sent in: the address of each road, and whose record it is, in JSON."""

    addresses: dict[str, str]
    whose: dict[str, str] = dataclasses.field(default_factory=dict)


@dataclass(frozen=True)
class Noun:
    """As it is ``typed`` and ``sent`` without a slip. ``told``: the faults that the page tells, by field."""

    typed: dict[str, Any]
    sent: dict[str, Any]
    set_up: Callable[[], SetUp]
    told: Callable[[Any], Told]
    correcting: str = "patch"


def of_form(answer: Any) -> Told:
    return {name: " ".join(map(str, errors)) for name, errors in answer.context["form"].errors.items()}


def of_entry(answer: Any) -> Told:
    entry = answer.context["entry"]
    return {
        form.add_prefix(name): " ".join(map(str, errors))
        for form in entry.forms
        for name, errors in form.errors.items()
    }


def _patients() -> SetUp:
    a_patient(phone="01632 960000")
    stored = a_patient(family_name="Okonkwo", born_on="1951-02-03")
    addresses = {
        "page new": reverse("patient-register"),
        "page correct": reverse("patient-correct", args=[stored.public_id]),
        "api new": reverse("api-patient-list"),
        "api correct": reverse("api-patient-detail", args=[stored.public_id]),
    }
    return SetUp(addresses)


def _prescriptions() -> SetUp:
    a_prescription(a_patient(family_name="Okonkwo"))
    stored = a_prescription(a_patient())
    addresses = {
        "page new": reverse("prescription-new", args=[stored.patient.public_id]),
        "page correct": reverse("prescription-correct", args=[stored.public_id]),
        "api new": reverse("api-prescription-list"),
        "api correct": reverse("api-prescription-detail", args=[stored.public_id]),
    }
    return SetUp(addresses, {"patient": str(stored.patient.public_id)})


def _worn_pairs() -> SetUp:
    shop.worn_pair(a_patient(family_name="Okonkwo"))
    stored = shop.worn_pair(a_patient())
    addresses = {
        "page new": reverse("worn-pair-new", args=[stored.patient.public_id]),
        "page correct": reverse("worn-pair-correct", args=[stored.public_id]),
        "api new": reverse("api-worn-pair-list"),
        "api correct": reverse("api-worn-pair-detail", args=[stored.public_id]),
    }
    return SetUp(addresses, {"patient": str(stored.patient.public_id)})


def _frames() -> SetUp:
    a_frame(model="Bystander")
    stored = a_frame()
    addresses = {
        "page new": reverse("frame-new"),
        "page correct": reverse("frame-correct", args=[stored.public_id]),
        "api new": reverse("api-frame-list"),
        "api correct": reverse("api-frame-detail", args=[stored.public_id]),
    }
    return SetUp(addresses)


def _fittings() -> SetUp:
    a_fitting(a_patient(family_name="Okonkwo"), a_frame())
    patient, frame = a_patient(), a_frame()
    stored = a_fitting(patient, frame)
    addresses = {
        "page new": reverse("fitting-record", args=[patient.public_id, frame.public_id]),
        "page correct": reverse("fitting-correct", args=[stored.public_id]),
        "api new": reverse("api-fitting-list"),
    }
    return SetUp(addresses, {"patient": str(patient.public_id), "frame": str(frame.public_id)})


def a_fitting(patient: Patient, frame: Frame) -> Fitting:
    fitting = Fitting.objects.create(
        patient=patient, frame=frame, measured_on=date(2026, 11, 1), frame_sizes=frame.boxed_sizes
    )
    for eye in ("right", "left"):
        Measurement.objects.create(fitting=fitting, quantity="pd_mm", eye=eye, value=31)
    return fitting


NOUNS = {
    "patient": Noun(
        {"family_name": "Penhallow", "given_names": "Margery", "born_on": "2.4.1968"},
        {"family_name": "Penhallow", "given_names": "Margery", "born_on": "1968-04-02"},
        _patients,
        of_form,
    ),
    "prescription": Noun(
        {
            "tested_on": "30.10.2026",
            "use": "distance",
            "source": "written",
            "prescriber": "T. Prescriber",
            "right-sphere": "-3.25",
            "right-cylinder": "-1.00",
            "right-axis": "170",
            "left-sphere": "-2.75",
            "left-cylinder": "-0.50",
            "left-axis": "10",
        },
        {
            "tested_on": "2026-10-30",
            "use": "distance",
            "source": "written",
            "prescriber": "T. Prescriber",
            "right": {"sphere": -3.25, "cylinder": -1.0, "axis": 170},
            "left": {"sphere": -2.75, "cylinder": -0.5, "axis": 10},
        },
        _prescriptions,
        of_entry,
        correcting="put",
    ),
    "worn pair": Noun(
        {"read_on": "30.10.2026", "use": "distance", "right-sphere": "-3.25", "left-sphere": "-2.75"},
        {"read_on": "2026-10-30", "use": "distance", "right": {"sphere": -3.25}, "left": {"sphere": -2.75}},
        _worn_pairs,
        of_entry,
        correcting="put",
    ),
    "frame": Noun(
        {
            "model": "Rowan",
            "mount": "full_rim",
            "in_stock": "1",
            "a_mm": "52",
            "b_mm": "38",
            "dbl_mm": "18",
            "ed_mm": "55",
        },
        {"model": "Rowan", "mount": "full_rim", "in_stock": 1, "a_mm": 52, "b_mm": 38, "dbl_mm": 18, "ed_mm": 55},
        _frames,
        of_form,
    ),
    "fitting": Noun(
        {
            "measured_on": "30/10/2026",
            "pd_mm-right": "31.5",
            "pd_mm-left": "32",
            "height_mm-right": "21",
            "height_mm-left": "21.5",
            "near_distance_mm": "400",
        },
        {
            "measured_on": "2026-10-30",
            "near_distance_mm": 400,
            "measurements": [
                {"quantity": "pd_mm", "eye": "right", "readings": [31.5]},
                {"quantity": "pd_mm", "eye": "left", "readings": [32]},
                {"quantity": "height_mm", "eye": "right", "readings": [21]},
                {"quantity": "height_mm", "eye": "left", "readings": [21.5]},
            ],
        },
        _fittings,
        of_form,
    ),
}
ROADS = ("page new", "page correct", "api new", "api correct")


def told_on(road: str, slip: Slip, is_set_up: SetUp) -> Told:
    """The faults that this road tells of a record with the slip in it."""
    noun, address = NOUNS[slip.noun], is_set_up.addresses[road]
    if road.startswith("page"):
        typed = {**noun.typed, "version": "1", "taken_by": person("ravi").pk, slip.field: slip.text, **slip.also_typed}
        answer = signed_in("ravi").post(address, typed)
        assert answer.status_code == 200, "It was saved."
        return noun.told(answer)
    body = merged(merged(noun.sent, slip.body), slip.also_sent) | is_set_up.whose
    if road == "api new":
        return faults(caller("ravi").post(address, body))
    return faults(getattr(caller("ravi"), noun.correcting)(address, body, headers=based_on(1)))


def both_eyes(make: Callable[[str], Slip]) -> Iterator[Slip]:
    for eye in ("right", "left"):
        yield make(eye)
