"""Signing in, and choosing your own password."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from dispensing.models import StaffUser
from dispensing.queries.staff import tokens_of
from dispensing.roles import Role


class SignInForm(AuthenticationForm):
    """Name and password. A lab's user works through the API and cannot open pages."""

    username = forms.CharField(
        label="Sign-in name", widget=forms.TextInput(attrs={"autofocus": True, "autocomplete": "username"})
    )
    error_messages = {
        "invalid_login": "The sign-in name and password do not match. The password is case-sensitive.",
        "inactive": "This sign-in is closed. Ask a manager.",
    }

    def confirm_login_allowed(self, user: StaffUser) -> None:
        super().confirm_login_allowed(user)
        if user.role == Role.LAB:
            raise ValidationError("This sign-in belongs to a lab and works only for the programming interface.")


class OwnPasswordForm(PasswordChangeForm):
    """The current password and, typed twice, a new one that differs from it."""

    def __init__(self, user: StaffUser, *args: Any, request: HttpRequest, **kwargs: Any):
        super().__init__(user, *args, **kwargs)
        self.request = request
        given = user.password_is_temporary
        self.fields["old_password"].label = "The password you were given" if given else "Present password"
        self.fields[
            "new_password1"
        ].help_text = "At least 12 characters; not a common password, and not like your name."
        if tokens_of(user):
            self.fields["end_tokens"] = forms.BooleanField(
                label="End the tokens of my programs as well",
                required=False,
                initial=True,
                help_text="Leave it ticked if somebody may know your old password: they may have made one.",
            )
        self.fields["new_password2"].label, self.fields["new_password2"].help_text = "New password again", ""

    def clean_old_password(self) -> str:
        """Checked as at sign-in, so that whoever sits down at a forgotten desk is locked out after a few guesses."""
        old: str = self.cleaned_data["old_password"]
        if authenticate(self.request, username=self.user.get_username(), password=old) is None:
            raise ValidationError(self.error_messages["password_incorrect"], code="password_incorrect")
        return old

    def clean(self) -> None:
        super().clean()
        old, new = self.cleaned_data.get("old_password"), self.cleaned_data.get("new_password1")
        if new and new == old:
            self.add_error("new_password1", "This is the password you have now. Choose another.")
