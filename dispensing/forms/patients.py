"""The patient form: who the patient is, how to reach them, and what matters for spectacles."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from dispensing.ages import OLDEST_BELIEVED_YEARS, age_on
from dispensing.folding import digits_of
from dispensing.forms.fields import TidyCharField, WrittenDateField
from dispensing.forms.model_form import ModelForm
from dispensing.forms.typed import YES_NO_NOT_ASKED, said, yes_or_no
from dispensing.models import Patient, Practice
from dispensing.models.patients import PreferredContact
from dispensing.queries.limits import limits_in_force
from dispensing.telephones import NumberRefused, mobile_number

ASKED = ("may_be_contacted", "driver")
"""What the patient is asked: yes, no, or not asked yet."""


def _line(label: str, longest: int, needed: str = "", **kwargs: Any) -> TidyCharField:
    """One line of text. ``needed``: what to say when it is missing; without it the field may be empty."""
    widget = forms.TextInput(attrs={"autocomplete": "off", **kwargs.pop("attrs", {})})
    messages = {"required": needed}
    return TidyCharField(
        label=label, max_length=longest, required=bool(needed), widget=widget, error_messages=messages, **kwargs
    )


class PatientForm(ModelForm[Patient]):
    family_name = _line("Family name", 200, needed="Write the family name.", attrs={"dir": "auto", "autofocus": True})
    given_names = _line("Given names", 200, needed="Write at least one given name.", attrs={"dir": "auto"})
    born_on = WrittenDateField(
        label="Date of birth",
        help_text="As in 2.4.1968 or 2 Apr 1968.",
        error_messages={"required": "Write the date of birth: the law on children's spectacles turns on it."},
    )
    phone = _line("Phone", 40, attrs={"inputmode": "tel"})
    preferred_contact = forms.ChoiceField(
        label="Preferred way", choices=[("", "No preference"), *PreferredContact.choices], required=False
    )
    may_be_contacted = forms.ChoiceField(
        label="Agrees to be contacted about orders", choices=YES_NO_NOT_ASKED, required=False
    )
    driver = forms.ChoiceField(label="Drives", choices=YES_NO_NOT_ASKED, required=False)
    guardian = _line("Guardian", 200, attrs={"dir": "auto"})
    occupation = _line("Occupation", 200, help_text="Distances and tasks at work.")
    recreation = _line("Recreation", 200, help_text="Sports, reading, music, crafts.")

    class Meta:
        model = Patient
        fields = [
            "family_name",
            "given_names",
            "born_on",
            "guardian",
            "phone",
            "email",
            "address",
            "preferred_contact",
            "may_be_contacted",
            "notices_by_email",
            "notices_by_text",
            "driver",
            "sight_impaired",
            "occupation",
            "recreation",
            "notes",
        ]
        labels = {
            "email": "E-mail",
            "address": "Address",
            "notices_by_email": "Agrees to be told by e-mail that a pair is ready or late",
            "notices_by_text": "Agrees to be told so by text message",
            "sight_impaired": "Registered sight-impaired",
            "notes": "Notes",
        }
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3, "autocomplete": "off", "dir": "auto"}),
            "notes": forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
            "email": forms.EmailInput(attrs={"autocomplete": "off"}),
        }

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.protected_below = limits_in_force().of("protected-patient", "below_years")
        self.fields["guardian"].help_text = f"Name and phone; needed for a child under {self.protected_below:g}."
        if self.instance.pk:
            # The form sends back what each field held when the page was opened, so that only what this person changed
            # is saved and a colleague's changes in the meantime are kept.
            for field in self.fields.values():
                field.show_hidden_initial = True
            self.initial.update({name: yes_or_no(getattr(self.instance, name)) for name in ASKED})

    def clean_born_on(self) -> Any:
        born_on, today = self.cleaned_data["born_on"], timezone.localdate()
        if born_on > today:
            raise ValidationError(f"{born_on:%d %b %Y} is in the future. Check day, month and year.")
        if age_on(born_on, today) > OLDEST_BELIEVED_YEARS:
            raise ValidationError(
                f"That would be {age_on(born_on, today)} years of age; that cannot be right. Check the year."
            )
        return born_on

    def clean_phone(self) -> str:
        phone = str(self.cleaned_data["phone"])
        if phone and len(digits_of(phone)) < 5:
            raise ValidationError("A phone number has at least 5 digits.")
        return phone

    def clean_may_be_contacted(self) -> bool | None:
        return said(self.cleaned_data["may_be_contacted"])

    def clean_driver(self) -> bool | None:
        return said(self.cleaned_data["driver"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        born_on = cleaned.get("born_on")
        if born_on and not cleaned.get("guardian"):
            age = age_on(born_on, timezone.localdate())
            if age < self.protected_below:
                self.add_error("guardian", f"This patient is {age}. Write who is responsible, with a phone number.")
        self._require_reachable(cleaned)
        return cleaned

    def _require_reachable(self, cleaned: dict[str, Any]) -> None:
        """Who agrees to a way can be reached by it."""
        if cleaned.get("notices_by_email") and not cleaned.get("email") and "email" not in self.errors:
            self.add_error("email", "Write the e-mail address by which the patient agrees to be told.")
        if cleaned.get("notices_by_text") and "phone" not in self.errors:
            try:
                mobile_number(cleaned.get("phone", ""), Practice.current().country)
            except NumberRefused as refused:
                self.add_error("phone", f"{refused} The patient agrees to be told by text message.")

    def changed_values(self) -> dict[str, Any]:
        """The fields this person changed since the page was opened."""
        return {name: self.cleaned_data[name] for name in self.changed_data}
