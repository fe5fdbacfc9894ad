"""The rest of a draft order: which prescription, fitting and lab, what the lab is to do, and by when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from django import forms
from django.db.models import Q
from django.http import QueryDict
from django.utils import timezone

from dispensing.forms.fields import WrittenDateField, offer
from dispensing.forms.typed import YES_NO_NOT_ASKED, yes_or_no
from dispensing.models import Fitting, Prescription
from dispensing.models.choices import Use
from dispensing.queries.protection import registered_people, why_protected
from orders.causes import CAUSE_CHOICES, WHOSE_CHOICES
from orders.forms.events import NOT_REGISTERED
from orders.models import Lab, Order
from orders.models.orders import FrameSource, PowerBasis, Priority, Purpose, Supply
from orders.services.remaking import order_to_remake

EYES_TO_MAKE = [("both", "Both"), ("right", "Right only"), ("left", "Left only")]


@dataclass(frozen=True)
class Offered:
    """What an order for this patient can be drawn up from, by public id; read once for each request."""

    prescriptions: dict[str, Prescription]
    fittings: dict[str, Fitting]
    labs: dict[str, Lab]

    @classmethod
    def to(cls, order: Order) -> Offered:
        """The patient's own records, and the labs in use; the order's own lab too, even if it is no longer in use."""
        prescriptions = order.patient.prescriptions.prefetch_related("eyes")
        fittings = order.patient.fittings.select_related("frame").prefetch_related("measurements")
        labs = Lab.objects.filter(Q(active=True) | Q(pk=order.lab_id))
        return cls(
            {str(row.public_id): row for row in prescriptions},
            {str(row.public_id): row for row in fittings},
            {str(row.public_id): row for row in labs},
        )


def require_day_to_come(day: date | None) -> date | None:
    """The day by which something is needed; raises `ValidationError` if it has passed."""
    if day is not None and day < timezone.localdate():
        raise forms.ValidationError("This day has passed. Enter a day from today on.")
    return day


def _as_prescribed(order: Order) -> str:
    """What an empty choice of use means for this order."""
    prescription = order.prescription
    return f"As the prescription: {prescription.get_use_display().lower()}" if prescription else "As the prescription"


def _not_chosen(text: str) -> dict[str, str]:
    """The message for a record that is not among those on offer."""
    return {"invalid_choice": text}


class JobForm(forms.Form):
    """Everything about a draft that is not a lens. Choices are the patient's own records, by public id."""

    saves_as_typed = (
        True  # Each change is sent straight away: nothing is required yet, and errors come with the response.
    )

    prescription = forms.ChoiceField(
        label="Prescription",
        required=False,
        error_messages=_not_chosen("This prescription belongs to another patient."),
    )
    fitting = forms.ChoiceField(
        label="Frame and fitting",
        required=False,
        error_messages=_not_chosen("This fitting belongs to another patient."),
    )
    lab = forms.ChoiceField(
        label="Lab", required=False, error_messages=_not_chosen("This lab is not in use. Choose another.")
    )
    eyes = forms.ChoiceField(label="Lenses to make", choices=EYES_TO_MAKE, widget=forms.RadioSelect)
    same = forms.BooleanField(label="Left lens as the right", required=False)
    use = forms.ChoiceField(label="This pair is for", required=False)
    power_basis = forms.ChoiceField(
        label="The powers are", required=False, choices=[("", "As prescribed"), *PowerBasis.choices]
    )
    supply = forms.ChoiceField(label="The lab is to supply", choices=Supply.choices)
    priority = forms.ChoiceField(label="Priority", required=False, choices=Priority.choices)
    frame_source = forms.ChoiceField(
        label="The frame", required=False, choices=[("", "Say how it gets to the lab"), *FrameSource.choices]
    )
    purpose = forms.ChoiceField(label="Purpose", choices=Purpose.choices)
    remake_of = forms.CharField(
        label="Remake of order", required=False, max_length=20, help_text="Its number, for a remake."
    )
    remake_cause = forms.ChoiceField(
        label="Cause of the remake", required=False, choices=[("", "Not a remake, or not said yet"), *CAUSE_CHOICES]
    )
    remake_whose = forms.ChoiceField(
        label="Whose it was", required=False, choices=[("", "Not a remake, or not said yet"), *WHOSE_CHOICES]
    )
    needed_on = WrittenDateField(label="Needed on", required=False, help_text="As in 4.12.2026 or 4 Dec 2026.")
    registered = forms.ModelChoiceField(
        label="Registered person who takes part",
        queryset=registered_people(),
        to_field_name="username",
        required=False,
        empty_label="Choose who answers for it",
        help_text="For a child or a registered sight-impaired person: at order, measurement, check and collection.",
        error_messages={"invalid_choice": NOT_REGISTERED},
    )
    other_pair = forms.ChoiceField(
        label="Has another usable pair", required=False, choices=YES_NO_NOT_ASKED, help_text="Counts for driving."
    )
    remarks = forms.CharField(
        label="Remarks to the lab", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, data: QueryDict | None = None, *, order: Order, offered: Offered):
        super().__init__(data, initial=self.stored(order))
        self.order = order
        self.prescriptions, self.fittings, self.labs = offered.prescriptions, offered.fittings, offered.labs
        prescriptions = (
            (key, f"{row.tested_on:%d %b %Y}, {row.get_use_display().lower()}")
            for key, row in self.prescriptions.items()
        )
        fittings = ((key, f"{row.frame}, fitted {row.measured_on:%d %b %Y}") for key, row in self.fittings.items())
        offer(self, "prescription", [("", "Choose a prescription"), *prescriptions])
        offer(self, "fitting", [("", "Choose a fitting"), *fittings])
        offer(self, "use", [("", _as_prescribed(order)), *Use.choices])
        offer(self, "lab", [("", "Choose a lab"), *((key, row.name) for key, row in self.labs.items())])

    @cached_property
    def asks_who_answers(self) -> bool:
        """Whether the page has the field for the registered person: the law asks for one, or one is named already."""
        return bool(why_protected(self.order.patient, timezone.localdate())) or self.order.registered_id is not None

    @staticmethod
    def stored(order: Order) -> dict[str, Any]:
        """The fields as stored in the draft."""
        lenses = order.lenses or {}
        made = [eye for eye in ("right", "left") if lenses.get(eye) is not None]
        return {
            "prescription": str(order.prescription.public_id) if order.prescription else "",
            "fitting": str(order.fitting.public_id) if order.fitting else "",
            "lab": str(order.lab.public_id) if order.lab else "",
            "eyes": made[0] if len(made) == 1 else "both",
            "same": len(made) != 2 or lenses.get("right") == lenses.get("left"),
            "use": order.use,
            "power_basis": order.power_basis,
            "supply": order.supply,
            "priority": order.priority,
            "frame_source": order.frame_source,
            "purpose": order.purpose,
            "remake_of": order.remake_of.number if order.remake_of else "",
            "remake_cause": order.remake_cause,
            "remake_whose": order.remake_whose,
            "needed_on": order.needed_on,
            "registered": order.registered.username if order.registered else "",
            "other_pair": yes_or_no(order.other_pair),
            "remarks": order.remarks,
        }

    def clean_needed_on(self) -> date | None:
        day = self.cleaned_data["needed_on"]
        # A day that passed while the draft was waiting is for the check to find; it is not a typing error made today.
        return day if day == self.order.needed_on else require_day_to_come(day)

    def clean_remake_of(self) -> Order | None:
        number = self.cleaned_data["remake_of"].strip()
        return order_to_remake(number, self.order) if number else None

    @property
    def lab_chosen(self) -> Lab | None:
        """The lab the page now shows, before anything is saved; the draft's own if that lab is not on offer."""
        key = self.data.get("lab", "") if self.is_bound else self.initial["lab"]
        return self.labs.get(key, self.order.lab) if key else None

    def values(self) -> dict[str, Any]:
        """The model field values; an invalid field keeps the draft's value."""
        self.is_valid()
        cleaned = dict(self.cleaned_data)
        values: dict[str, Any] = {
            name: cleaned[name]
            for name in (
                "use",
                "supply",
                "priority",
                "frame_source",
                "purpose",
                "needed_on",
                "remarks",
                "remake_of",
                "remake_cause",
                "remake_whose",
                "registered",
            )
            if name in cleaned
        }
        if "prescription" in cleaned:
            values["prescription"] = self.prescriptions.get(cleaned["prescription"])
        if "fitting" in cleaned:
            fitting = self.fittings.get(cleaned["fitting"])
            # A frame chosen without a fitting, as the API allows, is not on this page, so it is left as it is.
            alone = self.order.frame if self.order.fitting_id is None else None
            values |= {"fitting": fitting, "frame": fitting.frame if fitting else alone}
        # The page has a button for each basis, which works the powers out as well, and no field.
        if "power_basis" in cleaned and "power_basis" in self.data:
            values["power_basis"] = cleaned["power_basis"]
        if "other_pair" in cleaned:
            values["other_pair"] = {"yes": True, "no": False, "": None}[cleaned["other_pair"]]
        return values
