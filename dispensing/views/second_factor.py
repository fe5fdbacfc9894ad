"""One's own second factor: setting up an app or a passkey, recovery codes, and taking them off again."""

from __future__ import annotations

import base64
from collections.abc import Callable
from functools import wraps
from typing import Any

import segno
from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST
from django_otp_webauthn.exceptions import OTPWebAuthnApiError
from django_otp_webauthn.utils import rewrite_exceptions

from dispensing.access import signed_in_without_second_factor
from dispensing.documents import NotJson, read_json
from dispensing.forms.second_factor import CodeForm, PasskeyNameForm, PresentPasswordForm
from dispensing.half_signed_in import password_given, password_was_given
from dispensing.passkeys import can_have_passkeys, helper_for
from dispensing.queries.second_factors import factors_of
from dispensing.services.second_factors import begin_app, confirm_app, new_recovery_codes, note_passkey, remove_factor
from dispensing.views.requests import StaffRequest

View = Callable[[StaffRequest], HttpResponse]
STATE = "new_passkey_state"


def password_first(view: View) -> View:
    """The page itself asks for the password if it was not given in the last minutes; everything else leads there."""

    @wraps(view)
    def guarded(request: StaffRequest) -> HttpResponse:
        return view(request) if password_was_given(request) else redirect("second-factor")

    return guarded


@signed_in_without_second_factor
@never_cache
def second_factor(request: StaffRequest) -> HttpResponse:
    if not password_was_given(request):
        return _ask_for_password(request)
    context = {
        "factors": factors_of(request.user),
        "passkeys_possible": can_have_passkeys(request),
        "name_form": PasskeyNameForm(),
    }
    return render(request, "account/second_factor.html", context)


def _ask_for_password(request: StaffRequest) -> HttpResponse:
    form = PresentPasswordForm(request.POST or None, request=request, user=request.user)
    if request.method == "POST" and form.is_valid():
        password_given(request)
        return redirect("second-factor")
    return render(request, "account/confirm.html", {"form": form})


@signed_in_without_second_factor
@never_cache
@password_first
def second_factor_app(request: StaffRequest) -> HttpResponse:
    """The code to scan, and the first code that the app shows."""
    device = begin_app(request.user)
    form = CodeForm(request.POST or None, recovery=False)
    if request.method == "POST" and form.is_valid():
        if confirm_app(actor=request.user, code=form.cleaned_data["code"]):
            return _set_up(request, "From now on your authenticator app is asked at every sign-in.")
        form.add_error("code", "That is not the code of this app now. Wait for the next one and type that.")
    secret = base64.b32encode(device.bin_key).decode().rstrip("=")
    grouped = " ".join(secret[at : at + 4] for at in range(0, len(secret), 4))
    picture = segno.make_qr(device.config_url).svg_data_uri(scale=5, border=3, light="#fff")
    context = {"form": form, "picture": picture, "secret": grouped}
    return render(request, "account/app.html", context)


@signed_in_without_second_factor
@require_POST
@password_first
def passkey_begin(request: StaffRequest) -> HttpResponse:
    """What the browser is to ask the new passkey."""
    options, request.session[STATE] = helper_for(request).register_begin(user=request.user)
    return JsonResponse(options)


@signed_in_without_second_factor
@require_POST
@password_first
def passkey_add(request: StaffRequest) -> HttpResponse:
    """What the new passkey answered, with its name."""
    state = request.session.pop(STATE, None)
    try:
        answer: Any = read_json(request.body)
        form = PasskeyNameForm({"name": answer["name"]})
        if state is None or not form.is_valid():
            return JsonResponse({"said": "Give the passkey a name first."}, status=422)
        with rewrite_exceptions():
            passkey = helper_for(request).register_complete(user=request.user, state=state, data=answer["passkey"])
    except (OTPWebAuthnApiError, NotJson, ValueError, KeyError, TypeError):
        return JsonResponse({"said": "That passkey could not be used. Try again, or use another."}, status=422)
    note_passkey(actor=request.user, passkey=passkey, name=form.cleaned_data["name"])
    messages.success(request, "From now on the passkey is asked at every sign-in.")
    codes = not factors_of(request.user).codes_left
    return JsonResponse({"go": "codes" if codes else "done"})


@signed_in_without_second_factor
@require_POST
@never_cache
@password_first
def recovery_codes(request: StaffRequest) -> HttpResponse:
    if not factors_of(request.user):
        return redirect("second-factor")
    return render(request, "account/codes.html", {"codes": new_recovery_codes(actor=request.user)})


@signed_in_without_second_factor
@require_POST
@password_first
def factor_remove(request: StaffRequest) -> HttpResponse:
    """A passkey by its number, or without one the app."""
    sent = request.POST.get("passkey", "")
    passkey_id = int(sent) if sent.isdecimal() and len(sent) < 18 else None
    if (not sent or passkey_id is not None) and remove_factor(actor=request.user, passkey_id=passkey_id):
        messages.success(request, "It is taken off and will not be asked for again.")
    else:
        messages.warning(request, "That was taken off already.")
    return redirect("second-factor")


def _set_up(request: StaffRequest, said: str) -> HttpResponse:
    """After the first factor the recovery codes are shown; they come with it."""
    messages.success(request, said)
    if factors_of(request.user).codes_left:
        return redirect("second-factor")
    return render(request, "account/codes.html", {"codes": new_recovery_codes(actor=request.user)})
