"""The forms of a decision on a finished pair, and of a remake that no decision started."""

from __future__ import annotations

from typing import Any

from django import forms

from dispensing.forms.fields import TidyCharField
from dispensing.models import StaffUser
from dispensing.queries.protection import REGISTERED_ROLES, registered_people
from orders.causes import CAUSE_CHOICES, WHOSE_CHOICES
from orders.forms.events import NOT_REGISTERED
from orders.progress import BY_HAND, DECIDED, EventKind

ON_RECEIPT: dict[EventKind, str] = {
    EventKind.PASSED: "Accept it: it is as ordered",
    EventKind.CONCEDED: "Accept it with a concession",
    EventKind.RETURNED: "Return it to the lab",
    EventKind.OUR_MISTAKE: "Our own mistake: made as ordered, and ordered wrongly",
}
assert set(ON_RECEIPT) == set(DECIDED) <= set(BY_HAND)


class DecisionForm(forms.Form):
    """``may``: the decisions that may follow now. What each needs, the service says; the page shows only that."""

    kind = forms.TypedChoiceField(
        label="What becomes of the pair",
        choices=[(kind.value, label) for kind, label in ON_RECEIPT.items()],
        coerce=EventKind,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what becomes of the pair."},
    )
    cause = forms.ChoiceField(label="What is wrong", required=False, choices=[("", "Choose"), *CAUSE_CHOICES])
    reason = TidyCharField(
        label="What was found",
        required=False,
        max_length=500,
        help_text="In a sentence, as in: left axis 8, ordered 15. The lab reads it if the pair goes back.",
    )
    allowed_by = forms.ModelChoiceField(
        label="Who allows the concession",
        queryset=StaffUser.objects.filter(role__in=REGISTERED_ROLES, is_active=True).order_by("last_name", "pk"),
        to_field_name="username",
        required=False,
        empty_label="Choose a dispenser or manager",
        error_messages={"invalid_choice": "Nobody of that sign-in name is a dispenser or manager here."},
    )
    patient_told = forms.BooleanField(label="The patient was told and agrees", required=False)
    order_again = forms.BooleanField(
        label="Order it again",
        required=False,
        help_text="A remake is begun as a draft. Without it, the lab puts the pair right under this number.",
    )
    registered = forms.ModelChoiceField(
        label="Registered person who took part",
        queryset=registered_people(),
        to_field_name="username",
        required=False,
        empty_label="Nobody named",
        help_text="Needed to check the pair of a child or a registered sight-impaired person.",
        error_messages={"invalid_choice": NOT_REGISTERED},
    )

    def __init__(self, *args: Any, may: tuple[EventKind, ...] = DECIDED, **kwargs: Any):
        super().__init__(*args, **kwargs)
        kind = self.fields["kind"]
        assert isinstance(kind, forms.ChoiceField)
        kind.choices = [(one.value, label) for one, label in ON_RECEIPT.items() if one in may]


class RemakeForm(forms.Form):
    """Why a pair is made again, and whose it was; neither can be left out."""

    cause = forms.ChoiceField(
        label="Why it is made again",
        choices=[("", "Choose"), *CAUSE_CHOICES],
        error_messages={"required": "Choose why it is made again."},
    )
    whose = forms.ChoiceField(
        label="Whose it was",
        choices=[("", "Choose"), *WHOSE_CHOICES],
        error_messages={"required": "Say whose it was; nobody's is an answer too."},
    )
    said = TidyCharField(
        label="What was wrong with the first pair",
        max_length=500,
        help_text="In a sentence. It goes into the remarks, which the lab reads.",
        error_messages={"required": "Say what was wrong, in a sentence."},
    )
