"""Reading measurings from photos: lists of the unfinished, one measuring with its photos, and what they measure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Count, Prefetch, QuerySet

from dispensing.fitting.as_worn import as_worn, tells_vertex
from dispensing.fitting.combine import combine
from dispensing.fitting.documents import Fitting as Measured
from dispensing.fitting.documents import FittingPoints, Unlikely
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
class Doubted:
    """Unlikely figures that one photo, or a front photo with the side photo beside it, gave.

    ``whose``: ``Photo 2`` or ``Photos 1 and 3``, as the page numbers them; empty where only one result was to be had.
    """

    whose: str
    unlikely: tuple[Unlikely, ...]


@dataclass(frozen=True)
class PhotosMeasured:
    """``fitting``: the best of all photos. ``disagreements``: what cannot all be right. ``used``: photos with marks.

    ``versions``: of the marks that were measured, by the key of their photo.
    """

    fitting: Measured
    disagreements: tuple[str, ...]
    doubted: tuple[Doubted, ...]
    versions: Mapping[int, int]

    @property
    def used(self) -> int:
        return len(self.versions)


def measured_from(measuring: PhotoMeasuring) -> PhotosMeasured | None:
    """What all marked photos of a measuring say together; None while nothing is marked."""
    photos = list(measuring.photos.all())
    marked = [photo for photo in photos if photo.marked]
    if not marked:
        return None
    fronts, sides = ([photo for photo in marked if photo.view == view] for view in (PhotoView.FRONT, PhotoView.SIDE))
    points = {photo.pk: points_of(photo, measuring.frame, measuring.near_distance_mm) for photo in marked}
    vertex_known = any(tells_vertex(points[photo.pk]) for photo in sides)
    curve = measuring.frame.front_curve_d

    def worn(of: list[FittingPhoto]) -> list[FittingPoints]:
        front_curve_d = None if curve is None else float(curve)
        return [as_worn(points[photo.pk], vertex_known=vertex_known, front_curve_d=front_curve_d) for photo in of]

    results = measure_several(worn(fronts), worn(sides))
    behind = [(front, *sides[place : place + 1]) for place, front in enumerate(fronts)]
    behind += [(side,) for side in sides[len(fronts) :]]
    names = [_named(of, photos) if len(results) > 1 else "" for of in behind]
    combined = combine(results)
    reasons = (*_reasons(results, names), *combined.disagreements)
    return PhotosMeasured(
        combined.fitting.model_copy(update={"retake": reasons}),
        combined.disagreements,
        _doubted(results, names),
        {photo.pk: photo.version for photo in marked},
    )


def _named(of: Sequence[FittingPhoto], photos: list[FittingPhoto]) -> str:
    numbers = [str(photos.index(photo) + 1) for photo in of]
    return f"Photo{'s' if len(numbers) > 1 else ''} {' and '.join(numbers)}"


def _reasons(results: Sequence[Measured], names: Sequence[str]) -> Iterator[str]:
    """Each reason once, with the photos it is said of; one that holds for all of them without."""
    whose: dict[str, list[str]] = {}
    for result, name in zip(results, names, strict=True):
        for reason in result.retake:
            whose.setdefault(reason, []).append(name)
    for reason, of in whose.items():
        yield reason if len(of) == len(results) else f"{', '.join(of)}: {reason}"


def _doubted(results: Sequence[Measured], names: Sequence[str]) -> tuple[Doubted, ...]:
    told: set[str] = set()
    found = []
    for result, name in zip(results, names, strict=True):
        # A side photo that helps several front photos is doubted once.
        unlikely = tuple(one for one in result.unlikely if one.message not in told)
        told |= {one.message for one in unlikely}
        if unlikely:
            found.append(Doubted(name, unlikely))
    return tuple(found)


def first_marked_side(photo: FittingPhoto) -> FittingPhoto | None:
    """The side photo whose vertex distance serves a front photo of the same measuring."""
    others = FittingPhoto.objects.filter(measuring=photo.measuring_id, view=PhotoView.SIDE).order_by("pk")
    return next((other for other in others if other.marked), None)


def latest_by_hand(patient: Patient, frame: Frame) -> Fitting | None:
    """The latest fitting in this frame that has a figure not taken from photos."""
    in_frame = fittings().filter(patient=patient, frame=frame)
    by_hand = in_frame.filter(measurements__method__in=[Method.RULE, Method.PUPILLOMETER, Method.GAUGE]).distinct()
    return by_hand.first()
