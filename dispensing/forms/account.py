"""The sign-in form."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError

from dispensing.models import StaffUser
from dispensing.roles import Role


class SignInForm(AuthenticationForm):
    """Name and password. A lab's user works through the API and cannot open pages."""

    username = forms.CharField(
        label="Sign-in name", widget=forms.TextInput(attrs={"autofocus": True, "autocomplete": "username"})
    )
    error_messages = {
        "invalid_login": "This sign-in name and password do not go together. "
        "Small and capital letters count in the password.",
        "inactive": "This sign-in is closed. Ask a manager.",
    }

    def confirm_login_allowed(self, user: StaffUser) -> None:
        super().confirm_login_allowed(user)
        if user.role == Role.LAB:
            raise ValidationError("This is a lab's sign-in for the programming interface; it opens no pages.")
