"""The first page after signing in: what this person most likely wants to do next."""

from django.http import HttpResponse
from django.shortcuts import render

from dispensing.access import signed_in
from dispensing.queries.patients import last_worked_on
from dispensing.views.parts import part
from dispensing.views.requests import StaffRequest


@signed_in
def home(request: StaffRequest) -> HttpResponse:
    return render(
        request, "home/home.html", {"recent": last_worked_on(request.user), "orders_part": part("orders/_home.html")}
    )
