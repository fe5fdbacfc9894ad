"""The page of the practice's own settings."""

from __future__ import annotations

from functools import partial

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from dispensing.access import requires
from dispensing.forms.practice import PracticeForm
from dispensing.models import Practice
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.services.practice import change_practice
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.requests import StaffRequest


@requires(Ability.SETTINGS_EDIT)
def practice_settings(request: StaffRequest) -> HttpResponse:
    practice = Practice.current()
    form, version = PracticeForm(request.POST or None, instance=practice), opened_on(request, practice)
    if request.method == "POST" and form.is_valid():
        save = partial(change_practice, actor=request.user, fields=form.cleaned_data)
        try:
            save_on_top(lambda version: save(version=version), version)
        except ChangedMeanwhile as other:
            form.add_error(None, told_by_others(other, "the settings"))
            version = other.version
        else:
            messages.success(request, "The settings are saved.")
            return redirect("practice-settings")
    return render(request, "practice/settings.html", {"form": form, "version": version})
