"""The form for what comes after a hand-over."""

from __future__ import annotations

from django import forms

from dispensing.forms.fields import TidyCharField
from orders.causes import CAUSE_CHOICES, WHOSE_CHOICES
from orders.models.aftercare import Part
from orders.progress import AFTERCARE, BY_HAND, EventKind


class AftercareForm(forms.Form):
    """What each kind needs, the service says; the page shows only that."""

    kind = forms.TypedChoiceField(
        label="What it was",
        choices=[(kind.value, BY_HAND[kind]) for kind in AFTERCARE],
        coerce=EventKind,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what it was."},
    )
    part = forms.ChoiceField(label="Part", required=False, choices=[("", "Choose"), *Part.choices])
    done = TidyCharField(
        label="What was done, and how",
        required=False,
        max_length=500,
        help_text="As in: left side shortened; screw of the right hinge replaced, it had worked loose.",
    )
    words = forms.CharField(
        label="In the wearer's words",
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What they see or feel, when and where, not what we make of it.",
    )
    findings = forms.CharField(
        label="What was found",
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Acuity, how the frame sits, heights and centres as worn, what the lensmeter reads.",
    )
    cause = forms.ChoiceField(label="Cause", required=False, choices=[("", "Not known yet"), *CAUSE_CHOICES])
    whose = forms.ChoiceField(label="Whose it was", required=False, choices=[("", "Not known yet"), *WHOSE_CHOICES])
