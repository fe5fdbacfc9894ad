"""What a record cannot hold, each service refuses by itself, whatever form stood before it, and writes nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from dispensing.models import Fitting
from dispensing.services import fittings, frames, patients, photo_fittings, practice, prescriptions, staff, worn_pairs
from dispensing.services.fittings import FigureTaken, FittingRefused
from orders.services import cancelling, labs
from tests.bystanders.snapshot import snapshot
from tests.bystanders.world import World
from tests.bystanders.writings import PD, a_picture, by

TOO_LONG = "x" * 300
DAY = date(2026, 11, 1)


def _without_pds(w: World) -> Fitting:
    tilt = [FigureTaken("pantoscopic_deg", "both", (9.0,))]
    given = {"patient": w["patient"], "frame": w["frame"], "measured_on": DAY, "figures": tilt}
    return fittings.record_fitting(actor=w["ravi"], **given)


REFUSED: dict[str, tuple[Callable[[World], Any], str]] = {
    "a member of staff without a role": (
        by(staff.add_staff, fields={"username": "new", "first_name": "N", "role": "nobody"}),
        "role",
    ),
    "a role that there is not": (by(staff.change_staff, member="=worker", fields={"role": "nobody"}), "role"),
    "a lab without a name": (by(labs.add_lab, name=""), "name"),
    "a lab's address that is none": (by(labs.change_lab, lab="=lab", email="by the door"), "email"),
    "a new patient's name of 300 letters": (
        by(patients.register_patient, family_name=TOO_LONG, given_names="New", born_on=date(1970, 1, 1)),
        "family_name",
    ),
    "a new frame's model of 300 letters": (
        by(frames.add_frame, fields={"model": TOO_LONG, "a_mm": 50, "b_mm": 40, "dbl_mm": 18}, shape=None),
        "model",
    ),
    "a new prescription by a name of 300 letters": (
        by(
            prescriptions.take_in_prescription,
            patient="=patient",
            facts={"tested_on": DAY, "prescriber": TOO_LONG, "use": "distance"},
            eyes={},
        ),
        "prescriber",
    ),
    "a pair worn now for 300 letters": (
        by(worn_pairs.record_worn_pair, patient="=patient", facts={"read_on": DAY, "use": TOO_LONG}, eyes={}),
        "use",
    ),
    "a patient's name of 300 letters": (
        by(patients.correct_patient, patient="=patient", family_name=TOO_LONG),
        "family_name",
    ),
    "a frame's model of 300 letters": (
        by(frames.change_frame, frame="=frame", fields={"model": TOO_LONG}, shape=None),
        "model",
    ),
    "a practice without a country": (by(practice.change_practice, fields={"country": ""}), "country"),
    "a prescriber's name of 300 letters": (
        by(prescriptions.correct_prescription, prescription="=prescription", facts={"prescriber": TOO_LONG}, eyes={}),
        "prescriber",
    ),
    "a view that no photo has": (
        by(photo_fittings.add_photo, measuring="=measuring", view="above", content=a_picture()),
        "view",
    ),
    "a working distance below nothing": (
        by(photo_fittings.start_measuring, patient="=patient", frame="=frame", near_distance_mm=-1),
        "near_distance_mm",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_service_refuses_what_its_record_cannot_hold(case: str, world: World) -> None:
    act, field = REFUSED[case]
    before = snapshot()
    with pytest.raises(ValidationError) as refused:
        act(world)
    assert list(refused.value.message_dict) == [field]
    assert snapshot() == before


@pytest.mark.parametrize(("length", "refused"), [(500, False), (501, True)])
def test_the_reason_of_a_cancelled_order_has_room_for_five_hundred_characters(
    length: int, refused: bool, world: World
) -> None:
    before = snapshot()
    act = by(cancelling.cancel_order, order="=draft", reason="x" * length)
    if not refused:
        act(world)
        return
    with pytest.raises(ValidationError, match="The reason has 501 characters; at most 500 are allowed"):
        act(world)
    assert snapshot() == before


def test_a_fitting_without_a_pd_has_nothing_for_another_frame(world: World) -> None:
    fitting = _without_pds(world)
    before = snapshot()
    with pytest.raises(FittingRefused, match="holds no PD"):
        fittings.copy_to_frame(actor=world["ravi"], fitting=fitting, frame=world["withdrawn_frame"], copied_on=DAY)
    assert snapshot() == before


def test_a_changed_lab_is_given_back_as_it_is_now(world: World) -> None:
    changed = labs.change_lab(lab=world["lab"], actor=world["ravi"], phone="01632 960111")
    assert (changed.pk, changed.phone) == (world["lab"].pk, "01632 960111")


def test_a_fitting_is_refused_by_the_figure_that_it_cannot_hold(world: World) -> None:
    before = snapshot()
    figures = [*PD, FigureTaken("pd_mm", "third", (31.0,))]
    with pytest.raises(ValidationError) as refused:
        fittings.record_fitting(
            actor=world["ravi"], patient=world["patient"], frame=world["frame"], measured_on=DAY, figures=figures
        )
    assert list(refused.value.message_dict) == ["eye"]
    assert snapshot() == before
