"""The first page after signing in: what this person is most likely to want next."""

from django.http import HttpResponse
from django.shortcuts import render

from dispensing.access import can, signed_in
from dispensing.queries.patients import last_worked_on
from dispensing.queries.photo_fittings import unfinished_measurings
from dispensing.queries.waiting import waiting_now
from dispensing.reading_trace import lists_patients
from dispensing.roles import Ability
from dispensing.views.parts import part
from dispensing.views.requests import StaffRequest


@lists_patients
@signed_in
def home(request: StaffRequest) -> HttpResponse:
    measures = can(request.user, Ability.FITTING_EDIT, Ability.PATIENT_VIEW)
    context = {
        "recent": last_worked_on(request.user),
        "orders_part": part("orders/_home.html"),
        "measurings": unfinished_measurings() if measures else (),
        "waits": waiting_now() if can(request.user, Ability.PATIENT_VIEW) else (),
    }
    return render(request, "home/home.html", context)
