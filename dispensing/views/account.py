"""Signing in and out, and changing one's password. Django does the work; this marks who may ask for it."""

from typing import cast

from django.contrib import messages
from django.contrib.auth import views
from django.http import HttpResponse
from django.urls import reverse_lazy

from dispensing.access import open_to_all, signed_in
from dispensing.forms.account import SignInForm
from dispensing.models import StaffUser
from dispensing.services.audit import record

sign_in = open_to_all(
    views.LoginView.as_view(
        template_name="registration/sign_in.html", authentication_form=SignInForm, redirect_authenticated_user=True
    )
)
sign_out = open_to_all(views.LogoutView.as_view())


class PasswordChange(views.PasswordChangeView):
    template_name = "registration/password_change.html"
    success_url = reverse_lazy("home")

    def form_valid(self, form: object) -> HttpResponse:
        response = super().form_valid(form)
        user = cast(StaffUser, self.request.user)
        record(actor=user, verb="staff.change_password")
        messages.success(self.request, "Your password is changed. Other places you were signed in at are signed out.")
        return response


password_change = signed_in(PasswordChange.as_view())
