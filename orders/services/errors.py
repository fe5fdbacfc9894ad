"""Why a use case of an order was refused, each with what a page needs to say so."""

from __future__ import annotations

from typing import Any

from orders.documents.order_report import FindingPart
from orders.models import Order
from orders.rules.registry import rule_by_id
from orders.services.judging import Judgement
from orders.states import LABELS, Action, NotAllowed, OrderState


class SavedByAnother(Exception):
    """Somebody saved the draft after it was opened here. Nothing was overwritten; both versions are here."""

    def __init__(self, current: Order, wanted: dict[str, Any]):
        self.current, self.wanted = current, wanted
        who = str(current.saved_by) if current.saved_by else "Somebody else"
        super().__init__(f"{who} saved order {current.number} in the meantime. Compare both and save again.")


class NoDraft(NotAllowed):
    """Only a draft can be changed; what was sent, cancelled or superseded stays as it is."""

    def __init__(self, state: OrderState):
        super().__init__(state, Action.SEND)
        advice = " Draw up a new revision to change it." if state == OrderState.SENT else ""
        self.args = (f"This order is {LABELS[state].lower()} by now and can no longer be changed.{advice}",)


class NotReady(Exception):
    """The order may not be sent yet. ``problems``: texts; ``judged``: where it is for stops and asks still open."""

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


class NotRegistered(Exception):
    """A protected patient's spectacles are handed over by a registered person only."""

    def __init__(self, why: str):
        super().__init__(
            f"The patient {why}: only a dispenser or manager with a registration number hands this pair over. "
            "Have one of them note it; a manager enters registration numbers under Staff."
        )
