"""Notes what the check says of a draft, once for each rule and level, so that what it caught can be counted later."""

from __future__ import annotations

from orders.documents.order_report import OrderReport
from orders.models import DraftFinding, Order


def note_found(order: Order, report: OrderReport) -> None:
    """Add what was not noted yet, once nothing is left to choose: before that, much is found only because something is
    lacking. Call it in the transaction that holds the order's row.
    """
    if any(part.liftable is False for part in report.findings):
        return
    found = {(part.rule, part.level) for part in report.findings if part.level != "note"}
    if not found:
        return
    noted = set(DraftFinding.objects.filter(order=order).values_list("rule", "level"))
    DraftFinding.objects.bulk_create(
        DraftFinding(order=order, rule=rule, level=level) for rule, level in sorted(found - noted)
    )
