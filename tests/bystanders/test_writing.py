"""No service touches a stranger's rows, and every service that people act through is tried."""

from __future__ import annotations

import inspect
from collections import Counter
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from dispensing import services as dispensing_services
from dispensing.models import Frame
from dispensing.services.fittings import FittingRefused, copy_to_frame, record_fitting
from dispensing.services.photo_fittings import start_measuring
from orders import sending
from orders import services as orders_services
from orders.services.drafts import save_draft, start_draft
from tests.bystanders.functions import public_functions
from tests.bystanders.snapshot import difference, household, snapshot, whose
from tests.bystanders.world import COMMON, World
from tests.bystanders.writings import NOT_TRIED, PD, WRITINGS, Writing

Act = Callable[[World, Frame], Any]


def _recorded(w: World, frame: Frame) -> None:
    record_fitting(actor=w["ravi"], patient=w["patient"], frame=frame, measured_on=date(2026, 11, 1), figures=PD)


def _copied(w: World, frame: Frame) -> None:
    copy_to_frame(actor=w["ravi"], fitting=w["fitting"], frame=frame, copied_on=date(2026, 11, 1))


def _photographed(w: World, frame: Frame) -> None:
    start_measuring(actor=w["ravi"], patient=w["patient"], frame=frame, near_distance_mm=400)


FITTED: tuple[Act, ...] = (_recorded, _copied, _photographed)


@pytest.mark.parametrize("writing", WRITINGS, ids=str)
def test_a_service_writes_its_own_rows_and_nobody_elses(writing: Writing, world: World) -> None:
    before = snapshot()
    writing.act(world)
    after = snapshot()
    found = difference(before, after)
    assert sorted(whose(world, key, after) for key in found.changed) == _in_full(writing.changed)
    assert sorted(whose(world, key, before) for key in found.gone) == _in_full(writing.gone)
    assert Counter(name for name, _ in found.added) == writing.added
    assert {household(world, key, after) for key in found.added} <= {"ours", ""}


@pytest.mark.parametrize("whose", ["elder", "younger"])
@pytest.mark.parametrize(
    ("part", "record"),
    [("prescription", "prescription"), ("fitting", "fitting"), ("frame", "own_frame"), ("remake_of", "sent")],
)
def test_what_is_another_patients_never_gets_into_an_order(part: str, record: str, whose: str, world: World) -> None:
    draft, before = world["draft"], snapshot()
    with pytest.raises(ValidationError) as refused:
        save_draft(order=draft, actor=world["ravi"], version=draft.version, fields={part: world[f"{whose}.{record}"]})
    assert list(refused.value.message_dict) == [part]
    assert "belongs to another patient" in refused.value.message_dict[part][0]
    with pytest.raises(ValidationError):
        start_draft(patient=world["patient"], actor=world["ravi"], **{part: world[f"{whose}.{record}"]})
    assert snapshot() == before


@pytest.mark.parametrize("whose", ["elder", "younger"])
@pytest.mark.parametrize("act", FITTED, ids=lambda act: act.__name__)
def test_a_frame_that_one_patient_brought_in_is_not_fitted_to_another(act: Act, whose: str, world: World) -> None:
    before = snapshot()
    with pytest.raises(FittingRefused, match="belongs to another patient"):
        act(world, world[f"{whose}.own_frame"])
    assert snapshot() == before
    act(world, world["own_frame"])


def _in_full(names: tuple[str, ...]) -> list[str]:
    return sorted(name if "." in name or " of " in name or name in COMMON else f"ours.{name}" for name in names)


def test_every_service_that_somebody_acts_through_is_tried() -> None:
    acting = {
        function
        for function in public_functions(dispensing_services, orders_services, sending)
        if "actor" in inspect.signature(function).parameters
    }
    missing = acting - {writing.function for writing in WRITINGS} - set(NOT_TRIED)
    assert not missing, "A row in WRITINGS for each of these, or the reason why it needs none in NOT_TRIED."
