"""Taking on staff and changing who may do what."""

from __future__ import annotations

from typing import Any

from django import forms

from dispensing.forms.fields import TidyCharField
from dispensing.forms.model_form import ModelForm
from dispensing.models import StaffUser
from dispensing.roles import Role

STAFF_ROLES = [(role.value, role.label) for role in Role if role != Role.LAB]


class StaffForm(ModelForm[StaffUser]):
    """``member``: the person to change, whose sign-in name then stays as it is."""

    first_name = TidyCharField(label="Given name", max_length=150)
    last_name = TidyCharField(label="Family name", max_length=150)
    registration_body = TidyCharField(
        label="Registered with", max_length=40, required=False, help_text="The professional register, as in GOC."
    )
    registration = TidyCharField(
        label="Registration number", max_length=40, required=False, help_text="With the professional register, if any."
    )
    role = forms.ChoiceField(label="Role", choices=STAFF_ROLES, widget=forms.RadioSelect)
    is_active = forms.BooleanField(
        label="May sign in",
        required=False,
        help_text="Untick when somebody leaves. Their name stays on the records; their tokens are taken back.",
    )

    class Meta:
        model = StaffUser
        fields = ["username", "first_name", "last_name", "registration_body", "registration", "role", "is_active"]
        labels = {"username": "Sign-in name"}
        help_texts = {"username": "Letters, figures and . _ - only. It cannot be changed later."}

    def __init__(self, data: Any = None, *, member: StaffUser | None = None):
        initial = {"role": Role.FRONT_DESK}
        if member is not None:
            initial = {name: getattr(member, name) for name in self.Meta.fields}
        super().__init__(data, initial=initial)
        del self.fields["is_active" if member is None else "username"]

    def clean_username(self) -> str:
        name = str(self.cleaned_data["username"]).strip()
        if StaffUser.objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(f"“{name}” is taken. Choose another sign-in name.")
        return name
