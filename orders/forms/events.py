"""The form that records what happened to an order, if a note is all there is to say of it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from dispensing.forms.fields import offer
from dispensing.queries.protection import registered_people
from orders.progress import BY_HAND, BY_NOTE, EventKind

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

    def __init__(self, *args: Any, may: Iterable[EventKind] = BY_NOTE, **kwargs: Any):
        super().__init__(*args, **kwargs)
        offer(self, "kind", [(kind.value, BY_HAND[kind]) for kind in may if kind in BY_NOTE])
