"""One's own sign-in: the tokens of one's programs, and the browsers in which one is signed in."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from dispensing.access import open_to_all, signed_in
from dispensing.forms.tokens import TokenForm
from dispensing.models import Practice
from dispensing.presentation.browsers import browser_in_words
from dispensing.queries.second_factors import factors_of
from dispensing.queries.sessions import sessions_of
from dispensing.queries.staff import tokens_of
from dispensing.services.sessions import end_other_sessions, end_session
from dispensing.services.tokens import TokenRefused, issue_token, revoke_token
from dispensing.views.requests import StaffRequest


@signed_in
@require_safe
def account_page(request: StaffRequest) -> HttpResponse:
    sessions = [(row, browser_in_words(row.browser)) for row in sessions_of(request.user)]
    here = request.session.session_key
    context: dict[str, object] = {"sessions": sessions, "here": here, "tokens": tokens_of(request.user)}
    context["factors"] = factors_of(request.user)
    return render(request, "account/page.html", context)


@signed_in
@never_cache
def account_token_new(request: StaffRequest) -> HttpResponse:
    form = TokenForm(request.POST or None, longest=Practice.current().token_days)
    if request.method == "POST" and form.is_valid():
        try:
            token = issue_token(actor=request.user, user=request.user, **form.cleaned_data)
        except TokenRefused as refusal:
            form.add_error(None, str(refusal))
        else:
            return render(request, "account/token.html", {"secret": token, "name": form.cleaned_data["name"]})
    return render(request, "account/token_new.html", {"form": form})


@signed_in
@require_POST
def account_token_end(request: StaffRequest) -> HttpResponse:
    token_id = id_sent(request, "token")
    if token_id and revoke_token(actor=request.user, user=request.user, token_id=token_id):
        messages.success(request, "The token is ended; whatever used it can no longer sign in.")
    else:
        messages.warning(request, "That token had ended already.")
    return redirect("account-page")


@signed_in
@require_POST
def account_session_end(request: StaffRequest) -> HttpResponse:
    """One session by its id, or without one all but this."""
    session_id = id_sent(request, "session")
    if session_id is None:
        ended = end_other_sessions(actor=request.user, but=request.session.session_key or "")
        messages.success(request, f"Signed out elsewhere: {ended}.")
    elif end_session(actor=request.user, session_id=session_id):
        messages.success(request, "Signed out there.")
    else:
        messages.warning(request, "You were no longer signed in there.")
    return redirect("account-page")


@open_to_all
@require_safe
@never_cache
def still_signed_in(request: HttpRequest) -> HttpResponse:
    """Who is signed in, for a page that wants to know before it sends what was typed; empty for nobody."""
    return JsonResponse({"name": request.user.get_username() if request.user.is_authenticated else ""})


@signed_in
@require_safe
def signed_in_again(request: HttpRequest) -> HttpResponse:
    """Where the second window ends in which somebody signed in again."""
    return render(request, "account/again.html")


def id_sent(request: HttpRequest, name: str) -> UUID | None:
    try:
        return UUID(request.POST.get(name, ""))
    except ValueError:
        return None
