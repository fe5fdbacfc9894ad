"""What the order desk shows: the draft's forms, drawing, findings and figures. It reads and never writes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import mark_safe

from dispensing.models import Practice
from orders.documents.lens_order import Eye, LensOrder
from orders.drawings import LEGEND, SECTION_LEGEND, order_drawing, thickness_drawing
from orders.drawings.layout import PairLayout, pair_layout
from orders.forms.desk import DeskForms
from orders.forms.lenses import LensForm
from orders.models import Order
from orders.presentation.documents import Headings, computed_rows, eye_rows, fact_rows, job_words, lens_rows
from orders.presentation.findings import (
    still_to_choose,
    verdict_in_short,
    verdict_level,
    verdict_words,
    with_an_answer,
)
from orders.presentation.offers import offers
from orders.presentation.powers import power_context, ways_to_order
from orders.presentation.remake import remake_context
from orders.presentation.strip import at_a_glance, strip_rows
from orders.presentation.told import told_of_a_lens, told_of_the_job
from orders.presentation.worn_now import worn_context
from orders.services.judging import Judgement, judge

# Beside the choices, a pair of lenses is drawn at about 2.7 px to the millimetre, so the smallest text is 11 px high.
SCREEN_LETTERING = 1.85
BOTH_LENSES = "Both lenses"
MORE_FIELDS = ("base_curve_d", "centre_thickness_mm", "colour", "instruction", "edge_polished", "edge_bevel")


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
            "told": told_of_the_job(forms),
            "catalogue": forms.catalogue,
            "pair": len(forms.eyes) == 2,
            "lens_forms": [self._lens(eye, form, headings) for eye, form in forms.every_lens_form.items()],
            "kept_form": forms.kept_form,
            "offers": offers(forms),
        }

    def _lens(self, eye: Eye, form: LensForm, headings: Headings) -> dict[str, Any]:
        own = f"{headings.eye(eye)} lens"
        return {
            "eye": eye,
            "own": own,
            "heading": BOTH_LENSES if self.forms.same and eye == "right" else own,
            "form": form,
            "told": told_of_a_lens(form),
            "more": self._has_more(form),
            "shown": eye in self.forms.lens_forms,
        }

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
    layout = pair_layout(document, judgement.catalogue) if has_sizes(document) else None
    drawn = drawings(layout, headings, sections=judgement.catalogue is not None)
    return {
        "order": order,
        "document": document,
        "report": report if order.catalogue_id else None,
        "to_choose": still_to_choose(report.findings, order) if order.catalogue_id else (),
        "findings": with_an_answer(report.findings) if order.catalogue_id else (),
        "verdict_words": verdict_words(report),
        "verdict_in_short": verdict_in_short(report),
        "verdict_level": verdict_level(report),
        "computed_rows": computed_rows(report),
        **drawn,
        "strip_rows": strip_rows(document, report, layout, headings),
        "at_a_glance": at_a_glance(report, layout),
        **power_context(document, report, headings),
        **remake_context(order, document, report),
        "fact_rows": fact_rows(eye_rows(document, headings)),
        **worn_context(document, headings),
        "lens_rows": lens_rows(document, headings),
        "job_words": job_words(document),
    }


def has_sizes(document: LensOrder) -> bool:
    """Whether enough of the frame is known to draw the pair."""
    return document.frame.a_mm is not None and document.frame.b_mm is not None


def drawings(layout: PairLayout | None, headings: Headings, *, sections: bool) -> dict[str, Any]:
    """The pair with its sizes and without them, for a small screen, and its cross-sections; each with its legend.

    They are made by our own picture writer from numbers and escaped text.
    """
    if layout is None:
        return {"drawing": None, "small_drawing": None, "thickness": None}
    names, order = (headings.right, headings.left), layout.order
    pair = order_drawing(order, headings=names, layout=layout, lettering=SCREEN_LETTERING)
    small = order_drawing(order, headings=names, layout=layout, with_sizes=False)
    thickness = thickness_drawing(order, headings=names, layout=layout) if sections else ""
    return {
        "drawing": mark_safe(pair),  # noqa: S308 - built by our picture writer, which escapes every text
        "small_drawing": mark_safe(small),  # noqa: S308
        "thickness": mark_safe(thickness) if thickness else None,  # noqa: S308
        "drawing_legend": LEGEND,
        "section_legend": SECTION_LEGEND,
    }
