"""Changing the practice's settings, with the old and the new value on the audit trail."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from dispensing.models import Practice, StaffUser
from dispensing.models.practice import SecondReaderFor
from dispensing.services.audit import differing, in_words, record
from dispensing.services.meanwhile import require_version, save_next_version


def change_practice(*, actor: StaffUser, fields: dict[str, Any], version: int | None = None) -> Practice:
    """Writes only the settings that differ; if none do, nothing is recorded.

    ``version``: the one the change is based on. Raises ValidationError, ChangedMeanwhile.
    """
    with transaction.atomic():
        practice = Practice.objects.select_for_update().get(pk=Practice.current().pk)
        changes = differing({name: getattr(practice, name) for name in fields}, fields)
        require_version(practice, version, changes)
        if not changes:
            return practice
        for name in changes:
            setattr(practice, name, fields[name])
        practice.full_clean()
        save_next_version(practice, changes)
        record(actor=actor, verb="practice.change", target=practice, changes=in_words(_told(changes)))
    return practice


def _told(changes: dict[str, tuple[Any, Any]]) -> dict[str, tuple[Any, Any]]:
    """The changes with what was ticked in words: a list of codes tells nobody anything on the trail."""
    name = "second_reader_for"
    if name not in changes:
        return changes
    before, after = (", ".join(str(SecondReaderFor(code).label) for code in codes) for codes in changes[name])
    return {**changes, name: (before or None, after or None)}
