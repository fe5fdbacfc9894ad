"""Telling the second of two savers, with both values side by side; what they typed stays in the form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dispensing.models import StaffUser
from dispensing.presentation.audit import field_in_words
from dispensing.views.requests import StaffRequest

OPENED_ON = "last_change"


def seen_by(request: StaffRequest) -> int | None:
    """What the page was opened on, as its form sends it back; None for what no page of ours sends."""
    text = request.POST.get(OPENED_ON, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 18 else None


def told_by_others(
    by: StaffUser | None, what: str, fields: Mapping[str, Sequence[str | None]], *, otherwise: str = ""
) -> str:
    """``fields``: the value of now and the one typed here, by field. ``what``: as in "this fitting".

    ``otherwise``: what to say when no field differs that can be told in words.
    """
    both = "; ".join(
        f"{field_in_words(name)} is now {now or 'empty'}, here {here or 'empty'}"
        for name, (now, here) in fields.items()
    )
    return (
        f"While this page was open, {by or 'somebody'} changed {what}. {both or otherwise}. "
        "Save again to put what stands here in its place, or leave it unchanged."
    )
