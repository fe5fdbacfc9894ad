"""Measuring from photos: starting, adding photos, deleting them, and using the figures as a fitting.

A photo is judged by what the file contains, rewritten without its metadata, and stored under a random name that no
address reaches; the metadata that the geometry needs is kept as a number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from django.db import transaction
from django.utils import timezone

from dispensing.decoding.pictures import read_photo, thumbnail
from dispensing.fitting.on_record import told_of
from dispensing.fitting.photos import LARGEST_FILE_BYTES, PhotoRefused
from dispensing.models import Fitting, FittingPhoto, Frame, Patient, PhotoMeasuring, StaffUser
from dispensing.services.audit import record
from dispensing.services.files import delete_after_commit, keep
from dispensing.services.fittings import FigureTaken, FittingRefused, change_fitting, record_fitting

MOST_PHOTOS = 12


def start_measuring(*, actor: StaffUser, patient: Patient, frame: Frame, near_distance_mm: int) -> PhotoMeasuring:
    """Starts a measuring with no photos yet. Raises FittingRefused for another patient's frame."""
    if frame.owner_id not in (None, patient.pk):
        raise FittingRefused("This frame belongs to another patient.")
    measuring = PhotoMeasuring(patient=patient, frame=frame, near_distance_mm=near_distance_mm, started_by=actor)
    measuring.full_clean()
    with transaction.atomic():
        measuring.save()
        record(actor=actor, verb="photo-fitting.start", target=measuring, patient=patient)
    return measuring


def add_photo(
    *,
    actor: StaffUser,
    measuring: PhotoMeasuring,
    view: str,
    content: bytes,
    pitch_deg: float | None = None,
    renewed: bool = False,
) -> FittingPhoto:
    """Store a photo. Raises PhotoRefused with what is wrong with the file, FittingRefused if none may be added.

    ``pitch_deg``: how far the camera pointed up as its own sensor told, if it did. ``renewed``: the patient looked away
    and back since the last photo.
    """
    _may_take_one_more(measuring)  # before the picture is decoded, and again when it is kept
    photo = read_photo(content)
    stored = FittingPhoto(
        measuring=measuring,
        view=view,
        width_px=photo.width_px,
        height_px=photo.height_px,
        focal_px=photo.focal_px,
        focal_percent=photo.focal_percent,
        added_by=actor,
    )
    stored.marks = told_of(view, photo.focal_lost, pitch_deg, renewed=renewed)
    stored.full_clean(exclude=["file", "thumbnail"])
    small = thumbnail(photo.jpeg)
    with transaction.atomic():
        _may_take_one_more(open_and_locked(measuring))
        stored.sha256 = keep(stored.file, photo.jpeg, "jpg")
        keep(stored.thumbnail, small, "jpg")
        stored.save()
        record(actor=actor, verb="photo.add", target=stored, patient=measuring.patient, changes={"view": view})
    return stored


def too_large(size: int) -> PhotoRefused | None:
    """The refusal for a file of ``size`` bytes, before it is read into memory."""
    if size <= LARGEST_FILE_BYTES:
        return None
    return PhotoRefused(
        f"The file has {size / 1e6:.0f} MB; at most {LARGEST_FILE_BYTES / 1e6:.0f} MB are taken. Send it as JPEG."
    )


def delete_picture(*, actor: StaffUser, photo: FittingPhoto) -> None:
    """Delete the picture for good; its marks stay, and with them the figures that came from it."""
    with transaction.atomic():
        held = FittingPhoto.objects.select_for_update(of=("self",)).filter(pk=photo.pk).first()
        if held is None or not held.file:
            return  # a colleague has already deleted it
        record(actor=actor, verb="photo.delete-picture", target=held, patient=photo.measuring.patient)
        delete_after_commit([held.file, held.thumbnail])
        held.file, held.thumbnail = "", ""
        held.save(update_fields=["file", "thumbnail"])


def remove_photo(*, actor: StaffUser, photo: FittingPhoto) -> None:
    """Remove a photo and its marks, so that it no longer counts. Raises FittingRefused once its figures are used."""
    with transaction.atomic():
        open_and_locked(photo.measuring)
        record(actor=actor, verb="photo.remove", target=photo, patient=photo.measuring.patient)
        delete_after_commit([photo.file, photo.thumbnail])
        photo.delete()


