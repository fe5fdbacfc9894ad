"""What the practice usually orders from a lab: set by a manager, and what a new draft begins with.

It is only where a draft begins: the desk tells each of these as text, and whatever is chosen there instead counts.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db import transaction

from dispensing.choice_words import USES
from dispensing.models import Fitting, Practice, Prescription, StaffUser
from dispensing.optics.conventions import EYES
from dispensing.services.audit import differing, in_words, record
from dispensing.services.meanwhile import require_version, save_next_version
from orders.documents.key_words import value_in_words
from orders.documents.lens_catalogue import LensCatalogue
from orders.facts import catalogue_document, fitting_part
from orders.models import Lab
from orders.options.corridors import suggested_corridor
from orders.queries import latest_lab
from orders.rules.dates import working_days_later
from orders.services.drafts import catalogue_in_use

USUAL_FIELDS = ("usual", "usual_supply", "usual_frame_source", "usual_lenses")


@transaction.atomic
def set_usual(*, lab: Lab, actor: StaffUser | None, version: int | None = None, **fields: Any) -> Lab:
    """Say what is usually ordered from a lab. ``fields``: any of USUAL_FIELDS; only one lab is the usual one.

    Raises `ValidationError`, `ChangedMeanwhile`.
    """
    lab = Lab.objects.select_for_update().get(pk=lab.pk)
    changes = differing({name: getattr(lab, name) for name in fields}, fields)
    require_version(lab, version, changes)
    if changes.get("usual", (None, False))[1]:
        for other in Lab.objects.select_for_update().filter(usual=True).exclude(pk=lab.pk):
            _write(other, {"usual": (True, False)}, actor)
    _write(lab, changes, actor)
    return lab


def _write(lab: Lab, changes: dict[str, Any], actor: StaffUser | None) -> None:
    for name, (_, after) in changes.items():
        setattr(lab, name, after)
    lab.full_clean()
    if changes:
        save_next_version(lab, changes)
        record(actor=actor, verb="lab.change", target=lab, changes=in_words(_by_name(lab, changes)))


def _by_name(lab: Lab, changes: dict[str, Any]) -> dict[str, Any]:
    """The changes with lenses by the names of the catalogue, for people to read."""
    if "usual_lenses" not in changes:
        return changes
    row = catalogue_in_use(lab)
    catalogue = catalogue_document(row) if row else None
    return changes | {"usual_lenses": tuple(_in_words(lenses, catalogue) for lenses in changes["usual_lenses"])}


def _in_words(lenses: dict[str, Any] | None, catalogue: LensCatalogue | None) -> str | None:
    said = []
    for use, lens in (lenses or {}).items():
        names = [value_in_words(f"lenses.right.{key}", value, catalogue) for key, value in lens.items() if value]
        said.append(f"{USES[use]}: {', '.join(names)}")
    return "; ".join(said) or None


def usual_lab() -> Lab | None:
    """The lab marked as the usual one if it takes orders, else the one that the last order went to."""
    return Lab.objects.filter(usual=True, active=True).first() or latest_lab()


def usual_job(lab: Lab | None, today: date) -> dict[str, Any]:
    """What the lab supplies, how the frame gets there, and the day by which its usual working days are over."""
    if lab is None:
        return {}
    needed_on = working_days_later(today, lab.working_days)
    return {"supply": lab.usual_supply, "frame_source": lab.usual_frame_source, "needed_on": needed_on}


def usual_lenses(
    lab: Lab | None, prescription: Prescription | None, fitting: Fitting | None, use: str = ""
) -> dict[str, Any]:
    """The lenses of a draft with the usual design and treatments for this use, or for the prescription's own.

    A choice that the lab's catalogue no longer has is left out, and the corridor is the one that the heights suggest.
    """
    lens: dict[str, Any] = {"treatments": []}
    row = catalogue_in_use(lab)
    usual = (lab.usual_lenses if lab else {}).get(use or (prescription.use if prescription else ""))
    if row is not None and usual:
        lens = _on_offer(usual, catalogue_document(row), fitting)
    return {eye: {**lens, **_as_prescribed(prescription, eye)} for eye in EYES}


def _as_prescribed(prescription: Prescription | None, eye: str) -> dict[str, Any]:
    """A balance lens where the prescription has one."""
    line = prescription.eye(eye) if prescription else None
    return {"instruction": "balance"} if line is not None and line.balance else {}


def _on_offer(usual: dict[str, Any], catalogue: LensCatalogue, fitting: Fitting | None) -> dict[str, Any]:
    lens: dict[str, Any] = {"treatments": [code for code in usual.get("treatments", ()) if catalogue.treatment(code)]}
    design = catalogue.design(usual.get("design"))
    if design is None:
        return lens
    fitted = fitting_part(fitting, Practice.current()) if fitting else None
    corridor = suggested_corridor(design, fitted) if fitted else None
    return {**lens, "design": design.id} | ({"corridor_mm": corridor} if corridor is not None else {})
