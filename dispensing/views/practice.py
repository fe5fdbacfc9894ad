"""The page of the practice's own settings."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from dispensing.access import requires
from dispensing.forms.practice import PracticeForm
from dispensing.models import Practice
from dispensing.roles import Ability
from dispensing.services.practice import change_practice
from dispensing.views.requests import StaffRequest


@requires(Ability.SETTINGS_EDIT)
def practice_settings(request: StaffRequest) -> HttpResponse:
    form = PracticeForm(request.POST or None, instance=Practice.current())
    if request.method == "POST" and form.is_valid():
        change_practice(actor=request.user, fields=form.cleaned_data)
        messages.success(request, "The settings are saved.")
        return redirect("practice-settings")
    return render(request, "practice/settings.html", {"form": form})