def discard_measuring(*, actor: StaffUser, measuring: PhotoMeasuring) -> None:
    """Delete a measuring that was never used, with all its pictures. Raises FittingRefused once it is used."""
    with transaction.atomic():
        measuring = open_and_locked(measuring)
        record(actor=actor, verb="photo-fitting.discard", target=measuring, patient=measuring.patient)
        for photo in measuring.photos.all():
            delete_after_commit([photo.file, photo.thumbnail])
        measuring.delete()


def use_figures(
    *,
    actor: StaffUser,
    measuring: PhotoMeasuring,
    figures: Iterable[FigureTaken],
    measured_on: date,
    taken_by: StaffUser | None = None,
    into: Fitting | None = None,
    pre_adjusted: bool = False,
    as_marked: Mapping[int, int] | None = None,
) -> Fitting:
    """Record figures from the photos as a new fitting, or add them to the fitting ``into``. Raises FittingRefused.

    ``pre_adjusted``: the frame was adjusted on the face before the photos were taken. ``as_marked``: the version of
    each marked photo, by its key, from which the figures were worked out; None if nobody else can have marked since.
    """
    chosen = list(figures)
    if not chosen:
        raise FittingRefused("No figure is chosen. Tick at least one.")
    with transaction.atomic():
        measuring = open_and_locked(measuring)
        _must_be_as_marked(measuring, as_marked)
        if into is None:
            fitting = record_fitting(
                actor=actor,
                patient=measuring.patient,
                frame=measuring.frame,
                measured_on=measured_on,
                taken_by=taken_by,
                figures=chosen,
                near_distance_mm=measuring.near_distance_mm,
                pre_adjusted=pre_adjusted,
            )
        else:
            fitting = _added_to(into, measuring, chosen, actor, taken_by, pre_adjusted)
        measuring.fitting, measuring.finished_at, measuring.finished_by = fitting, timezone.now(), actor
        measuring.save(update_fields=["fitting", "finished_at", "finished_by"])
        record(actor=actor, verb="photo-fitting.use", target=measuring, patient=measuring.patient)
    return fitting


def _added_to(
    into: Fitting,
    measuring: PhotoMeasuring,
    chosen: list[FigureTaken],
    actor: StaffUser,
    taken_by: StaffUser | None,
    pre_adjusted: bool,
) -> Fitting:
    # Read again under its own lock: figures that another measuring has just added must not be removed.
    into = Fitting.objects.select_for_update(of=("self",)).get(pk=into.pk)
    if (into.patient_id, into.frame_id) != (measuring.patient_id, measuring.frame_id):
        raise FittingRefused("That fitting is of another patient or frame; these figures do not belong there.")
    replaced = {figure.place for figure in chosen}
    recorded = map(FigureTaken.recorded, into.measurements.all())
    kept = [figure for figure in recorded if figure.place not in replaced]
    fields = {"pre_adjusted": True} if pre_adjusted else {}
    return change_fitting(actor=actor, fitting=into, figures=[*kept, *chosen], fields=fields, taken_by=taken_by)


def open_and_locked(measuring: PhotoMeasuring) -> PhotoMeasuring:
    """The measuring as it is now, locked until the transaction ends. Raises FittingRefused if used or deleted."""
    held = PhotoMeasuring.objects.select_for_update(of=("self",)).filter(pk=measuring.pk).first()
    if held is None:
        raise FittingRefused(
            "This measurement from photos was deleted in the meantime. Start a new one to measure again."
        )
    _must_be_open(held)
    return held


def _must_be_open(measuring: PhotoMeasuring) -> None:
    if measuring.finished:
        raise FittingRefused(
            "The figures of this measurement have already been used; start a new one to measure again."
        )


def _may_take_one_more(measuring: PhotoMeasuring) -> None:
    _must_be_open(measuring)
    if measuring.photos.count() >= MOST_PHOTOS:
        raise FittingRefused(f"{MOST_PHOTOS} photos at most belong to one measurement. Delete one first.")


def _must_be_as_marked(measuring: PhotoMeasuring, as_marked: Mapping[int, int] | None) -> None:
    now = {photo.pk: photo.version for photo in measuring.photos.all() if photo.marked}
    if as_marked is not None and now != as_marked:
        raise FittingRefused("The marks were changed while the figures were being used. Look at them, then use them.")
