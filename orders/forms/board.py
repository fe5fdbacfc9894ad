"""Filters and sorts the list of orders, by what may stand in an address: nothing about a patient does."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import QueryDict

from dispensing.forms.fields import TidyCharField, offer, offered
from dispensing.models import StaffUser
from dispensing.roles import ABILITIES, Ability
from orders.board_queries import SORTS, sort_named
from orders.models import Lab
from orders.progress import FINISHED, Place
from orders.queries import BoardFilter

OPEN = "open"
SHOW = {
    "late": "Late",
    "soon": "Late soon",
    "delayed": "Delayed by the lab",
    "waiting": "Not sent yet",
    "unsent": "Did not, or may not have, reached the lab",
    "promise": "Past the day the lab promised",
    "unacknowledged": "Withdrawn, and the lab has not said that it knows",
}
GONE = {
    "place": "There is no such place; orders are shown wherever they are.",
    "lab": "The lab in this address is not here any more; orders of all labs are shown.",
    "dispenser": "The person in this address is not here any more; orders of everybody are shown.",
    "show": "This list cannot be narrowed by that any more; all orders are shown.",
    "sort": "This list cannot be sorted by that; the newest come first.",
}
NOT_SORTED = "Finished orders are too many to sort; the newest come first."
PLACES = {str(place) for place in Place}


class BoardForm(forms.Form):
    """What is no choice any more asks for nothing, and `gone` says so."""

    place = forms.ChoiceField(label="Where it is", required=False)
    show = forms.ChoiceField(label="Only", required=False, choices=[("", "All"), *SHOW.items()])
    lab = forms.ChoiceField(label="Lab", required=False)
    dispenser = forms.ChoiceField(label="Dispenser", required=False)
    sort = forms.ChoiceField(label="Sorted by", required=False)

    def __init__(self, data: QueryDict | None = None, *, places: Any = ()):
        """``places``: code and words of each place, in the page's own words."""
        super().__init__(data)
        offer(self, "place", [("", "Everywhere"), (OPEN, "All open ones"), *places])
        labs = Lab.objects.values_list("public_id", "name")
        offer(self, "lab", [("", "All labs"), *((str(public_id), name) for public_id, name in labs)])
        roles = [role for role, abilities in ABILITIES.items() if Ability.ORDER_EDIT in abilities]
        people = StaffUser.objects.filter(role__in=roles)
        offer(self, "dispenser", [("", "Everybody"), *((one.username, one.display_name) for one in people)])
        offer(self, "sort", [("", "Newest first"), *((name, sort.words) for name, sort in SORTS.items())])

    def clean(self) -> dict[str, Any]:
        """A sort the other way round is one that the list does not offer."""
        asked = str(self.data.get("sort", ""))
        if "sort" in self.errors and sort_named(asked):
            del self.errors["sort"]
            self.cleaned_data["sort"] = asked
        return self.cleaned_data

    @property
    def asked(self) -> dict[str, str]:
        """What is asked for and can be, by field; what is not asked for is left out."""
        self.is_valid()
        return {name: value for name in self.fields if (value := self.cleaned_data.get(name, ""))}

    @property
    def gone(self) -> list[str]:
        """What the address asks for in vain, each in a sentence."""
        said = [GONE[name] for name in self.errors if name in GONE]
        place = self.asked.get("place", "")
        return said + ([NOT_SORTED] if "sort" in self.asked and place in PLACES and Place(place) in FINISHED else [])

    def wanted(self, text: str = "") -> BoardFilter:
        asked = self.asked
        place = asked.get("place", "")
        only: dict[str, Any] = {asked["show"]: True} if "show" in asked else {}
        return BoardFilter(
            place="" if place == OPEN else place,
            unfinished=place == OPEN,
            lab=asked.get("lab", ""),
            dispenser=asked.get("dispenser", ""),
            text=text,
            **only,
        )

    def words(self) -> dict[str, str]:
        """What was chosen, in the page's own words, by field; the sort is no choice of orders."""
        chosen = {name: value for name, value in self.asked.items() if name != "sort"}
        return {name: dict(offered(self, name))[value] for name, value in chosen.items()}


class BoardSearchForm(forms.Form):
    """A number or a person. Sent by POST: nothing about a patient gets into an address."""

    text = TidyCharField(
        label="Find an order",
        required=False,
        max_length=200,
        widget=forms.TextInput(
            attrs={"type": "search", "autocomplete": "off", "dir": "auto", "placeholder": "Number, tray or patient"}
        ),
    )
