"""Signing in and out, and choosing a password. Django does the work; this says who may use it."""

from typing import Any, cast

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash, views
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from dispensing import half_signed_in
from dispensing.access import open_to_all, signed_in_anyhow
from dispensing.forms.account import OwnPasswordForm, SignInForm
from dispensing.idle import left_behind_nothing
from dispensing.models import StaffUser
from dispensing.queries.second_factors import factors_of
from dispensing.services.sessions import end_other_sessions, go_on_under
from dispensing.services.staff import choose_own_password


class SignIn(views.LoginView):
    template_name = "registration/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Whoever has a second factor is not signed in yet."""
        user = form.get_user()
        if factors_of(user):
            half_signed_in.begin(self.request, user, self.get_success_url())
            return redirect("sign-in-second")
        response = super().form_valid(form)
        half_signed_in.password_given(self.request)
        return response


sign_in = open_to_all(SignIn.as_view())


class SignOut(views.LogoutView):
    def post(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        return left_behind_nothing(request, super().post(request, *args, **kwargs))


sign_out = open_to_all(SignOut.as_view())


class PasswordChange(views.PasswordChangeView):
    template_name = "registration/password_change.html"
    form_class = OwnPasswordForm

    def get_form_kwargs(self) -> dict[str, Any]:
        return super().get_form_kwargs() | {"request": self.request}

    def form_valid(self, form: PasswordChangeForm) -> HttpResponse:
        user = choose_own_password(
            member=cast(StaffUser, self.request.user),
            password=form.cleaned_data["new_password1"],
            end_tokens=form.cleaned_data.get("end_tokens", False),
        )
        before = self.request.session.session_key or ""
        update_session_auth_hash(self.request, user)
        here = self.request.session.session_key or ""
        go_on_under(before, here)
        end_other_sessions(actor=user, but=here)
        messages.success(self.request, "Your password is changed. Other places you were signed in at are signed out.")
        return redirect("home")


password_change = signed_in_anyhow(PasswordChange.as_view())
