"""Changing the practice's settings, with the old and the new value on the audit trail."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from dispensing.models import Practice, StaffUser
from dispensing.services.audit import changed_fields, record


def change_practice(*, actor: StaffUser, fields: dict[str, Any]) -> Practice:
    """Writes only the settings that differ; without a difference nothing is recorded."""
    with transaction.atomic():
        practice = Practice.objects.select_for_update().get(pk=Practice.current().pk)
        changes = changed_fields({name: getattr(practice, name) for name in fields}, fields)
        if not changes:
            return practice
        for name in changes:
            setattr(practice, name, fields[name])
        practice.full_clean()
        practice.save(update_fields=list(changes))
        record(actor=actor, verb="practice.change", target=practice, changes=changes)
    return practice
