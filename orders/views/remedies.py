"""What would clear a draft's findings: worked out after the page has loaded, and applied with one click.

A draft's page and its live answers do not wait for this; it is fetched separately.
"""

from __future__ import annotations

import json
import uuid
from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpResponse, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.models import Frame
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.views.meanwhile import posted_version
from dispensing.views.requests import StaffRequest
from orders.documents.lens_order import FramePart
from orders.facts import frame_part
from orders.forms.asked import fields_asked
from orders.forms.desk import DeskForms
from orders.models import Order
from orders.options import Remedy, finding_key, remedies
from orders.presentation.findings import finding_groups, with_an_answer
from orders.queries import for_page
from orders.services.applying import fields_of_change
from orders.services.drafts import save_draft
from orders.services.judging import Judgement, judge
from orders.states import NotAllowed
from orders.views.answers import conflict_answer, live_answer, refused_answer

SIZE_WITHIN_MM = 10
MOST_FRAMES_READ = 200


@requires(Ability.ORDER_EDIT)
@require_safe
def order_remedies(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """The remedies, by the findings that they clear; nothing if the draft has changed meanwhile."""
    order = get_object_or_404(for_page(), public_id=order_id)
    if not order.is_draft or order.catalogue is None or request.GET.get("version") != str(order.version):
        return HttpResponse(status=204)
    judged = judge(order)
    assert judged.catalogue is not None
    found = remedies(
        judged.document,
        judged.catalogue,
        judged.report,
        _stock(order),
        others=judged.asked.others,
        practice_limits=judged.asked.limits,
    )
    return render(request, "orders/_ways.html", {"order": order, "places": _places(order, judged, found)})


def _stock(order: Order) -> list[FramePart]:
    """Frames in stock that are close in size to the one chosen."""
    rows = Frame.objects.filter(owner=None, in_stock__gt=0)
    if order.frame is not None:
        rows = rows.exclude(pk=order.frame.pk)
    if order.frame is not None and order.frame.a_mm is not None:
        size = order.frame.a_mm
        rows = rows.filter(a_mm__range=(size - SIZE_WITHIN_MM, size + SIZE_WITHIN_MM))
    return [frame_part(frame) for frame in rows[:MOST_FRAMES_READ]]


def _places(order: Order, judged: Judgement, found: dict[Any, tuple[Remedy, ...]]) -> list[dict[str, Any]]:
    """One entry for each group of findings with a remedy: its key, and its remedies, each once."""
    places = []
    for group in finding_groups(with_an_answer(judged.report.findings)):
        ways: dict[str, dict[str, Any]] = {}
        for part in group.parts:
            for remedy in found.get(finding_key(part), ()):
                ways.setdefault(remedy.text, _way(order, remedy))
        if ways:
            offers_frames = any(way["remedy"].kind == "frame" for way in ways.values())
            places.append({"key": group.key, "ways": list(ways.values()), "offers_frames": offers_frames})
    return places


def _way(order: Order, remedy: Remedy) -> dict[str, Any]:
    change = json.dumps(dict(remedy.change)) if remedy.is_applicable else ""
    return {"remedy": remedy, "change": change, "url": "" if change else _where(order, remedy)}


def _where(order: Order, remedy: Remedy) -> str:
    """The page on which a person can make a change that the draft itself cannot."""
    frame = remedy.change.get("frame")
    if frame is not None:
        return reverse("fitting-record", args=[order.patient.public_id, frame["extra"]["id"]])
    if any(path.startswith("prescription.") for path in remedy.change) and order.prescription is not None:
        return reverse("prescription-page", args=[order.prescription.public_id])
    return reverse("fitting-page", args=[order.fitting.public_id]) if order.fitting is not None else ""


@requires(Ability.ORDER_EDIT)
@require_POST
def order_apply(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Apply a remedy to the draft, and show the draft judged again."""
    order = get_object_or_404(for_page(), public_id=order_id)
    try:
        change = json.loads(request.POST.get("change", ""))
    except ValueError:
        return HttpResponseBadRequest("The change is not JSON.")
    if not isinstance(change, dict):
        return HttpResponseBadRequest("The change must be an object.")
    try:
        fields = fields_asked(order, fields_of_change(order, change))
        judged = save_draft(order=order, actor=request.user, version=posted_version(request), fields=fields)
    except ChangedMeanwhile as refused:
        return conflict_answer(request, refused)
    except NotAllowed as refused:
        return refused_answer(request, str(refused))
    except ValidationError as refused:
        return refused_answer(request, " ".join(refused.messages))
    return live_answer(request, order, judged, taken=DeskForms(order).as_typed())
