"""Adding to what happened to an order."""

from django import forms

from orders.progress import EventKind

# What people note by hand; the rest is noted by the action itself.
BY_HAND = (
    (EventKind.ACCEPTED, "The lab accepted it"),
    (EventKind.QUERY, "The lab asked something"),
    (EventKind.ANSWER, "We answered the lab"),
    (EventKind.DELAYED, "The lab is late"),
    (EventKind.DISPATCHED, "The lab sent the pair off"),
    (EventKind.RECEIVED, "The pair came in"),
    (EventKind.PASSED, "Checked and passed"),
    (EventKind.RETURNED, "Checked and returned to the lab"),
    (EventKind.PATIENT_TOLD, "The patient was told"),
    (EventKind.HANDED_OVER, "Handed over"),
    (EventKind.NOTE, "A note"),
)


class EventForm(forms.Form):
    kind = forms.TypedChoiceField(
        label="What happened", choices=[(str(kind), label) for kind, label in BY_HAND], coerce=EventKind
    )
    note = forms.CharField(label="Note", required=False, max_length=500)
