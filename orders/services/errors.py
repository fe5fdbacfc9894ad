"""The reasons for refusing a use case of an order, each with what a page needs to explain it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dispensing.services.audit import differing
from dispensing.services.meanwhile import ChangedMeanwhile
from orders.documents.order_report import FindingPart
from orders.models import Order
from orders.rules.registry import rule_by_id
from orders.services.judging import Judgement
from orders.states import LABELS, Action, NotAllowed, OrderState


def saved_meanwhile(pk: int, wanted: Mapping[str, Any]) -> ChangedMeanwhile:
    """Why a draft is not saved: somebody saved it after it was opened here. ``wanted``: the fields to be saved."""
    current = Order.objects.select_related("saved_by").get(pk=pk)
    now = {name: _told(name, getattr(current, name)) for name in wanted}
    fields = differing(now, {name: _told(name, value) for name, value in wanted.items()})
    return ChangedMeanwhile(current, fields, by=current.saved_by, at=current.saved_at)


def _told(name: str, value: Any) -> Any:
    """The part of what was settled that goes with the order; the rest is only for checking whether it still holds."""
    if name != "lifted":
        return value
    return [{key: entry.get(key) for key in ("rule", "eye", "reason", "by")} for entry in value]


class NoDraft(NotAllowed):
    """Only a draft can be changed; a sent, cancelled or superseded order stays as it is."""

    def __init__(self, state: OrderState):
        super().__init__(state, Action.SEND)
        advice = " Draw up a new revision to change it." if state == OrderState.SENT else ""
        self.args = (f"This order is {LABELS[state].lower()} by now and can no longer be changed.{advice}",)


class NotReady(Exception):
    """The order may not be sent yet. ``problems``: texts; ``judged``: given if stops or asks are still open."""

    def __init__(self, problems: tuple[str, ...] = (), judged: Judgement | None = None):
        self.problems, self.judged = problems, judged
        self.findings: tuple[FindingPart, ...] = judged.open_findings if judged else ()
        said = [*problems, *(finding.message for finding in self.findings)]
        super().__init__("The order cannot be sent yet: " + " ".join(said))


class NoSuchFinding(ValueError):
    """A stop that is not there cannot be lifted; the facts may have changed since the page was opened."""

    def __init__(self, rule: str, eye: str | None):
        self.rule, self.eye = rule, eye
        where = f" for the {eye} eye" if eye in ("right", "left") else ""
        known = rule_by_id(rule)
        said = known.title if known else rule
        super().__init__(f"The check no longer says “{said}”{where}. Look at the findings again.")


class NotLiftable(ValueError):
    """What the order lacks altogether is no opinion: it is completed, and nobody can lift it."""

    def __init__(self, findings: Sequence[FindingPart]):
        self.findings = tuple(findings)
        said = " ".join(part.message for part in findings)
        super().__init__(f"{said} No reason can stand in for what is missing, so this cannot be lifted.")


class NotRegistered(Exception):
    """A registered person takes part when a protected patient's spectacles are checked and handed over."""

    def __init__(self, why: str):
        super().__init__(
            f"The patient {why}: only a dispenser or manager with a registration number checks this pair and "
            "hands it over. Name the one who took part; a manager enters registration numbers under Staff."
        )


class NotAsOrdered(Exception):
    """A pair is not accepted against its own readings, nor before a second reader who is wanted."""
