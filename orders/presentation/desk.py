"""What the order desk shows: the draft's forms, drawing, findings and figures. It reads and never writes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from dispensing.models import Practice
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import Eye
from orders.drawings import order_drawing, thickness_drawing
from orders.drawings.layout import pair_layout
from orders.forms.desk import DeskForms
from orders.forms.lenses import LensForm
from orders.models import Order
from orders.presentation.documents import Headings, computed_rows, eye_rows, job_words, lens_rows
from orders.presentation.findings import still_to_choose, verdict_level, verdict_words, with_an_answer
from orders.presentation.powers import power_context, ways_to_order
from orders.presentation.remake import remake_context
from orders.presentation.worn_now import worn_context
from orders.services.judging import Judgement, judge

# Beside the choices, a pair of lenses is drawn at about 2.7 px to the millimetre, so the smallest text is 11 px high.
SCREEN_LETTERING = 1.85
MORE_FIELDS = ("base_curve_d", "centre_thickness_mm", "colour", "instruction")


@dataclass(frozen=True)
class DeskPage:
    """Everything the templates of the desk need, computed once."""

    order: Order
    forms: DeskForms
    judgement: Judgement

    @classmethod
    def of(cls, order: Order) -> DeskPage:
        """The page for the draft as stored."""
        forms = DeskForms(order)
        return cls(order, forms, judge(order))

    def context(self) -> dict[str, Any]:
        headings = Headings.of(Practice.current())
        forms = self.forms
        return {
            **judged_page(self.order, self.judgement, headings),
            "job": forms.job,
            "catalogue": forms.catalogue,
            "pair": len(forms.eyes) == 2,
            "lens_forms": [
                {"heading": self._lens_heading(eye, headings), "form": form, "more": self._has_more(form)}
                for eye, form in forms.lens_forms.items()
            ],
            "kept_form": forms.kept_form,
        }

    def _lens_heading(self, eye: Eye, headings: Headings) -> str:
        return "Both lenses" if self.forms.same else f"{headings.eye(eye)} lens"

    @staticmethod
    def _has_more(form: LensForm) -> bool:
        return any(form[name].value() not in (None, "") for name in MORE_FIELDS)


def judged_page(order: Order, judgement: Judgement, headings: Headings | None = None) -> dict[str, Any]:
    """The judgement as the desk shows it, with the ways to settle its findings and the time it was saved."""
    headings = headings or Headings.of(Practice.current())
    return {
        **judgement_context(order, judgement, headings),
        "ways_to_order": ways_to_order(judgement),
        "settle": True,
        "saved_at": order.saved_at,
    }


def judgement_context(order: Order, judgement: Judgement, headings: Headings) -> dict[str, Any]:
    """Verdict, findings, drawing and figures; shared by the desk and the page before sending."""
    document, report = judgement.document, judgement.report
    return {
        "order": order,
        "document": document,
        "report": report if order.catalogue_id else None,
        "to_choose": still_to_choose(report.findings, order) if order.catalogue_id else (),
        "findings": with_an_answer(report.findings) if order.catalogue_id else (),
        "verdict_words": verdict_words(report),
        "verdict_level": verdict_level(report),
        "computed_rows": computed_rows(report),
        **power_context(document, report, headings),
        **remake_context(order, document),
        "eye_rows": eye_rows(document, headings),
        **worn_context(document, headings),
        "lens_rows": lens_rows(document, headings),
        "job_words": job_words(document),
        **drawings(document, judgement.catalogue, headings),
    }


def drawings(document: Any, catalogue: LensCatalogue | None, headings: Headings) -> dict[str, SafeString | None]:
    """The two drawings, made by our own picture writer from numbers and escaped text."""
    if document.frame.a_mm is None or document.frame.b_mm is None:
        return {"drawing": None, "thickness": None}
    names = (headings.right, headings.left)
    layout = pair_layout(document, catalogue)
    pair = order_drawing(document, headings=names, layout=layout, lettering=SCREEN_LETTERING)
    thickness = thickness_drawing(document, headings=names, layout=layout) if catalogue else ""
    return {
        "drawing": mark_safe(pair),  # noqa: S308 - built by our picture writer, which escapes every text
        "thickness": mark_safe(thickness) if thickness else None,  # noqa: S308
    }
