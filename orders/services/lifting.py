"""Lifting a stop and confirming an ask: a named person says why, about the facts as they are now."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.models import Order
from orders.services.drafts import write_draft
from orders.services.errors import NoSuchFinding
from orders.services.judging import facts_hash, judge


@transaction.atomic
def lift(*, order: Order, actor: StaffUser, version: int, rule: str, eye: str | None = None, reason: str = "") -> Order:
    """Lift the stop, or confirm the ask, that the check says for this rule and eye.

    A stop needs a reason. It goes on the record and with the order, and lapses when the facts it was said
    about change. Raises `NoSuchFinding`, `ValidationError`, `SavedByAnother`.
    """
    judged = judge(order)
    finding = next((part for part in judged.report.findings if (part.rule, part.eye) == (rule, eye)), None)
    if finding is None or finding.level == "note":
        raise NoSuchFinding(rule, eye)
    reason = reason.strip()
    if finding.level == "stop" and not reason:
        raise ValidationError({"reason": "Say why this order may be sent all the same; the reason goes with it."})
    if len(reason) > 300:
        raise ValidationError({"reason": f"The reason has {len(reason)} letters; 300 are allowed."})
    entry = {
        "rule": rule,
        "eye": eye,
        "reason": reason or None,
        "by": actor.display_name,
        "by_id": actor.pk,
        "at": timezone.now().isoformat(timespec="seconds"),
        "facts": facts_hash(judged.document, finding),
        "said": finding.message,
    }
    kept = [old for old in order.lifted if (old.get("rule"), old.get("eye")) != (rule, eye)]
    write_draft(order, actor=actor, version=version, fields={"lifted": [*kept, entry]})
    changes = {"rule": [None, rule], "eye": [None, eye], "reason": [None, reason], "found": [None, finding.message]}
    verb = "order.lift" if finding.level == "stop" else "order.confirm"
    record(actor=actor, verb=verb, target=order, patient=order.patient, changes=changes)
    return order


@transaction.atomic
def take_back(*, order: Order, actor: StaffUser, version: int, rule: str, eye: str | None = None) -> Order:
    """Take a lifted stop or a confirmation back; the finding is open again."""
    kept = [old for old in order.lifted if (old.get("rule"), old.get("eye")) != (rule, eye)]
    if len(kept) == len(order.lifted):
        raise NoSuchFinding(rule, eye)
    write_draft(order, actor=actor, version=version, fields={"lifted": kept})
    record(
        actor=actor,
        verb="order.take_back",
        target=order,
        patient=order.patient,
        changes={"rule": [rule, None], "eye": [eye, None]},
    )
    return order
