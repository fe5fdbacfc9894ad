"""Noticing that somebody else changed a record while a person or program had it open: the second to save is told.

Every record that people correct counts its changes in ``version``. Pages send back the version they were opened with,
and programs name it in If-Match; a service that writes asks :func:`require_version` inside the transaction that holds
the row, and raises the count with :func:`save_next_version`. The audit trail keeps the version that each change made.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from dispensing.models import AuditEvent, StaffUser
from dispensing.models.versions import Versioned

Values = Mapping[str, tuple[Any, Any]]
"""What each field holds now and what was wanted, where the two differ."""


class ChangedMeanwhile(Exception):
    """Nothing was saved: the record is no longer at the version that the change is based on.

    ``record``: the row as it is now. ``by``, ``at``: who last changed it and when, None if not known. ``theirs``: the
    fields changed since then, None if not known.
    """

    def __init__(
        self,
        record: Any,
        fields: Values,
        *,
        by: StaffUser | None = None,
        at: datetime | None = None,
        theirs: frozenset[str] | None = None,
    ):
        self.record, self.fields, self.by, self.at, self.theirs = record, fields, by, at, theirs
        what = f"this {record._meta.verbose_name}"
        who = by or "Somebody else"
        super().__init__(f"{who} changed {what} in the meantime. Nothing was done; look at it as it stands now.")

    @property
    def version(self) -> int:
        """The record's current version."""
        version: int = self.record.version
        return version

    @property
    def both(self) -> Values:
        """The fields that others have changed since and that this change would change too."""
        return {name: pair for name, pair in self.fields.items() if self.theirs is None or name in self.theirs}


def require_version(record: Versioned, version: int | None, fields: Values) -> None:
    """Raises ChangedMeanwhile unless the record is at ``version``. ``fields``: what is about to be changed.

    ``version`` None: the caller, such as a command, looked at no version before, so nothing is compared.
    """
    if version is None or version == record.version:
        return
    since = _entries_since(record, version)
    last = since[0] if since else None
    known = version < record.version  # A version that was never made says nothing about what was seen.
    theirs = frozenset(name for event in since for name in event.changes) if known else None
    by, at = (last.actor, last.at) if last else (None, None)
    raise ChangedMeanwhile(record, fields, by=by, at=at, theirs=theirs)


def save_next_version(record: Versioned, fields: Iterable[str]) -> None:
    """Save the named fields of the row, which the transaction has locked, as its next version."""
    record.version += 1
    record.save(update_fields=[*fields, "version"])


def _entries_since(record: Versioned, version: int) -> list[AuditEvent]:
    """What the audit trail says about the versions after this one, newest first."""
    about = AuditEvent.objects.filter(
        record=record._meta.model_name, record_id=getattr(record, "public_id", None), version__gt=version
    )
    entries = about.select_related("actor")
    if isinstance(record, StaffUser):
        # The trail holds no id for a person, only the sign-in name.
        return [event for event in entries if record.username in event.changes.get("user", ())]
    return list(entries)
