"""The pair worn now as the pages of an order show it, from the order's document. It decides nothing."""

from __future__ import annotations

from typing import Any

from orders.documents import names, words
from orders.documents.key_words import value_in_words
from orders.documents.lens_order import EYES, LensOrder
from orders.presentation.documents import Headings, fact_rows, power_row

TOLD = (
    ("Likes", "likes"),
    ("Dislikes", "dislikes"),
    ("The new pair is for", "tasks"),
    ("Working distances", "distances"),
)


def worn_context(document: LensOrder, headings: Headings) -> dict[str, Any]:
    """What ``orders/_worn_now.html`` shows: a row for each eye, what the pair is, and what the wearer says."""
    worn = document.patient.present_spectacles
    if worn is None:
        return {"worn_rows": (), "worn_words": "", "worn_told": ()}
    kind = words.text_of(worn, "design_kind", "")
    known = [value_in_words("prescription.use", worn.use) if worn.use else "", names.DESIGN_KINDS.get(kind, "")]
    told = [(label, words.text_of(worn, key)) for label, key in TOLD]
    return {
        "worn_rows": fact_rows({"heading": headings.eye(eye), **power_row(worn.eye(eye), headings)} for eye in EYES),
        "worn_words": ", ".join(text for text in known if text),
        "worn_told": [(label, text) for label, text in told if text != words.MISSING],
    }
