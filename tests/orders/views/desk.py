"""The order desk as a browser uses it: reads what is on the page, changes it, and sends all of it back."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Any

from django.test import Client
from django.urls import reverse

from orders.models import Order
from tests.people import Answer, signed_in

HTMX = {"HX-Request": "true"}


class Controls(HTMLParser):
    """The successful controls of all forms of a page, as a browser would send them: none of a disabled group."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self._groups: list[bool] = []
        self.values: dict[str, list[str]] = {}
        self._select = self._area = ""
        self._chosen: list[str] = []
        self._first: str | None = None
        self.feed(html)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        own = dict(attributes)
        if tag == "fieldset":
            self._groups.append("disabled" in own)
        if any(self._groups):
            return
        name = own.get("name") or ""
        if tag == "select":
            self._select, self._chosen, self._first = name, [], None
        elif tag == "option" and self._select:
            value = own.get("value") or ""
            self._first = value if self._first is None else self._first
            if "selected" in own:
                self._chosen.append(value)
        elif tag == "textarea":
            self._area = name
            self.values[name] = [""]
        elif tag == "input" and name and (own.get("type") not in ("checkbox", "radio") or "checked" in own):
            self.values.setdefault(name, []).append(own.get("value") or ("on" if "checked" in own else ""))

    def handle_endtag(self, tag: str) -> None:
        if tag == "fieldset":
            self._groups.pop()
        if tag == "select" and self._select:
            self.values[self._select] = self._chosen or [self._first or ""]
            self._select = ""
        self._area = "" if tag == "textarea" else self._area

    def handle_data(self, data: str) -> None:
        if self._area:
            self.values[self._area] = [self.values[self._area][0] + data.removeprefix("\n")]


def page_of(order: Order, client: Client | None = None) -> str:
    answer = (client or signed_in("ravi")).get(reverse("order-page", args=[order.public_id]))
    assert answer.status_code == 200
    return answer.content.decode()


def typed_on(html: str) -> dict[str, list[str]]:
    """What the draft's own form on the page would send."""
    start = html.index('<form class="stack tight" id="draft"')
    return Controls(html[start : html.index("</form>", start)]).values


def change(order: Order, client: Client | None = None, *, on: str | None = None, **changes: Any) -> Answer:
    """Open the page (or use the one that is open: ``on``), change fields (None takes one away), and save it live."""
    client = client or signed_in("ravi")
    values: dict[str, Any] = typed_on(on or page_of(order, client))
    for name, value in changes.items():
        key = name.replace("__", "-")
        values.pop(key, None)
        if value is not None:
            values[key] = value
    return client.post(reverse("order-live", args=[order.public_id]), values, headers=HTMX)


def settle(order: Order, rule: str, eye: str = "", client: Client | None = None, **said: str) -> Answer:
    data = {"rule": rule, "eye": eye, "version": Order.objects.get(pk=order.pk).version, **said}
    return (client or signed_in("ravi")).post(reverse("order-settle", args=[order.public_id]), data, headers=HTMX)


def stored(order: Order) -> Order:
    return Order.objects.get(pk=order.pk)


def text_of(answer: Answer) -> str:
    return answer.content.decode()
