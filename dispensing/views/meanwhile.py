"""Telling the second of two people who save, with both values side by side; what they typed stays in the form."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from django.http import HttpRequest

from dispensing.models.versions import Versioned
from dispensing.presentation.audit import field_in_words
from dispensing.services.audit import in_words
from dispensing.services.meanwhile import ChangedMeanwhile, Values

Saved = TypeVar("Saved")
NO_VERSION = 0
"""Versions start at 1, so a page that names none is never mistaken for one made from the record."""


def posted_version(request: HttpRequest) -> int:
    """The version of the record that the page was made from, as its form sends it back."""
    text = request.POST.get("version", "")
    # No count has more than nine digits, and a database refuses to compare much longer numbers.
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else NO_VERSION


def opened_on(request: HttpRequest, record: Versioned) -> int:
    """The version for the form to send back: that of the page first opened, even if the form comes back with faults."""
    return posted_version(request) if request.method == "POST" else record.version


def save_on_top(save: Callable[[int], Saved], version: int) -> Saved:
    """Save even if others have changed the record since ``version``, as long as they changed other fields.

    Raises ChangedMeanwhile if it would overwrite a field whose present value this person has not seen.
    """
    while True:
        try:
            return save(version)
        except ChangedMeanwhile as other:
            if other.both:
                raise
            version = other.version


def told_by_others(other: ChangedMeanwhile, what: str, fields: Values | None = None, *, otherwise: str = "") -> str:
    """``what``: as in "this fitting". ``fields``: the fields to report; if not given, those that both people changed.

    ``otherwise``: what to say if none of the differing fields can be put into words.
    """
    told = in_words(other.both if fields is None else fields)
    both = "; ".join(
        f"{field_in_words(name)} is now {now or 'empty'}, here {here or 'empty'}" for name, (now, here) in told.items()
    )
    return (
        f"While this page was open, {other.by or 'somebody'} changed {what}. {both or otherwise}. "
        "Save again to put what stands here in its place, or leave it unchanged."
    )
