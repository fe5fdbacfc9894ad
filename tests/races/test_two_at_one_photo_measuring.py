"""Two people work on the photos of one patient at once. The race is first shown to happen, then prevented."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from django.utils import timezone

from dispensing.models import AuditEvent, Fitting, FittingPhoto, PhotoMeasuring, StaffUser
from dispensing.services.fittings import FigureTaken, FittingRefused, record_fitting
from dispensing.services.photo_fittings import discard_measuring, remove_photo, start_measuring, use_figures
from dispensing.services.photo_marks import save_marks
from tests.builders import a_frame, a_patient
from tests.known import there
from tests.people import person
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)

MARKS = {"gaze": "camera", "right": {"pupil": [1800.0, 1450.0]}, "left": {"pupil": [2100.0, 1450.0]}}
PD = FigureTaken("pd_mm", "right", (32.6,), "photo", 1.3)
HEIGHT = FigureTaken("height_mm", "left", (21.5,), "photo", 1.5)


@pytest.fixture
def people() -> list[StaffUser]:
    return [person("ravi"), person("ines")]


@pytest.fixture
def measuring(people: list[StaffUser]) -> PhotoMeasuring:
    return start_measuring(actor=people[0], patient=a_patient(), frame=a_frame(), near_distance_mm=400)


@pytest.fixture
def photo(measuring: PhotoMeasuring, people: list[StaffUser]) -> FittingPhoto:
    size = {"width_px": 4000, "height_px": 3000, "focal_px": 3300.0}
    return FittingPhoto.objects.create(measuring=measuring, view="front", marks=MARKS, version=1, **size)


def use(measuring: PhotoMeasuring, actor: StaffUser, **more: Any) -> Fitting:
    return use_figures(actor=actor, measuring=measuring, figures=[PD], measured_on=timezone.localdate(), **more)


def parted(results: list[object]) -> tuple[list[object], list[FittingRefused]]:
    refused = [result for result in results if isinstance(result, FittingRefused)]
    return [result for result in results if result not in refused], refused


def test_recording_what_was_read_as_unused_records_the_figures_twice(
    measuring: PhotoMeasuring, people: list[StaffUser]
) -> None:
    def careless(barrier: threading.Barrier, which: int) -> Fitting:
        mine = PhotoMeasuring.objects.select_related("patient", "frame").get(pk=measuring.pk)
        assert not mine.finished
        barrier.wait()
        today = timezone.localdate()
        return record_fitting(
            actor=people[which], patient=mine.patient, frame=mine.frame, measured_on=today, figures=[PD]
        )

    at_once(careless)
    assert Fitting.objects.count() == 2


def test_of_two_who_use_the_figures_one_records_a_fitting_and_the_other_is_told(
    measuring: PhotoMeasuring, people: list[StaffUser]
) -> None:
    def press(barrier: threading.Barrier, which: int) -> Fitting:
        mine = PhotoMeasuring.objects.get(pk=measuring.pk)
        barrier.wait()
        return use(mine, people[which])

    (used,), (refused,) = parted(at_once(press))
    assert "already been used" in str(refused)
    assert [used] == list(Fitting.objects.all())
    measuring.refresh_from_db()
    assert measuring.fitting == used
    assert not there(measuring.fitting).pre_adjusted
    assert AuditEvent.objects.filter(verb="photo-fitting.use").count() == 1


def test_of_two_measurings_that_join_one_fitting_neither_takes_off_the_other_s_figures(
    measuring: PhotoMeasuring, people: list[StaffUser]
) -> None:
    other = start_measuring(actor=people[1], patient=measuring.patient, frame=measuring.frame, near_distance_mm=400)
    vertex = FigureTaken("vertex_mm", "right", (13.0,))
    into = record_fitting(
        actor=people[0],
        patient=measuring.patient,
        frame=measuring.frame,
        measured_on=timezone.localdate(),
        figures=[vertex],
    )

    def join(barrier: threading.Barrier, which: int) -> Fitting:
        # As the page reads it: with its figures, before anybody holds anything.
        fitting = Fitting.objects.prefetch_related("measurements").get(pk=into.pk)
        mine = PhotoMeasuring.objects.get(pk=(measuring, other)[which].pk)
        barrier.wait()
        return use_figures(
            actor=people[which],
            measuring=mine,
            figures=[(PD, HEIGHT)[which]],
            measured_on=timezone.localdate(),
            into=fitting,
        )

    assert parted(at_once(join))[1] == []
    assert {row.quantity for row in into.measurements.all()} == {"vertex_mm", "pd_mm", "height_mm"}


def test_a_measuring_is_either_used_or_deleted_and_never_both(
    measuring: PhotoMeasuring, photo: FittingPhoto, people: list[StaffUser]
) -> None:
    def act(barrier: threading.Barrier, which: int) -> object:
        mine = PhotoMeasuring.objects.get(pk=measuring.pk)
        barrier.wait()
        if which == 0:
            return use(mine, people[0])
        discard_measuring(actor=people[1], measuring=mine)
        return "deleted"

    (done,), (refused,) = parted(at_once(act))
    if done == "deleted":
        assert "deleted in the meantime" in str(refused)
        assert not Fitting.objects.exists()
    else:
        assert "already been used" in str(refused)
        assert PhotoMeasuring.objects.get().fitting == done
        assert FittingPhoto.objects.filter(pk=photo.pk).exists()


@pytest.mark.parametrize("what", ["marks", "takes it off"])
def test_figures_are_never_those_of_marks_that_somebody_changed_meanwhile(
    measuring: PhotoMeasuring, photo: FittingPhoto, people: list[StaffUser], what: str
) -> None:
    def act(barrier: threading.Barrier, which: int) -> object:
        mine = FittingPhoto.objects.select_related("measuring__frame", "measuring__patient").get(pk=photo.pk)
        barrier.wait()
        if which == 0:
            return use(mine.measuring, people[0], as_marked={photo.pk: 1})
        if what == "marks":
            return save_marks(actor=people[1], photo=mine, marks={"gaze": "far"}, version=1)
        remove_photo(actor=people[1], photo=mine)
        return "gone"

    results = at_once(act)
    (done,), (refused,) = parted(results)
    now = FittingPhoto.objects.filter(pk=photo.pk).values_list("version", flat=True).first()
    if isinstance(done, Fitting):
        assert now == 1
        assert "already been used" in str(refused)
    else:
        assert now in (2, None)
        assert "marks were changed" in str(refused)
        assert not Fitting.objects.exists()
