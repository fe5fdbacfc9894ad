"""The reading page of a finished pair: its verdict while it is typed, a lensmeter's text taken over, and the ticket."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import can, requires
from dispensing.models import Practice
from dispensing.request_size import takes_files
from dispensing.roles import Ability
from dispensing.views.files import private_file
from dispensing.views.requests import StaffRequest
from orders.documents.lens_order import parse_order
from orders.facts import catalogue_of
from orders.forms.finished import FinishedEntry, PastedForm, TicketForm
from orders.models import FinishedReading, InspectionPhoto, Order
from orders.presentation.documents import Headings
from orders.presentation.finished import page_of
from orders.presentation.finished_read import Read
from orders.presentation.pasted import pasted_values
from orders.progress import CannotHappen
from orders.queries import for_page, last_instrument, order_of_number
from orders.services.errors import NotRegistered
from orders.services.finished_pairs import Standing, judge_finished, record_reading, sent_document, standing
from orders.services.tickets import number_in_picture
from orders.verification.lensmeter import read_lensmeter


@requires(Ability.ORDER_VIEW)
@takes_files
def finished_ticket(request: StaffRequest) -> HttpResponse:
    """Opens the order that a work ticket's code names: typed by a scanner, by hand, or photographed."""
    form = TicketForm(request.POST or None)
    if request.method == "POST":
        picture = request.FILES.get("picture")
        if picture is not None:
            form = TicketForm({"number": number_in_picture(picture.read()) or form["number"].value() or ""})
            if not form.is_valid():
                form.errors["number"] = form.error_class(["No code is seen in this photo. Fill the picture with it."])
        if form.is_valid():
            order = order_of_number(form.cleaned_data["number"])
            if order is not None:
                return redirect("finished-reading", order.public_id)
            form.add_error("number", f"There is no order {form.cleaned_data['number']}. Check the ticket.")
    return render(request, "finished/ticket.html", {"form": form})


@requires(Ability.ORDER_VIEW)
@takes_files
def finished_reading(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """Reading a finished pair."""
    order = get_object_or_404(for_page(), public_id=order_id)
    posted = request.method == "POST"
    entry = FinishedEntry(
        request.POST if posted else None, request.FILES if posted else None, last_instrument(request.user)
    )
    stands = standing(order)
    if posted and entry.is_valid():
        try:
            row = _record(request, order, entry, stands)
        except (ValidationError, CannotHappen, NotRegistered) as refused:
            entry.rest.add_error(None, " ".join(getattr(refused, "messages", [str(refused)])))
        else:
            messages.success(request, f"The reading is saved: {row.get_result_display().lower()}.")
            return redirect(_next_page(request, order), order.public_id)
    try:
        page = _context(order, entry)
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
        return redirect("order-page", order.public_id)
    context = {**page, "stands": stands, "second": stands.first_of_somebody_else(request.user), "paste": PastedForm()}
    return render(request, "finished/page.html", context)


@requires(Ability.ORDER_VIEW)
@require_POST
@takes_files
def finished_live(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """The verdict on what is typed so far: only what is said beside the fields, never the fields themselves."""
    order = get_object_or_404(for_page(), public_id=order_id)
    try:
        context = _context(order, FinishedEntry(request.POST))
    except ValidationError as refused:
        return HttpResponse(" ".join(refused.messages), status=409)
    return render(request, "finished/_live.html", {**context, "live": True})


@requires(Ability.ORDER_VIEW)
@require_POST
def finished_pasted(request: StaffRequest, order_id: uuid.UUID) -> HttpResponse:
    """A lensmeter's text as values for the fields, and the lines of it that were set aside."""
    get_object_or_404(Order, public_id=order_id)
    form = PastedForm(request.POST)
    text = form.cleaned_data["pasted"] if form.is_valid() else ""
    pasted = read_lensmeter(text)
    context = {"pasted": pasted, "values": pasted_values(pasted), "faults": form.errors.get("pasted"), "is_read": True}
    return render(request, "finished/_pasted.html", context)


@requires(Ability.ORDER_VIEW)
@require_safe
def inspection_photo(request: StaffRequest, defect_photo_id: uuid.UUID) -> FileResponse:
    photo = get_object_or_404(InspectionPhoto, public_id=defect_photo_id)
    return private_file(photo.file, f"{photo.point}.jpg")


def _next_page(request: StaffRequest, order: Order) -> str:
    """Where a reading leads: to the decision on the pair, for those who decide, unless somebody else reads it first."""
    decides = can(request.user, Ability.ORDER_EDIT) and not standing(order).waits_for_second_reader
    return "order-decide" if decides else "order-page"


def _record(request: StaffRequest, order: Order, entry: FinishedEntry, stands: Standing) -> FinishedReading:
    return record_reading(
        order=order,
        actor=request.user,
        readings=entry.readings(),
        inspection=entry.inspection(),
        note=entry.rest.cleaned_data["note"],
        second_of=stands.first_of_somebody_else(request.user),
        photos=list(entry.photos()),
    )


def _context(order: Order, entry: FinishedEntry) -> dict[str, Any]:
    document = sent_document(order)
    readings = entry.readings()
    read = Read(
        order=parse_order(document.text),
        catalogue=catalogue_of(order),
        readings=readings,
        verdict=judge_finished(order, document, readings),
        headings=Headings.of(Practice.current()),
    )
    return {"order": order, "document": document, "entry": entry, "page": page_of(read, entry)}
