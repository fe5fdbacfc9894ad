"""The form that records what happened to an order, if a note is all there is to say of it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from dispensing.forms.fields import WrittenDateField, offer
from dispensing.queries.protection import registered_people
from orders.progress import BY_HAND, BY_NOTE, EventKind, lacking

NOT_REGISTERED = "Nobody of that sign-in name is a registered dispenser or manager here."


class EventForm(forms.Form):
    """``may``: the kinds to offer. The event sent in is judged when it is written, by where the pair is then."""

    kind = forms.TypedChoiceField(
        label="What happened", choices=[(kind.value, BY_HAND[kind]) for kind in BY_NOTE], coerce=EventKind
    )
    registered = forms.ModelChoiceField(
        label="Registered person who took part",
        queryset=registered_people(),
        to_field_name="username",
        required=False,
        empty_label="Nobody named",
        help_text="Needed to check and hand over the pair of a child or a registered sight-impaired person.",
        error_messages={"invalid_choice": NOT_REGISTERED},
    )
    note = forms.CharField(label="Note", required=False, max_length=500)
    promised_on = WrittenDateField(label="Day the lab promises", required=False)
    job_number = forms.CharField(label="The lab's job number", required=False, max_length=40)
    tracking = forms.CharField(label="Parcel number or link", required=False, max_length=80)

    def __init__(self, *args: Any, may: Iterable[EventKind] = BY_NOTE, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.offer_only(may)

    def offer_only(self, may: Iterable[EventKind]) -> None:
        offer(self, "kind", [(kind.value, BY_HAND[kind]) for kind in may if kind in BY_NOTE])

    def clean(self) -> dict[str, Any]:
        """A question, an answer or a refusal without its words says nothing, and nor does a delay without a day."""
        told = self.cleaned_data
        if kind := told.get("kind"):
            for field, said in lacking(kind, told.get("note", ""), told.get("promised_on")).items():
                if field not in self.errors:
                    self.add_error(field, said)
        return told
