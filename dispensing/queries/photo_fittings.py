"""Reading measurings from photos: the unfinished ones, one measuring with its photos, and what the photos measure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypedDict

from django.db.models import Count, Prefetch, QuerySet
from django.utils import timezone

from dispensing.ages import years_between
from dispensing.fitting.documents import Fitting as Measured
from dispensing.fitting.documents import FittingPoints
from dispensing.fitting.on_record import FrameFacts, PhotoFacts, composed
from dispensing.fitting.several import SheetMeasured, measure_groups
from dispensing.models import Fitting, FittingPhoto, Frame, Measurement, Patient, PhotoMeasuring, StaffUser
from dispensing.models.fittings import BY_HAND, Quantity
from dispensing.models.photos import PhotoView
from dispensing.queries.fittings import fittings
from dispensing.queries.limits import limits_in_force

MOST_LISTED = 12

if TYPE_CHECKING:
    from django_stubs_ext import WithAnnotations

    class HowManyPhotos(TypedDict):
        photo_count: int

    CountedMeasuring = WithAnnotations[PhotoMeasuring, HowManyPhotos]


def photo_measurings() -> QuerySet[PhotoMeasuring]:
    """Measurings with everything their page shows, in two queries."""
    photos = FittingPhoto.objects.select_related("added_by", "marked_by").order_by("view", "pk")
    people = ("patient", "frame", "started_by", "finished_by", "fitting")
    return PhotoMeasuring.objects.select_related(*people).prefetch_related(Prefetch("photos", photos))


def unfinished_measurings(patient: Patient | None = None, frame: Frame | None = None) -> QuerySet[CountedMeasuring]:
    """The latest dozen measurings whose figures have not been used yet, newest first, with ``photo_count``."""
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
    """``sheet``: what all marked photos measure together. ``versions``: the versions of the marks, by photo key.

    ``taken_on``: the day the first photo was added. ``taken_by``: the last person to mark, if known.
    """

    sheet: SheetMeasured
    versions: Mapping[int, int]
    taken_on: date
    taken_by: StaffUser | None

    @property
    def fitting(self) -> Measured:
        return self.sheet.fitting

    @property
    def used(self) -> int:
        return len(self.versions)

    @property
    def readings(self) -> int:
        """In how many postures the PDs and heights were read: photos of one posture are one reading."""
        counted = [len(found) for name, found in self.sheet.readings.items() if name.endswith((".pd_mm", ".height_mm"))]
        return max(counted, default=1)


def measured_from(measuring: PhotoMeasuring) -> PhotosMeasured | None:
    """What all marked photos of a measuring measure together; None while nothing is marked."""
    photos = {number: photo for number, photo in _numbered(measuring.photos.all()) if photo.marked}
    if not photos:
        return None
    facts = [photo_facts(photo, number) for number, photo in photos.items()]
    groups = composed(facts, frame_facts(measuring.frame), measuring.near_distance_mm, _age_of_wearer(measuring))
    marked = list(photos.values())
    by_somebody = [photo for photo in marked if photo.marked_by]
    last = max(by_somebody, key=lambda photo: photo.marked_at or photo.added_at, default=None)
    return PhotosMeasured(
        sheet=measure_groups(groups, limits_in_force()),
        versions={photo.pk: photo.version for photo in marked},
        taken_on=timezone.localdate(min(photo.added_at for photo in marked)),
        taken_by=last.marked_by if last else None,
    )


def points_in_hand(photo: FittingPhoto, marks: Any = None) -> FittingPoints:
    """The points used to measure one photo while it is being marked: the same as for all photos, side photo included.

    ``marks``: used instead of the stored ones. Raises InvalidDocument for bad marks.
    """
    measuring = photo.measuring
    others = [other for other in measuring.photos.all() if other.pk != photo.pk]
    numbers = {one.pk: number for number, one in _numbered([*others, photo])}
    in_hand = photo_facts(photo, numbers[photo.pk], marks)
    # A side photo only gives its own figures; a front photo is measured together with the side photo that helps it.
    beside = [photo_facts(one, numbers[one.pk]) for one in others if photo.view == PhotoView.FRONT and one.marked]
    facts = sorted([in_hand, *beside], key=lambda one: one.number)
    groups = composed(facts, frame_facts(measuring.frame), measuring.near_distance_mm, _age_of_wearer(measuring))
    return next(group.points for group in groups if group.numbers[0] == in_hand.number)


def next_unmarked(photo: FittingPhoto) -> FittingPhoto | None:
    """The next photo of the same measuring that waits to be marked, those added later first."""
    others = [one for one in photo.measuring.photos.all() if one.pk != photo.pk and not one.marked]
    return min(others, key=lambda one: (one.pk < photo.pk, one.pk), default=None)


def _age_of_wearer(measuring: PhotoMeasuring) -> int | None:
    return years_between(measuring.patient.born_on, timezone.localdate())


def photo_facts(photo: FittingPhoto, number: int = 1, marks: Any = None) -> PhotoFacts:
    """A photo in the form that the core takes. ``marks``: used instead of the stored ones."""
    return PhotoFacts(
        number=number,
        view="front" if photo.view == PhotoView.FRONT else "side",
        width_px=photo.width_px,
        height_px=photo.height_px,
        focal_px=photo.focal_px,
        focal_percent=photo.focal_percent,
        marks=photo.marks if marks is None else marks,
    )


def frame_facts(frame: Frame) -> FrameFacts:
    """What the core is told about a frame."""
    return FrameFacts(*(_number(size) for size in (frame.a_mm, frame.b_mm, frame.dbl_mm, frame.front_curve_d)))


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _numbered(photos: Iterable[FittingPhoto]) -> list[tuple[int, FittingPhoto]]:
    """The photos numbered as on the page: front photos first, in the order they were added."""
    return list(enumerate(sorted(photos, key=lambda photo: (photo.view, photo.pk)), start=1))


def face_form_of(patient: Patient, frame: Frame) -> float | None:
    """The face form last measured for this frame on this patient, degrees."""
    measured = Measurement.objects.filter(
        fitting__patient=patient, fitting__frame=frame, quantity=Quantity.FACE_FORM
    ).order_by("-fitting__measured_on", "-pk")
    latest = measured.first()
    return None if latest is None else float(latest.value)


def latest_by_hand(patient: Patient, frame: Frame) -> Fitting | None:
    """The latest fitting in this frame that has a figure not taken from photos."""
    in_frame = fittings().filter(patient=patient, frame=frame)
    return in_frame.filter(measurements__method__in=BY_HAND).distinct().first()
