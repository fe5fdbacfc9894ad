"""Starts the drafts of several pairs from one prescription: distance and near, or progressive and office.

They share prescription, fitting, frame and lab; each says what it is for, and that there is another pair.
"""

from __future__ import annotations

from typing import Any, Final

from django.db import transaction

from dispensing.models import Patient, StaffUser
from orders.documents.lens_order import Use
from orders.models import Order
from orders.services.drafts import start_draft
from orders.services.usual import usual_lenses

PAIRS_AT_ONCE: Final[dict[str, tuple[Use, ...]]] = {
    "distance-and-near": ("distance", "near"),
    "progressive-and-office": ("distance_and_near", "intermediate"),
}


@transaction.atomic
def start_pairs(*, patient: Patient, actor: StaffUser, uses: tuple[Use, ...], **fields: Any) -> list[Order]:
    """One draft for each use, in that order, with the lenses usual for it. ``fields``: what they share.

    Raises `ValidationError`.
    """
    records = fields.get("lab"), fields.get("prescription"), fields.get("fitting")
    return [
        start_draft(
            patient=patient, actor=actor, **{"lenses": usual_lenses(*records, use), **fields}, use=use, other_pair=True
        )
        for use in uses
    ]
