"""The doctor's long checks go over whole tables in batches, and go on another day where they were broken off."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from pytest_django import Settings

from dispensing.doctor import registry
from dispensing.doctor.registry import Diagnosis, Level, diagnose, ok, wrong
from dispensing.doctor.walk import Place, Walk
from dispensing.evidence.broken import breaks
from dispensing.evidence.sealing import Sealer
from dispensing.models import AuditEvent, Patient, Seal
from dispensing.services.audit import record
from tests.builders import a_patient
from tests.evidence.shelf import change

pytestmark = pytest.mark.django_db
NAMES = ("Adler", "Birch", "Cedar", "Dale", "Elm")


class BrokenOff(BaseException):
    """As Ctrl-C is: no fault that a check may report."""


@pytest.fixture
def five() -> None:
    for name in NAMES:
        a_patient(family_name=name)


def names(walk: Walk, most_batches: int = 9) -> list[str]:
    found = []
    for batch, _ in zip(walk.over("patients", Patient.objects.all(), batch=2), range(most_batches)):
        found += [patient.family_name for patient in batch]
    return found


@pytest.mark.usefixtures("five")
def test_every_row_comes_once_and_in_order(django_assert_num_queries: Any) -> None:
    walk = Walk()
    with django_assert_num_queries(4):  # their number, and three batches
        assert names(walk) == list(NAMES)
    assert (walk.seen("patients"), names(walk)) == (5, [])


@pytest.mark.usefixtures("five")
def test_a_walk_that_was_broken_off_goes_on_behind_the_last_whole_batch(tmp_path: Path) -> None:
    path = tmp_path / "place.json"
    walk = Walk(place=Place(path))
    steps = walk.over("patients", Patient.objects.all(), batch=2)
    next(steps), next(steps)  # the second batch was handed out, and nobody knows what became of it
    walk.place.keep()
    again = Walk(place=Place.kept_in(path))
    assert names(again) == ["Cedar", "Dale", "Elm"]
    assert again.seen("patients") == 5


@pytest.mark.usefixtures("five")
def test_the_doctor_goes_on_and_repeats_what_it_found_before(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    stop = ["Dale"]

    def check(walk: Walk) -> Iterator[Diagnosis]:
        for batch in walk.over("patients", Patient.objects.all(), batch=1):
            if batch[0].family_name in stop:
                raise BrokenOff
            if batch[0].family_name in ("Birch", "Elm"):
                yield wrong(batch[0].family_name, "Look.")
        yield ok(f"{walk.seen('patients')} seen")

    monkeypatch.setattr(registry, "_checks", {})
    monkeypatch.setattr(registry, "_long_checks", {"patients": check})
    monkeypatch.setattr("dispensing.doctor.walk.SECONDS_BETWEEN_WORDS", 0.0)
    told: list[str] = []
    path = tmp_path / "place.json"
    with pytest.raises(BrokenOff):
        list(diagnose(Walk(place=Place(path), tell=told.append)))
    assert told == ["patients: 1 of 5", "patients: 2 of 5", "patients: 3 of 5"]
    stop.clear()
    found = [diagnosis for _, diagnosis in diagnose(Walk(place=Place.kept_in(path), tell=told.append))]
    assert [(one.level, one.said) for one in found] == [
        (Level.WRONG, "Birch"),
        (Level.WRONG, "Elm"),
        (Level.OK, "5 seen"),
    ]
    assert told[3:] == ["patients: 4 of 5", "patients: 5 of 5", "patients: 5 of 5"]
    assert not path.exists(), "All is done: the next time begins from the start."


def test_of_very_many_alike_the_first_are_listed_and_the_others_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(registry, "_checks", {})
    monkeypatch.setattr(registry, "_long_checks", {"many": lambda walk: (wrong(str(n), "Look.") for n in range(105))})
    said = [diagnosis.said for _, diagnosis in diagnose()]
    assert (len(said), said[99], said[100]) == (101, "99", "5 more like these")


def test_since_leaves_out_what_was_written_before() -> None:
    before, after = (record(actor=None, verb="patient.register") for _ in range(2))
    Sealer().seal()
    seal = Seal.objects.get()
    for row in (before, after):
        change(row, verb="patient.correct")
    found = [f"audit event {row.pk} (patient.correct None) was changed after it was sealed" for row in (before, after)]
    assert list(breaks(Walk(since=seal.sealed_at))) == found
    assert list(breaks(Walk(since=seal.sealed_at + timedelta(seconds=1)))) == []
    assert AuditEvent.objects.count() == 2


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--only", "teeth"], "There is no check teeth; those are"),
        (["--since", "yesterday"], "yesterday is no day, as in 2026-11-30"),
        (["--head", "7:abc"], "7:abc is no number and hash of a seal"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence(options: list[str], says: str) -> None:
    with pytest.raises(CommandError, match=says):
        call_command("doctor", *options)


def test_a_kept_place_that_cannot_be_read_is_said(settings: Settings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    (tmp_path / "doctor-place.json").write_text("[")
    with pytest.raises(CommandError, match="call the doctor without --go-on"):
        call_command("doctor", "--go-on")
    out = io.StringIO()
    call_command("doctor", "--only", "staff", stdout=out)
    assert "staff" in out.getvalue()
