"""Recording, correcting and copying fittings: figures for one patient in one frame, each with its ± and who took it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from dispensing.fitting.by_hand import figure_from_readings
from dispensing.models import Fitting, Frame, Measurement, Patient, StaffUser
from dispensing.models.fittings import Method, Quantity
from dispensing.optics.rounding import hundredths
from dispensing.services.audit import differing, in_words, record
from dispensing.services.meanwhile import require_version, save_next_version
from dispensing.services.patients import mark_seen

# Figures of the eyes stay valid when the patient changes frame; all others belong to this frame on the face.
BELONGS_TO_THE_EYES = (Quantity.PD, Quantity.NEAR_PD, Quantity.BINOCULAR_PD)


class FittingRefused(ValueError):
    """Why a fitting was not recorded, worded for the person who asked."""


@dataclass(frozen=True)
class FigureTaken:
    """Readings in mm or degrees. ``plus_minus``: given only if it is known better than from the method.

    ``value``: given only if it is known better than as the mean of the readings; surer photos count for more.
    """

    quantity: str
    eye: str
    readings: tuple[float, ...]
    method: str = Method.RULE
    plus_minus: float | None = None
    value: float | None = None

    @classmethod
    def recorded(cls, row: Measurement) -> FigureTaken:
        """A figure of a fitting as it was taken."""
        return cls(row.quantity, row.eye, readings_of(row), row.method, _known(row), float(row.value))

    @property
    def place(self) -> tuple[str, str]:
        return str(self.quantity), str(self.eye)

    def columns(self) -> dict[str, Any]:
        """The figure as stored: the raw mean to 0.01, never rounded to the practice's step."""
        figure = figure_from_readings(self.readings, self.quantity, self.method)
        plus_minus = figure.plus_minus if self.plus_minus is None else self.plus_minus
        return {
            "value": _stored(figure.value if self.value is None else self.value),
            "plus_minus": None if plus_minus is None else _stored(plus_minus),
            "method": str(self.method),
            "readings": [hundredths(reading) for reading in self.readings] if len(self.readings) > 1 else [],
        }


def readings_of(row: Measurement) -> tuple[float, ...]:
    """The single readings of a figure; its value if only one was taken."""
    return tuple(row.readings) or (float(row.value),)


def _known(row: Measurement) -> float | None:
    return None if row.plus_minus is None else float(row.plus_minus)


def _stored(value: float) -> Decimal:
    return Decimal(str(hundredths(value))).quantize(Decimal("0.01"))


def record_fitting(
    *,
    actor: StaffUser,
    patient: Patient,
    frame: Frame,
    measured_on: date,
    figures: Iterable[FigureTaken],
    taken_by: StaffUser | None = None,
    **details: Any,
) -> Fitting:
    """Records a new fitting. ``details``: pre_adjusted, near_distance_mm, notes. Raises FittingRefused."""
    _may_wear(patient, frame)
    taken = list(figures)
    if not taken:
        raise FittingRefused("No figure was typed. Enter at least one measurement.")
    fitting = Fitting(
        patient=patient,
        frame=frame,
        frame_sizes=frame.boxed_sizes,
        measured_on=measured_on,
        recorded_by=actor,
        **details,
    )
    fitting.full_clean()
    with transaction.atomic():
        fitting.save()
        changes = in_words(_write_figures(fitting, taken, taken_by or actor))
        mark_seen(patient)
        record(actor=actor, verb="fitting.record", target=fitting, patient=patient, changes=changes)
    return fitting


def change_fitting(
    *,
    actor: StaffUser,
    fitting: Fitting,
    figures: Iterable[FigureTaken],
    fields: dict[str, Any],
    taken_by: StaffUser | None = None,
    measured_again: bool = False,
    version: int | None = None,
) -> Fitting:
    """Corrects a fitting; a figure left out is removed. ``measured_again``: it was measured in the frame as it is now.

    ``version``: the one the change is based on. Raises FittingRefused, ChangedMeanwhile.
    """
    taken = list(figures)
    if not taken:
        raise FittingRefused("No figure is left. A fitting needs at least one measurement.")
    with transaction.atomic():
        fitting = Fitting.objects.select_for_update(of=("self",)).select_related("frame", "patient").get(pk=fitting.pk)
        wanted = dict(fields)
        if measured_again:
            wanted["frame_sizes"] = fitting.frame.boxed_sizes
        changed = differing({name: getattr(fitting, name) for name in wanted}, wanted)
        for name in changed:
            setattr(fitting, name, wanted[name])
        fitting.full_clean()
        changes = changed | _write_figures(fitting, taken, taken_by or actor)
        require_version(fitting, version, changes)
        if changes:
            save_next_version(fitting, changed)
            told = in_words(changes)
            record(actor=actor, verb="fitting.change", target=fitting, patient=fitting.patient, changes=told)
    return fitting


def copy_to_frame(*, actor: StaffUser, fitting: Fitting, frame: Frame, copied_on: date) -> Fitting:
    """A fitting in another frame with the PDs of this one. Heights, vertex and angles depend on the frame: left out."""
    copied = [row for row in fitting.measurements.select_related("taken_by") if row.quantity in BELONGS_TO_THE_EYES]
    if not copied:
        raise FittingRefused("This fitting holds no PD; there is nothing that may go with another frame.")
    if frame.pk == fitting.frame_id:
        raise FittingRefused("That is the frame this fitting was taken in. Choose another.")
    with transaction.atomic():
        new = record_fitting(
            actor=actor,
            patient=fitting.patient,
            frame=frame,
            measured_on=copied_on,
            near_distance_mm=fitting.near_distance_mm,
            figures=[_copied(row) for row in copied],
        )
        takers = {(row.quantity, row.eye): row.taken_by for row in copied}
        for row in new.measurements.all():
            row.taken_by = takers[row.quantity, row.eye]
            row.save(update_fields=["taken_by"])
    return new


def _copied(row: Measurement) -> FigureTaken:
    return FigureTaken(row.quantity, row.eye, (float(row.value),), Method.COPIED, _known(row))


def _may_wear(patient: Patient, frame: Frame) -> None:
    if frame.owner_id not in (None, patient.pk):
        raise FittingRefused("This frame belongs to another patient.")


def _write_figures(
    fitting: Fitting, taken: list[FigureTaken], taken_by: StaffUser
) -> dict[str, tuple[str | None, str | None]]:
    """Adds, corrects and removes single figures; returns what changed as ``pd_mm right: (old, new)``."""
    stored = {(row.quantity, row.eye): row for row in fitting.measurements.all()}
    changes: dict[str, tuple[str | None, str | None]] = {}
    for figure in taken:
        row = stored.pop(figure.place, None)
        columns = figure.columns()
        if row is not None and all(getattr(row, name) == value for name, value in columns.items()):
            continue
        before = None if row is None else _in_words(row)
        row = row or Measurement(fitting=fitting, quantity=figure.quantity, eye=figure.eye)
        for name, value in {**columns, "taken_by": taken_by}.items():
            setattr(row, name, value)
        row.full_clean()
        row.save()
        changes[" ".join(figure.place)] = (before, _in_words(row))
    for place, row in stored.items():
        row.delete()
        changes[" ".join(place)] = (_in_words(row), None)
    return changes


def _in_words(row: Measurement) -> str:
    return f"{row.value:.2f} ({row.get_method_display().lower()}, {row.reading_count})"
