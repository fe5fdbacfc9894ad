"""A report with the computed remedies added: each finding's own verified ones first, then what the rule advises.

For people who read a report without the pages. This module must never know Django.
"""

from __future__ import annotations

from collections.abc import Sequence

from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import OrderReport
from orders.options.remedies import finding_key, remedies
from orders.options.remedy import Remedy


def with_remedies(
    order: LensOrder, catalogue: LensCatalogue, others: Sequence[LensOrder], report: OrderReport
) -> OrderReport:
    """The same report, with changes tried on the order that clear a finding placed before the advice of its rule."""
    found = remedies(order, catalogue, report, others=others)
    findings = (
        part.model_copy(update={"remedies": (*map(_said, found.get(finding_key(part), ())), *part.remedies)})
        for part in report.findings
    )
    return report.model_copy(update={"findings": tuple(findings)})


def _said(remedy: Remedy) -> str:
    """``Order the 70 mm blank for both lenses.``, with the resulting figure and the questions it would raise."""
    outcome = f" {remedy.outcome[:1].upper()}{remedy.outcome[1:]}." if remedy.outcome else ""
    raises = f" Raises a question: {'; '.join(remedy.raises)}." if remedy.raises else ""
    return f"{remedy.text}{outcome}{raises}"
