"""Which pairs two people read, in a practice that wants it: why this one, in words. Must never know who reads."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from dispensing.trade.facts import figure
from orders.documents.finished_pair import FinishedReadings, FinishedVerdict
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import EYES, LensOrder
from orders.verification.ordered import OrderedEye, ordered_eye

SUBJECT = "second-reader"


def why_second_reader(
    order: LensOrder,
    verdict: FinishedVerdict,
    chosen: Collection[str],
    *,
    protected: str = "",
    readings: FinishedReadings | None = None,
    catalogue: LensCatalogue | None = None,
) -> tuple[str, ...]:
    """The reasons, in words, why a second person reads this pair; empty if none does.

    chosen: what the practice chose, by the words of its settings; protected: why the patient is, if so.
    """
    read = readings or FinishedReadings(format="finished-readings/1")
    lenses = [lens for eye in EYES if (lens := ordered_eye(order, read, eye, catalogue)) is not None]
    return tuple(words for key, words in _reasons(lenses, verdict, protected) if key in chosen)


def _reasons(lenses: list[OrderedEye], verdict: FinishedVerdict, protected: str) -> Iterator[tuple[str, str]]:
    yield "every", "Here two people read every pair."
    if any(lens.lens_class == "progressive" for lens in lenses):
        yield "progressive", "The lenses are progressive."
    if any(lens.prism.amount_pd for lens in lenses):
        yield "prism", "Prism is prescribed."
    if any(_is_strong(lens) for lens in lenses):
        yield "strong", "A power is strong."
    if protected:
        yield "protected", f"The patient {protected}."
    if any(item.result == "borderline" for item in verdict.items):
        yield "borderline", "A figure is borderline."


def _is_strong(lens: OrderedEye) -> bool:
    strongest = lens.power.strongest_d or 0.0
    return strongest >= figure(SUBJECT, "strong_d") or abs(lens.cylinder) >= figure(SUBJECT, "cylinder_d")
