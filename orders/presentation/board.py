"""The tabs above the list of orders, and the addresses they lead to."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from orders.presentation.ways import place_word
from orders.progress import FINISHED, Place
from orders.queries import place_counts


def tabs(current: str = "", lab: str = "", show: str = "", *, open_only: bool = False) -> list[dict[str, Any]]:
    """One tab for each place that holds orders, and one for all orders; ``open_only`` leaves out finished ones."""
    counts = place_counts()
    found = [
        {
            "label": place_word(str(place)),
            "count": counts[str(place)].orders,
            "late": counts[str(place)].late,
            "url": address(str(place), lab, show),
            "current": current == str(place),
        }
        for place in Place
        if (counts[str(place)].orders or current == str(place)) and not (open_only and place in FINISHED)
    ]
    if open_only:
        return found
    total = {"label": "All", "count": sum(count.orders for count in counts.values()), "late": 0}
    return [{**total, "url": address("", lab, show), "current": not current}, *found]


def address(place: str, lab: str, show: str, after: str = "") -> str:
    """The address of the filtered list of orders at one place; empty parts are left out."""
    asked = {"place": place, "lab": lab, "show": show, "after": after}
    query = urlencode({name: value for name, value in asked.items() if value})
    return f"{reverse('order-list')}?{query}" if query else reverse("order-list")
