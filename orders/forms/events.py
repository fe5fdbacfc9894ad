"""The form that records what happened to an order."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from dispensing.forms.fields import offer
from orders.progress import BY_HAND, EventKind


class EventForm(forms.Form):
    """``may``: the kinds to offer. The event sent in is judged when it is written, by where the pair is then."""

    kind = forms.TypedChoiceField(
        label="What happened", choices=[(kind.value, label) for kind, label in BY_HAND.items()], coerce=EventKind
    )
    note = forms.CharField(label="Note", required=False, max_length=500)

    def __init__(self, *args: Any, may: Iterable[EventKind] = tuple(BY_HAND), **kwargs: Any):
        super().__init__(*args, **kwargs)
        offer(self, "kind", [(kind.value, BY_HAND[kind]) for kind in may if kind in BY_HAND])
