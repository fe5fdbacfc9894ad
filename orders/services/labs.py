"""Sets up labs, with each change on the audit trail."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from dispensing.models import StaffUser
from dispensing.services.audit import changed_fields, differing, in_words, record
from dispensing.services.meanwhile import require_version, save_next_version
from orders.models import Lab

LAB_FIELDS = ("name", "account", "way", "email", "wants_json", "url", "folder", "phone", "working_days", "active")


@transaction.atomic
def add_lab(*, actor: StaffUser | None, **fields: Any) -> Lab:
    """Add a lab. ``fields``: any of LAB_FIELDS. Raises `ValidationError`."""
    lab = Lab(**fields)
    lab.full_clean()
    lab.save()
    record(actor=actor, verb="lab.add", target=lab, changes=changed_fields({}, fields))
    return lab


@transaction.atomic
def change_lab(*, lab: Lab, actor: StaffUser | None, version: int | None = None, **fields: Any) -> Lab:
    """Change a lab, writing only the fields that differ. ``version``: the version that the person saw.

    Raises `ValidationError`, `ChangedMeanwhile`.
    """
    lab = Lab.objects.select_for_update().get(pk=lab.pk)
    changes = differing({name: getattr(lab, name) for name in fields}, fields)
    require_version(lab, version, changes)
    for name in changes:
        setattr(lab, name, fields[name])
    lab.full_clean()
    if changes:
        save_next_version(lab, changes)
        record(actor=actor, verb="lab.change", target=lab, changes=in_words(changes))
    return lab
