"""The verbs and changes of the audit trail in words, so that a manager reads a sentence rather than a code.

A verb without an entry is worked out from its own name: ``order.weigh`` → "Order: weigh".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.apps import apps
from django.db.models import Field

from dispensing.models import AuditEvent

LONGEST_VALUE = 120

VERBS = {
    "patient.look": "Looked at a patient",
    "patient.list": "Looked through lists of patients",
    "sign-in.done": "Signed in",
    "sign-in.failed": "Failed to sign in under this name",
    "sign-in.unknown": "Somebody tried to sign in under a name that nobody has",
    "sign-in.locked": "Locked out after failing too often",
    "second-factor.add": "Set up a second factor",
    "second-factor.remove": "Took off their own second factor",
    "second-factor.take-off": "Took a second factor off somebody",
    "second-factor.codes": "Made recovery codes",
    "second-factor.recovery": "Used a recovery code",
    "sign-out.done": "Signed out",
    "sign-out.idle": "Was signed out, having left the desk",
    "sign-out.elsewhere": "Signed out another browser of their own",
    "patient.register": "Registered a patient",
    "patient.correct": "Corrected a patient's details",
    "waiting.mark": "Marked a patient as waiting",
    "waiting.take": "Took a patient who waited",
    "waiting.end": "Took a patient off the list of those who wait",
    "prescription.record": "Took in a prescription",
    "prescription.correct": "Corrected a prescription",
    "worn-pair.record": "Recorded the pair worn now",
    "worn-pair.correct": "Corrected the pair worn now",
    "paper.add": "Added a scan to be read",
    "paper.confirm": "Confirmed what was read off a scan",
    "paper.settle": "Settled a difference from the scan",
    "paper.discard": "Removed a scan that was not taken in",
    "scan.add": "Added a scan of a prescription",
    "scan.remove": "Removed a scan of a prescription",
    "frame.add": "Added a frame",
    "frame.change": "Corrected a frame",
    "fitting.record": "Recorded a fitting",
    "fitting.change": "Corrected a fitting",
    "photo-fitting.start": "Began measuring from photos",
    "photo-fitting.use": "Used the figures of photos",
    "photo-fitting.discard": "Deleted a measurement from photos",
    "photo.add": "Added a photo to measure from",
    "photo.mark": "Marked a photo",
    "photo.delete-picture": "Deleted the picture of a photo, not its marks",
    "photo.remove": "Removed a photo and its marks",
    "practice.change": "Changed the practice's settings",
    "staff.add": "Added a member of staff",
    "staff.change": "Changed a member of staff",
    "staff.reset-password": "Gave a new password",
    "staff.change_password": "Changed their own password",
    "token.issue": "Made an API token",
    "token.revoke": "Ended an API token",
    "token.ended": "An API token reached its end",
    "lab.add": "Added a lab",
    "lab.change": "Changed a lab",
    "lab.user": "Gave a lab its own access",
    "lab.report": "Noted what a lab said of an order",
    "catalogue.import": "Imported a lab's catalogue",
    "catalogue.use": "Took a lab's catalogue into use",
    "prices.import": "Loaded a price list",
    "prices.use": "Took a price list into use",
    "prices.stop": "Stopped using our own price list",
    "order.start": "Began an order",
    "order.save": "Changed a draft order",
    "order.lift": "Lifted a stop of an order",
    "order.confirm": "Confirmed a question about an order",
    "order.take_back": "Took back a lifted stop or a confirmation",
    "order.send": "Sent an order",
    "order.amend": "Drew up a new revision of an order",
    "order.cancel": "Cancelled an order",
    "finished.read": "Read a finished pair",
    "delivery.retry": "Put a delivery back into the outbox",
    "delivery.withhold": "Held a delivery back",
    "delivery.settle": "Noted that a delivery arrived",
    "delivery.download": "Noted that an order was passed on by hand",
    "list.take-out": "Took a list out as a file",
    "rule.tighten": "Tightened a limit of the check",
    "rule.silence": "Turned off a question of the check",
    "rule.restore": "Restored a rule of the check",
}

# Words for fields whose name alone does not make the meaning clear.
FIELDS = {"mm": "", "both": "", "deg": "", "d": "", "pd": "PD", "dbl": "DBL", "ed": "ED", "a": "A", "b": "B"}


def verb_in_words(verb: str) -> str:
    """The verb as a sentence without its subject."""
    if verb in VERBS:
        return VERBS[verb]
    return verb.replace("_", " ").replace("-", " ").replace(".", ": ", 1).capitalize()


def field_in_words(name: str) -> str:
    """``pd_mm right`` → "PD right"; ``right.axis`` → "right axis"; ``is_active`` → "may sign in"."""
    if name == "is_active":
        return "may sign in"
    words = [FIELDS.get(word, word) for word in name.replace("_", " ").replace(".", " ").split()]
    return " ".join(word for word in words if word)


@dataclass(frozen=True)
class Change:
    field: str
    before: str
    after: str


def changes_told(event: AuditEvent) -> list[Change]:
    """One line per field: the old and new value, or the value alone if there is no pair."""
    words = words_of_choices(event.record)
    return [_change(name, value, words.get(name.partition(" ")[0], {})) for name, value in event.changes.items()]


@cache
def words_of_choices(record: str) -> dict[str, dict[str, str]]:
    """What the choices of the fields of a record are called, by field. ``record``: the model's name, in lower case."""
    models = [model for model in apps.get_models() if model._meta.model_name == record]
    fields = [field for model in models for field in model._meta.get_fields() if isinstance(field, Field)]
    found = {field.name: {str(code): str(words) for code, words in field.flatchoices} for field in fields}
    return {name: words for name, words in found.items() if words}


YES_NO = {"True": "yes", "False": "no"}


def _change(name: str, value: Any, words: Mapping[str, str]) -> Change:
    before, after = value if isinstance(value, list) and len(value) == 2 else ("", value)
    told = _short(before, words) if before != after else ""
    return Change(field_in_words(name), told, _short(after, words) or "nothing")


def _short(value: Any, words: Mapping[str, str]) -> str:
    text = "" if value is None else str(value)
    text = (YES_NO | dict(words)).get(text, text)
    return text if len(text) <= LONGEST_VALUE else f"{text[:LONGEST_VALUE]}…"
