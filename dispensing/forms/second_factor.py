"""Typing a code, confirming one's password, naming a passkey."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest

from dispensing.forms.fields import TidyCharField
from dispensing.models import StaffUser


class CodeForm(forms.Form):
    """``recovery``: whether a recovery code is taken as well."""

    code = TidyCharField(
        label="Code",
        max_length=20,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autofocus": True, "spellcheck": "false"}),
    )

    def __init__(self, data: Any = None, *, recovery: bool):
        super().__init__(data)
        other = ", or one of your recovery codes" if recovery else ""
        self.fields["code"].help_text = f"The six figures that your authenticator app shows now{other}."


class PresentPasswordForm(forms.Form):
    """Checked as at sign-in, and counted like it."""

    password = forms.CharField(
        label="Present password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password", "autofocus": True}),
    )

    def __init__(self, data: Any = None, *, request: HttpRequest, user: StaffUser):
        super().__init__(data)
        self.request, self.user = request, user

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        if authenticate(self.request, username=self.user.get_username(), password=password) is None:
            raise forms.ValidationError("That is not your password.")
        return password


class PasskeyNameForm(forms.Form):
    name = TidyCharField(
        label="Name of a new passkey", max_length=60, help_text="What you will know it by, as in My telephone."
    )
