"""The second step of signing in: a code of the app, a recovery code or a passkey, for whoever has a second factor."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST
from django_otp_webauthn.exceptions import OTPWebAuthnApiError
from django_otp_webauthn.utils import rewrite_exceptions

from dispensing import half_signed_in
from dispensing.access import open_to_all
from dispensing.documents import NotJson, read_json
from dispensing.forms.second_factor import CodeForm
from dispensing.passkeys import can_have_passkeys, helper_for
from dispensing.queries.second_factors import factors_of
from dispensing.services.second_factors import is_right_code

STATE = "passkey_state"
NOT_KNOWN = "That passkey was not recognised. Try again, or use another way."


@open_to_all
@never_cache
def second_step(request: HttpRequest) -> HttpResponse:
    user = half_signed_in.who(request)
    if user is None:
        messages.warning(request, "That took too long. Start again with your password.")
        return redirect("sign-in")
    factors = factors_of(user)
    form = CodeForm(request.POST or None, recovery=True)
    if request.method == "POST" and form.is_valid() and not half_signed_in.is_locked_out(request, user):
        if is_right_code(actor=user, code=form.cleaned_data["code"]):
            left = factors_of(user).codes_left
            if left < factors.codes_left:
                messages.info(request, f"That recovery code is used up. You have {left} left.")
            return redirect(half_signed_in.finish(request, user))
        half_signed_in.count_failure(request, user)
        form.add_error("code", "That is not a code that holds now. Each works once; the app shows a new one soon.")
    context = {"form": form, "factors": factors, "passkeys": factors.passkeys and can_have_passkeys(request)}
    return render(request, "registration/second_step.html", context)


@open_to_all
@require_POST
def second_step_passkey(request: HttpRequest) -> HttpResponse:
    """What the browser is to ask the passkey."""
    user = half_signed_in.who(request)
    if user is None:
        return JsonResponse({"said": "That took too long. Start again with your password."}, status=422)
    options, request.session[STATE] = helper_for(request).authenticate_begin(user=user, require_user_verification=False)
    return JsonResponse(options)


@open_to_all
@require_POST
def second_step_passkey_answer(request: HttpRequest) -> HttpResponse:
    """What the passkey answered; where to go, or why not."""
    user, state = half_signed_in.who(request), request.session.pop(STATE, None)
    if user is None or state is None or half_signed_in.is_locked_out(request, user):
        return JsonResponse({"said": "That took too long. Start again with your password."}, status=422)
    try:
        with rewrite_exceptions():
            answer = read_json(request.body)
            device = helper_for(request).authenticate_complete(user=user, state=state, data=answer)
    except (OTPWebAuthnApiError, NotJson, ValueError, KeyError, TypeError):
        device = None
    if device is None or not device.confirmed:
        half_signed_in.count_failure(request, user)
        return JsonResponse({"said": NOT_KNOWN}, status=422)
    return JsonResponse({"go": half_signed_in.finish(request, user)})
