"""Reading measurings from photos: lists of the unfinished, one measuring with its photos, and what they measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Prefetch, QuerySet

from dispensing.fitting.combine import combine
from dispensing.fitting.documents import Fitting as Measured
from dispensing.fitting.documents import Unlikely
from dispensing.fitting.several import measure_several
from dispensing.models import Fitting, FittingPhoto, Frame, Patient, PhotoMeasuring
from dispensing.models.fittings import Method
from dispensing.models.photos import PhotoView
from dispensing.queries.fittings import fittings
from dispensing.queries.photo_points import points_of

MOST_LISTED = 12


def photo_measurings() -> QuerySet[PhotoMeasuring]:
    """Measurings with all that their page shows, in two queries."""
    photos = FittingPhoto.objects.select_related("added_by", "marked_by").order_by("view", "pk")
    people = ("patient", "frame", "started_by", "finished_by", "fitting")
    return PhotoMeasuring.objects.select_related(*people).prefetch_related(Prefetch("photos", photos))


def unfinished_measurings(patient: Patient | None = None, frame: Frame | None = None) -> QuerySet[PhotoMeasuring]:
    """Measurings whose figures were not used yet, newest first, with ``photo_count``; the latest dozen."""
    found = PhotoMeasuring.objects.filter(fitting=None).select_related("patient", "frame", "started_by")
    if patient is not None:
        found = found.filter(patient=patient)
    if frame is not None:
        found = found.filter(frame=frame)
    return found.annotate(photo_count=Count("photos")).order_by("-pk")[:MOST_LISTED]


def photos_with_measuring() -> QuerySet[FittingPhoto]:
    return FittingPhoto.objects.select_related("measuring__patient", "measuring__frame", "marked_by")


@dataclass(frozen=True)
class PhotosMeasured:
    """``fitting``: the best of all photos. ``disagreements``: what cannot all be right. ``used``: photos with marks."""

    fitting: Measured
    disagreements: tuple[str, ...]
    unlikely: tuple[Unlikely, ...]
    used: int


def measured_from(measuring: PhotoMeasuring) -> PhotosMeasured | None:
    """What all marked photos of a measuring say together; None while nothing is marked."""
    marked = [photo for photo in measuring.photos.all() if photo.marked]
    if not marked:
        return None
    by_view = {
        view: [points_of(photo, measuring.frame, measuring.near_distance_mm) for photo in marked if photo.view == view]
        for view in PhotoView.values
    }
    results = measure_several(by_view[PhotoView.FRONT], by_view[PhotoView.SIDE])
    combined = combine(results)
    return PhotosMeasured(combined.fitting, combined.disagreements, _once(results), len(marked))


def _once(results: Sequence[Measured]) -> tuple[Unlikely, ...]:
    found = {(one.eye, one.figure): one for result in reversed(results) for one in result.unlikely}
    return tuple(found.values())


def first_marked_side(photo: FittingPhoto) -> FittingPhoto | None:
    """The side photo whose vertex distance serves a front photo of the same measuring."""
    others = FittingPhoto.objects.filter(measuring=photo.measuring_id, view=PhotoView.SIDE).order_by("pk")
    return next((other for other in others if other.marked), None)


def latest_by_hand(patient: Patient, frame: Frame) -> Fitting | None:
    """The latest fitting in this frame that has a figure not taken from photos."""
    in_frame = fittings().filter(patient=patient, frame=frame)
    by_hand = in_frame.filter(measurements__method__in=[Method.RULE, Method.PUPILLOMETER, Method.GAUGE]).distinct()
    return by_hand.first()
