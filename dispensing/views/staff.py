"""Pages of staff: who works here, what they may do, their passwords, and the end of their API tokens.

A password is shown once, in the answer to the request that made it, and is stored nowhere.
"""

from __future__ import annotations

from functools import partial

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import requires
from dispensing.forms.staff import StaffForm
from dispensing.models import StaffUser
from dispensing.queries.second_factors import factors_of
from dispensing.queries.staff import staff_members, tokens_of
from dispensing.roles import Ability
from dispensing.services.meanwhile import ChangedMeanwhile
from dispensing.services.second_factors import take_off_second_factor
from dispensing.services.staff import StaffRefused, add_staff, change_staff, reset_password
from dispensing.services.tokens import revoke_token
from dispensing.views.meanwhile import opened_on, save_on_top, told_by_others
from dispensing.views.own_account import id_sent
from dispensing.views.requests import StaffRequest


@requires(Ability.STAFF_EDIT)
@require_safe
def staff_list(request: StaffRequest) -> HttpResponse:
    return render(request, "staff/list.html", {"members": staff_members()})


@requires(Ability.STAFF_EDIT)
@never_cache
def staff_new(request: StaffRequest) -> HttpResponse:
    form = StaffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        member, password = add_staff(actor=request.user, fields=form.cleaned_data)
        return _shown_once(request, member, password)
    return render(request, "staff/edit.html", {"form": form})


@requires(Ability.STAFF_EDIT)
def staff_page(request: StaffRequest, username: str) -> HttpResponse:
    member = _member(username)
    form, version = StaffForm(request.POST or None, member=member), opened_on(request, member)
    if request.method == "POST" and form.is_valid():
        save = partial(change_staff, actor=request.user, member=member, fields=form.cleaned_data)
        try:
            save_on_top(lambda version: save(version=version), version)
        except StaffRefused as refusal:
            form.add_error("is_active" if not form.cleaned_data["is_active"] else "role", str(refusal))
        except ChangedMeanwhile as other:
            form.add_error(None, told_by_others(other, "this person's entry"))
            version = other.version
        else:
            messages.success(request, f"{_member(username).display_name} is saved.")
            return redirect("staff-list")
    context = {"form": form, "member": member, "version": version, "tokens": tokens_of(member)}
    context["factors"] = factors_of(member)
    return render(request, "staff/edit.html", context)


@requires(Ability.STAFF_EDIT)
@require_POST
@never_cache
def staff_password_reset(request: StaffRequest, username: str) -> HttpResponse:
    member = _member(username)
    return _shown_once(request, member, reset_password(actor=request.user, member=member))


@requires(Ability.STAFF_EDIT)
@require_POST
def staff_second_factor_off(request: StaffRequest, username: str) -> HttpResponse:
    """For a colleague who has lost theirs; the password alone is asked then."""
    member = _member(username)
    if told := take_off_second_factor(actor=request.user, member=member):
        messages.success(request, f"{member.display_name} had {told}; the password alone is asked now.")
    else:
        messages.warning(request, f"{member.display_name} has no second factor.")
    return redirect("staff-page", username)


@requires(Ability.STAFF_EDIT)
@require_POST
def token_revoke(request: StaffRequest, username: str) -> HttpResponse:
    token_id = id_sent(request, "token")
    if token_id and revoke_token(actor=request.user, user=_member(username), token_id=token_id):
        messages.success(request, "The token is ended; whatever used it can no longer sign in.")
    else:
        messages.warning(request, "That token had ended already.")
    return redirect("staff-page", username)


def _member(username: str) -> StaffUser:
    return get_object_or_404(staff_members(), username=_text(username))


def _text(value: str) -> str:
    """Text from an address, without NUL, which PostgreSQL refuses."""
    return value.replace("\x00", "")


def _shown_once(request: StaffRequest, member: StaffUser, secret: str) -> HttpResponse:
    return render(request, "staff/shown_once.html", {"member": member, "secret": secret})
