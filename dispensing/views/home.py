"""The first page after signing in: what this person most likely wants to do next."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template import TemplateDoesNotExist
from django.template.loader import get_template

from dispensing.access import signed_in
from dispensing.queries.patients import last_worked_on


def _orders_part() -> str | None:
    """The part of the page the orders app adds, when that app is there."""
    try:
        get_template("orders/_home.html")
    except TemplateDoesNotExist:
        return None
    return "orders/_home.html"


@signed_in
def home(request: HttpRequest) -> HttpResponse:
    return render(request, "home/home.html", {"recent": last_worked_on(request.user), "orders_part": _orders_part()})
