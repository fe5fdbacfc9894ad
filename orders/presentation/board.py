"""The tabs above the list of orders, and the addresses they lead to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse

from orders.presentation.ways import place_word
from orders.progress import FINISHED, UNFINISHED, Place
from orders.queries import PlaceCount


@dataclass(frozen=True)
class Tab:
    """``count``: None where it is not counted."""

    label: str
    url: str
    current: bool = False
    count: int | None = None


def open_tabs(counts: Mapping[str, PlaceCount], current: str = "", lab: str = "", show: str = "") -> list[Tab]:
    """One tab for each place that holds orders still to be finished, with their number."""
    held = [place for place in UNFINISHED if counts[str(place)].orders or current == str(place)]
    return [_tab(place, current, lab, show, count=counts[str(place)].orders) for place in held]


def tabs(counts: Mapping[str, PlaceCount], current: str = "", lab: str = "", show: str = "") -> list[Tab]:
    """The same, with one for all orders and one for each place of finished ones: how many those are is not counted."""
    every = Tab("All", address("", lab, show), current=not current)
    finished = [_tab(place, current, lab, show) for place in Place if place in FINISHED]
    return [every, *open_tabs(counts, current, lab, show), *finished]


def _tab(place: Place, current: str, lab: str, show: str, count: int | None = None) -> Tab:
    return Tab(place_word(str(place)), address(str(place), lab, show), current=current == str(place), count=count)


def address(place: str, lab: str, show: str, after: str = "") -> str:
    """The address of the filtered list of orders at one place; empty parts are left out."""
    asked = {"place": place, "lab": lab, "show": show, "after": after}
    query = urlencode({name: value for name, value in asked.items() if value})
    return f"{reverse('order-list')}?{query}" if query else reverse("order-list")
