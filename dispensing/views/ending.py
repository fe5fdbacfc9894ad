"""Prescriptions that end soon, to print or to take out: who, until when, and how to reach them. No powers."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlencode

from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.forms.ending import EndingForm
from dispensing.models import Prescription
from dispensing.queries.paging import every_row, page_of
from dispensing.queries.prescriptions import ENDING_ORDER, MOST_UNASKED, ending, ending_unasked
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.views.lists import say_where_no_such_page
from dispensing.views.requests import StaffRequest
from dispensing.views.taking_out import taken_out

HEADS = ("Ends on", "For", "Family name", "Given names", "Reference", "Preferred way", "Phone", "E-mail", "Address")


@lists_patients
@requires(Ability.PATIENT_VIEW)
@require_safe
def prescriptions_ending(request: StaffRequest) -> HttpResponseBase:
    """By day, page by page; ``?as=csv`` takes all of them out."""
    form = EndingForm.of(request.GET)
    if not form.is_valid():
        return render(request, "prescriptions/ending.html", {"filters": form})
    asked = form.cleaned_data
    rows = ending(asked["first"], asked["last"], asked["way"])
    words = {name: str(value) for name, value in asked.items()}
    if request.GET.get("as") == "csv":
        cells = _cells(every_row(rows, order=ENDING_ORDER))
        return taken_out(request, "prescriptions-ending", HEADS, cells, asked=words)
    page = page_of(rows, order=ENDING_ORDER, after=request.GET.get("after", ""))
    say_where_no_such_page(request, page)
    unasked = ending_unasked(asked["first"], asked["last"])
    left_out = f"{unasked} or more" if unasked == MOST_UNASKED else f"{unasked} more"
    context = {"filters": form, "page": page, "unasked": unasked, "left_out": left_out, "query": urlencode(words)}
    return render(request, "prescriptions/ending.html", context)


def _cells(rows: Iterator[Prescription]) -> Iterator[list[object]]:
    for row in rows:
        patient = row.patient
        reach = [patient.get_preferred_contact_display(), patient.phone, patient.email]
        address = " ".join(patient.address.split())
        yield [
            row.expires_on,
            row.get_use_display(),
            patient.family_name,
            patient.given_names,
            patient.reference,
            *reach,
            address,
        ]
