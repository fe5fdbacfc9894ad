"""The lists of the record as files: their headings and rows, with days and times that a spreadsheet reads."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from django.utils import timezone

from dispensing.models import AuditEvent, Frame, Patient, StaffUser
from dispensing.presentation.audit import changes_told, verb_in_words

PATIENT_HEADS = ("Reference", "Family name", "Given names", "Born on", "Phone", "E-mail", "Preferred contact",
                 "Agrees to be contacted", "Last seen on")  # fmt: skip
FRAME_HEADS = ("Model", "Colour", "Stock number", "In stock", "Mount", "A mm", "B mm", "DBL mm", "ED mm",
               "Withdrawn")  # fmt: skip
AUDIT_HEADS = ("When", "By", "What", "Patient", "Record", "Version", "Changes")
STAFF_HEADS = ("Sign-in name", "Name", "Role", "Registered as", "May sign in")
YES_NO = {True: "yes", False: "no", None: "not asked"}


def patient_rows(patients: Iterable[Patient]) -> Iterator[list[str]]:
    for one in patients:
        seen = one.last_seen_on.isoformat() if one.last_seen_on else ""
        yield [one.reference, one.family_name, one.given_names, one.born_on.isoformat(), one.phone, one.email,
               one.get_preferred_contact_display(), YES_NO[one.may_be_contacted], seen]  # fmt: skip


def frame_rows(frames: Iterable[Frame]) -> Iterator[list[str]]:
    for one in frames:
        sizes = (
            "" if size is None else f"{size.normalize():f}" for size in (one.a_mm, one.b_mm, one.dbl_mm, one.ed_mm)
        )
        yield [one.model, one.colour, one.stock_number, str(one.in_stock), one.get_mount_display(), *sizes,
               YES_NO[one.withdrawn]]  # fmt: skip


def audit_rows(events: Iterable[AuditEvent]) -> Iterator[list[str]]:
    """Each change with its old and its new value, as the page tells it."""
    for event in events:
        told = (f"{one.field}: {f'{one.before} → ' if one.before else ''}{one.after}" for one in changes_told(event))
        yield [timezone.localtime(event.at).isoformat(timespec="seconds"), str(event.actor or "the program"),
               verb_in_words(event.verb), event.patient.reference if event.patient else "", event.record,
               str(event.version or ""), "; ".join(told)]  # fmt: skip


def staff_rows(people: Iterable[StaffUser]) -> Iterator[list[str]]:
    for one in people:
        yield [one.username, one.display_name, one.get_role_display(), one.registered_as, YES_NO[one.is_active]]
