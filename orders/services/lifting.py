"""Lifts a stop or confirms an ask: a named person says why, for the facts as they now are."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from dispensing.models import StaffUser
from dispensing.services.audit import record
from orders.documents.order_report import FindingPart
from orders.models import Order
from orders.rules.registry import title_of
from orders.services.drafts import write_draft
from orders.services.errors import NoSuchFinding, NotLiftable
from orders.services.judging import Groups, Judgement, by_rule_and_eye, facts_hash, judge

LONGEST_REASON = 300
EYES = ("right", "left")


@transaction.atomic
def lift(
    *, order: Order, actor: StaffUser, version: int, rule: str, eye: str | None = None, reason: str = ""
) -> Judgement:
    """Lift the stop, or confirm the ask, that the check raises for this rule and eye.

    ``eye`` both settles what is said about the pair, or else what is said about either eye. A stop needs a reason. The
    entry goes on the record and with the order, and lapses if the facts it was about change. Raises `NoSuchFinding`,
    `NotLiftable`, `ValidationError`, `ChangedMeanwhile`.
    """
    judged = judge(order)
    said = by_rule_and_eye(judged.report)
    eyes = _eyes(rule, eye, said)
    findings = [part for one in eyes for part in said[rule, one]]
    if not findings:
        raise NoSuchFinding(rule, eye)
    missing = [part for part in findings if part.liftable is False]
    if missing:
        raise NotLiftable(missing)
    reason = _reason(reason, findings)
    entries = [_entry(actor, judged, said[rule, one], reason) for one in eyes]
    kept = [old for old in order.lifted if old.get("rule") != rule or old.get("eye") not in eyes]
    judged = write_draft(order, actor=actor, version=version, fields={"lifted": [*kept, *entries]}, judged=judged)
    for one, entry in zip(eyes, entries, strict=True):
        changes = {
            "rule": [None, title_of(rule)],
            "eye": [None, one],
            "reason": [None, reason],
            "found": [None, entry["said"]],
        }
        stops = any(part.level == "stop" for part in said[rule, one])
        verb = "order.lift" if stops else "order.confirm"
        record(actor=actor, verb=verb, target=order, patient=order.patient, changes=changes)
    return judged


def _eyes(rule: str, eye: str | None, said: Groups) -> tuple[str | None, ...]:
    if eye == "both" and (rule, eye) not in said:
        return tuple(one for one in EYES if (rule, one) in said)
    return (eye,) if (rule, eye) in said else ()


def _reason(text: str, findings: list[FindingPart]) -> str:
    reason = text.strip()
    if not reason and any(part.level == "stop" for part in findings):
        raise ValidationError({"reason": "Say why this order may be sent all the same; the reason goes with it."})
    if len(reason) > LONGEST_REASON:
        raise ValidationError(
            {"reason": f"The reason has {len(reason)} characters; at most {LONGEST_REASON} are allowed."}
        )
    return reason


def _entry(actor: StaffUser, judged: Judgement, findings: list[FindingPart], reason: str) -> dict[str, Any]:
    return {
        "rule": findings[0].rule,
        "eye": findings[0].eye,
        "reason": reason or None,
        "by": actor.display_name,
        "by_id": actor.pk,
        "at": timezone.now().isoformat(timespec="seconds"),
        "facts": facts_hash(judged.document, findings),
        "said": " ".join(part.message for part in findings),
    }


@transaction.atomic
def take_back(*, order: Order, actor: StaffUser, version: int, rule: str, eye: str | None = None) -> Judgement:
    """Take back a lifted stop or a confirmation, so it is open again. ``eye`` both: for either eye and the pair."""
    named = ("both", *EYES) if eye == "both" else (eye,)
    kept = [old for old in order.lifted if old.get("rule") != rule or old.get("eye") not in named]
    if len(kept) == len(order.lifted):
        raise NoSuchFinding(rule, eye)
    judged = write_draft(order, actor=actor, version=version, fields={"lifted": kept})
    record(
        actor=actor,
        verb="order.take_back",
        target=order,
        patient=order.patient,
        changes={"rule": [title_of(rule), None]} | ({"eye": [eye, None]} if eye else {}),
    )
    return judged
