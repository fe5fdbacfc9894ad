"""The patient's copy: what a person who wears spectacles wants to read about them. Names in full, never a code."""

from __future__ import annotations

from typing import Any

from dispensing.choice_words import label
from orders.documents.key_words import value_in_words
from orders.documents.lens_order import LensOrder, parse_order
from orders.documents.names import lens_names
from orders.documents.order_report import OrderReport
from orders.models import HandOver, Order
from orders.presentation.documents import Headings
from orders.presentation.powers import power_context
from orders.supplying.cautions import CARE, told_to_the_wearer

EYE_NAMES = (("right", "Right"), ("left", "Left"))


def copy_context(order: Order, headings: Headings) -> dict[str, Any]:
    """From the frozen document, and from what was noted when the pair was handed over, if it was."""
    stored = order.documents.all()[0]
    document = parse_order(stored.text)
    given = HandOver.objects.filter(event__order=order).select_related("event").order_by("-pk").first()
    cautions = given.cautions.splitlines() if given else told_to_the_wearer(document)
    report = OrderReport.model_validate_json(stored.report)
    return {
        "order": order,
        "document": document,
        "given": given,
        "use": label(value_in_words("use", document.pair_use)),
        **power_context(document, report, headings),
        "lenses": [(name, text) for eye, name in EYE_NAMES if (text := _lens(document, eye))],
        "cautions": cautions,
        "care": CARE,
        "next_test_on": given.next_test_on if given else document.prescription.expires_on,
    }


def _lens(document: LensOrder, eye: Any) -> str:
    lens = document.lenses.eye(eye)
    if lens is None:
        return ""
    names = lens_names(lens)
    parts = [names.design, names.material, *names.treatments]
    return ", ".join(part for part in [*parts, lens.colour] if part)
