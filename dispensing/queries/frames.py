"""Reading frames: the stock by what is written on each frame, a patient's own, and the choice for a fitting."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Q, QuerySet

from dispensing.models import Frame, Patient
from dispensing.queries.paging import ROWS_A_PAGE, Page, page_of

# 52□18, 52-18, 52/18, 52x18: as stamped inside a side.
_SIZE = re.compile(r"(\d{2}(?:[.,]\d)?)\s*[□x×/-]\s*(\d{2}(?:[.,]\d)?)", re.IGNORECASE)
MOST_WORDS = 8


@dataclass(frozen=True)
class FrameSearch:
    """``text``: words of model, colour or stock number, and a size; ``mount``: a mount's value, or empty for all."""

    text: str = ""
    mount: str = ""
    withdrawn: bool = False


def stock_page(search: FrameSearch, *, after: str = "", size: int = ROWS_A_PAGE) -> Page[Frame]:
    """Frames of the stock by model, one query a page. The radii are left out: a list draws no shapes."""
    return page_of(stock(search).defer("radii_mm"), order=("model", "pk"), after=after, size=size)


def stock(search: FrameSearch) -> QuerySet[Frame]:
    frames = Frame.objects.filter(owner__isnull=True)
    if not search.withdrawn:
        frames = frames.filter(withdrawn=False)
    if search.mount:
        frames = frames.filter(mount=search.mount)
    size = _SIZE.search(search.text)
    if size:
        frames = frames.filter(_about("a_mm", size[1]), _about("dbl_mm", size[2]))
    for word in _SIZE.sub(" ", search.text).split()[:MOST_WORDS]:
        frames = frames.filter(_says(word))
    return frames


def own_frames(patient: Patient) -> QuerySet[Frame]:
    """The patient's own frames, newest first."""
    return Frame.objects.filter(owner=patient).defer("radii_mm").order_by("-added_at", "-pk")


def _says(word: str) -> Q:
    told = Q(model__icontains=word) | Q(colour__icontains=word) | Q(stock_number__istartswith=word)
    if re.fullmatch(r"\d{2}", word):
        told |= _about("a_mm", word)
    return told


def _about(field: str, written: str) -> Q:
    """A stamped size is a whole number: 52 means 51.5 up to 52.5."""
    value = Decimal(written.replace(",", "."))
    half = Decimal("0.5") if value == value.to_integral_value() else Decimal("0.05")
    return Q(**{f"{field}__gte": value - half, f"{field}__lt": value + half})
