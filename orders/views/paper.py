"""The practice's own paper of an order as PDF, to print: drawn anew each time, and stored nowhere."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.fonts import FontsMissing
from dispensing.models import Practice
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from orders.presentation.paper import PAPER, paper_context
from orders.printing.practice_paper import paper_pdf
from orders.queries import for_page


@requires(Ability.ORDER_VIEW, Ability.PATIENT_VIEW)
@require_safe
def order_paper(request: StaffRequest, order_id: uuid.UUID, kind: str) -> HttpResponse:
    """One of `PAPER`; there is none of a draft, whose number may still come to nothing."""
    order = get_object_or_404(for_page(), public_id=order_id)
    stored = next(iter(order.documents.all()), None)
    if stored is None or kind not in PAPER:
        raise Http404("There is no such paper of this order.")
    context = paper_context(PAPER[kind], order, stored, Practice.current())
    try:
        pdf = paper_pdf(PAPER[kind].template, context)
    except FontsMissing as refused:
        messages.error(request, str(refused))
        return redirect("order-page", order.public_id)
    headers = {
        "Content-Disposition": f'inline; filename="{order.number}-{kind}.pdf"',
        "Cache-Control": "private, no-store",
    }
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
