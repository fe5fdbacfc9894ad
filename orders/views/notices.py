"""Notices to patients: read before they leave, sent by a press, seen on the record; and their words and hours."""

from __future__ import annotations

import uuid
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.views.lists import say_where_no_such_page
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.requests import StaffRequest
from orders.forms.notices import NoticeForm, NoticeSettingsForm
from orders.models import Notice, NoticeSettings, Order
from orders.models.deliveries import Channel
from orders.notice_queries import notices_page
from orders.notices.wording import KINDS, Kind
from orders.sending.by_hand import retry_delivery, told_otherwise, withhold_delivery
from orders.services.deliveries import DeliveryMoved, NotInForce
from orders.services.notices import WAYS, NoticeRefused, change_notice_settings, drafted, kinds_for, send_notice


@requires(Ability.ORDER_VIEW, Ability.PATIENT_EDIT)
def order_notice(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Every notice that would be true, as it would leave, by each way the patient agreed to; one press sends it."""
    order = get_object_or_404(Order.objects.select_related("patient", "lab"), public_id=order_id)
    form = NoticeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        asked = form.cleaned_data
        kind, channel = Kind(asked["kind"]), Channel(asked["channel"])
        try:
            notice = send_notice(order=order, kind=kind, channel=channel, actor=request.user, key=asked["key"])
        except NoticeRefused as refused:
            messages.error(request, f"Nothing was sent. {refused}")
        else:
            messages.success(request, f"“{notice.get_kind_display()}” waits to leave by {WAYS[channel]}.")
            return redirect("order-page", order.public_id)
    elif request.method == "POST":
        messages.error(request, "Nothing was sent. Choose one of the notices below and press its button.")
    shown = [_shown(order, kind) for kind in kinds_for(order)]
    return render(request, "notices/write.html", {"order": order, "kinds": shown})


def _shown(order: Order, kind: Kind) -> dict[str, Any]:
    ways = []
    for channel, words in WAYS.items():
        try:
            ways.append({"channel": channel, "words": words, "notice": drafted(order, kind, channel)})
        except NoticeRefused as refused:
            ways.append({"channel": channel, "words": words, "refused": str(refused)})
    return {"kind": kind, "words": KINDS[kind], "ways": ways, "key": uuid.uuid4()}


# What is done with a notice by hand.
BY_HAND = {"stop": withhold_delivery, "again": retry_delivery, "otherwise": told_otherwise}


@requires(Ability.ORDER_VIEW, Ability.PATIENT_EDIT)
@require_POST
def notice_change(request: StaffRequest, delivery_id: uuid.UUID) -> HttpResponse:
    """Hold one back that has not left, or settle one that did not: send it again, or note that the patient knows."""
    notices = Notice.objects.select_related("delivery__document__order")
    notice = get_object_or_404(notices, delivery__public_id=delivery_id)
    change = BY_HAND.get(request.POST.get("does", ""))
    if change is None:
        messages.error(request, "Nothing was done. Press one of the buttons beside the notice.")
    else:
        try:
            change(delivery=notice.delivery, actor=request.user)
        except (DeliveryMoved, NotInForce) as refused:
            messages.error(request, str(refused))
    return redirect("order-page", notice.delivery.document.order.public_id)


@lists_patients
@requires(Ability.ORDER_VIEW, Ability.PATIENT_VIEW)
@require_safe
def notice_list(request: StaffRequest) -> HttpResponse:
    """What was written to patients, newest first; ``?show=stuck``: only what did not leave and waits for somebody."""
    stuck = request.GET.get("show") == "stuck"
    page = notices_page(stuck=stuck, after=request.GET.get("after", ""))
    say_where_no_such_page(request, page)
    return render(request, "notices/list.html", {"page": page, "stuck": stuck, "query": "show=stuck" if stuck else ""})


@requires(Ability.SETTINGS_EDIT)
def notice_settings(request: StaffRequest) -> HttpResponse:
    """The practice's own words, and when nobody is told anything."""
    row = NoticeSettings.current()
    form, version = NoticeSettingsForm(request.POST or None, instance=row), opened_on(request, row)
    if request.method == "POST" and form.is_valid():
        save = partial(change_notice_settings, actor=request.user, fields=form.values())
        try:
            save_on_top(lambda version: save(version=version), version)
        except ChangedMeanwhile as other:
            form.add_error(None, told_by_others(other, "the notices"))
            version = other.version
        else:
            messages.success(request, "The notices are saved.")
            return redirect("notice-settings")
    return render(request, "notices/settings.html", {"form": form, "version": version})
