"""What the desk says of somebody who waits."""

from django import forms

from dispensing.models import StaffUser
from dispensing.models.waiting import Purpose
from dispensing.queries.staff import at_work


class WaitingForm(forms.Form):
    purpose = forms.ChoiceField(label="For what", choices=Purpose.choices)
    wanted = forms.ModelChoiceField(
        label="For whom",
        queryset=StaffUser.objects.none(),
        to_field_name="username",
        required=False,
        empty_label="Anyone",
        error_messages={"invalid_choice": "Nobody of that sign-in name works here."},
    )
    note = forms.CharField(label="Note", required=False, max_length=200)

    def __init__(self, data: object = None) -> None:
        super().__init__(data, auto_id="waiting-%s")  # type: ignore[arg-type]  # what a request has posted
        self.fields["wanted"].queryset = at_work()  # type: ignore[attr-defined]  # of a ModelChoiceField
