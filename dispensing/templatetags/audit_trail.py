"""Template filters of the audit trail: verbs and changes in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import template

from dispensing.models import AuditEvent
from dispensing.presentation.audit import field_in_words, verb_in_words

register = template.Library()
register.filter("verb_words", verb_in_words)

LONGEST_VALUE = 120


@dataclass(frozen=True)
class Change:
    field: str
    before: str
    after: str


@register.filter
def changes_told(event: AuditEvent) -> list[Change]:
    """One line a field: old and new value, or the value alone where there is no pair."""
    return [_change(name, value) for name, value in event.changes.items()]


def _change(name: str, value: Any) -> Change:
    before, after = value if isinstance(value, list) and len(value) == 2 else ("", value)
    return Change(field_in_words(name), _short(before) if before != after else "", _short(after) or "nothing")


def _short(value: Any) -> str:
    text = "" if value is None else str(value)
    return text if len(text) <= LONGEST_VALUE else f"{text[:LONGEST_VALUE]}…"
