"""The figures of any period, by month or group: the page, its pictures and its CSV, for managers."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlencode

from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from dispensing.access import requires
from dispensing.roles import Ability
from dispensing.views.requests import StaffRequest
from dispensing.views.taking_out import taken_out
from orders.figure_queries import counted_months, months_counted, names_of_people, overdue
from orders.figures.counts import Counts, together
from orders.figures.period_charts import Size
from orders.forms.figures import PeriodForm
from orders.presentation.period_figures import (
    LISTS,
    SECTIONS,
    SORTED_BY,
    Period,
    in_short,
    list_rows,
    month_in_words,
    people_of,
)
from orders.services.counting import EVENTS_A_LOOK, bring_up_to_date
from orders.views.figures import as_picture


@requires(Ability.FIGURES_VIEW)
@require_safe
def period_figures(request: StaffRequest) -> HttpResponseBase:
    """Everything asked of a period; ``?as=`` one of its tables gives that one as CSV."""
    left = bring_up_to_date(at_most=EVENTS_A_LOOK).left
    form = _form(request)
    if not form.is_valid():
        return render(request, "figures/period.html", {"filters": form, "left": left})
    period, wanted = _period(form), request.GET.get("as", "")
    if wanted:
        return _file(request, wanted, period, form.cleaned_data)
    context = {"filters": form, "left": left, "period": form.cleaned_data, "shown": _shown(form, period)}
    return render(request, "figures/period.html", context)


@requires(Ability.FIGURES_VIEW)
@require_safe
def period_chart(request: StaffRequest) -> HttpResponseBase:
    """One picture; ``size`` narrow is for a telephone."""
    form, section = _form(request), SECTIONS.get(request.GET.get("chart", ""))
    size = request.GET.get("size", Size.WIDE)
    if section is None or not form.is_valid() or size not in list(Size):
        raise Http404("There is no such chart.")
    return as_picture(section.draw(section.plot(_period(form)), Size(size)))


def _form(request: StaffRequest) -> PeriodForm:
    months = [(month, month_in_words(month)) for month in _offered()]
    return PeriodForm(request.GET, months, list(SORTED_BY.items()))


def _offered() -> list[str]:
    """Every month from the first with an order to this one, or beyond to the last: a clock may have been set back."""
    this = f"{timezone.localdate():%Y-%m}"
    first, last = months_counted() or (this, this)
    return _months(min(first, this), max(last, this))


def _months(first: str, last: str) -> list[str]:
    start, end = (int(month[:4]) * 12 + int(month[5:]) - 1 for month in (first, last))
    return [f"{at // 12:04}-{at % 12 + 1:02}" for at in range(start, end + 1)]


def _period(form: PeriodForm) -> Period:
    """A month without orders has its line too."""
    first, last, by = (form.cleaned_data[name] for name in ("first", "last", "by"))
    found = counted_months(first, last)
    months = {month: found.get(month, Counts()) for month in _months(first, last)}
    people = names_of_people(people_of(together(found.values()))) if by == "dispenser" else {}
    return Period(by, months, people)


def _file(request: StaffRequest, wanted: str, period: Period, asked: Mapping[str, str]) -> HttpResponseBase:
    if wanted in SECTIONS:
        section = SECTIONS[wanted]
        heads = (SORTED_BY[period.by], *section.heads)
        return taken_out(request, f"{wanted}-by-{period.by}", heads, section.rows(period), asked=asked)
    if wanted in LISTS:
        return taken_out(request, wanted, LISTS[wanted][1], list_rows(wanted, period.whole), asked=asked)
    raise Http404("There is no such table.")


def _shown(form: PeriodForm, period: Period) -> dict[str, object]:
    asked = urlencode({name: form.cleaned_data[name] for name in ("first", "last", "by")})
    sections = [
        {
            "id": id,
            "title": section.title,
            "explained": section.explained,
            "heads": (SORTED_BY[period.by], *section.heads),
            "rows": section.rows(period),
            "chart": f"{reverse('figures-chart')}?{asked}&chart={id}",
        }
        for id, section in SECTIONS.items()
    ]
    lists = [
        {"id": id, "title": title, "heads": heads, "rows": list_rows(id, period.whole)}
        for id, (title, heads) in LISTS.items()
    ]
    sent = sum(count for (by, _, measure), count in period.whole.items() if (by, measure) == ("all", "sent"))
    return {
        "sent": sent,
        "said": in_short(period, overdue(form.cleaned_data["first"], form.cleaned_data["last"])),
        "sections": sections,
        "lists": lists,
        "asked": asked,
        "span": f"{month_in_words(form.cleaned_data['first'])} to {month_in_words(form.cleaned_data['last'])}",
    }
