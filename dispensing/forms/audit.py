"""Narrowing the audit trail: whose records, by whom, what was done."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from dispensing.forms.fields import offer
from dispensing.models import Patient
from dispensing.queries.audit import people_on_record


class AuditFilterForm(forms.Form):
    """Person and verb may appear in an address; a patient's reference may not, so it has its own form."""

    person = forms.ChoiceField(label="By", required=False)
    verb = forms.ChoiceField(label="What was done", required=False)

    def __init__(self, data: Any = None, *, verbs: Iterable[tuple[str, str]]):
        """``verbs``: every verb there is, each with its wording."""
        super().__init__(data)
        self.people = {user.username: user for user in people_on_record()}
        people = ((name, user.display_name) for name, user in self.people.items())
        offer(self, "person", [("", "Everybody"), *people])
        offer(self, "verb", [("", "Everything"), *verbs])


class AuditPatientForm(forms.Form):
    """Finds the patient whose trail is wanted."""

    reference = forms.CharField(
        label="Patient reference", max_length=20, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    patient: Patient | None = None

    def clean_reference(self) -> str:
        reference = str(self.cleaned_data["reference"]).strip().upper()
        self.patient = Patient.objects.filter(reference__iexact=reference).first()
        if self.patient is None:
            raise forms.ValidationError(f"No patient has the reference {reference}. It is written as in P-00017.")
        return reference
