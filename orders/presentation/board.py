"""The board: the tabs above it, what is chosen, its headings, and its rows as page, paper and file show them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from orders.board_queries import SORTS
from orders.presentation.stays import days_in_words
from orders.presentation.ways import place_word, where
from orders.progress import FINISHED, TO_COME, UNFINISHED, Place
from orders.queries import PlaceCount

if TYPE_CHECKING:
    from orders.board_queries import BoardOrder

Asked = Mapping[str, str]
NOTHING: Asked = {}


@dataclass(frozen=True)
class Tab:
    """``count``: None where it is not counted."""

    label: str
    url: str
    current: bool = False
    count: int | None = None


@dataclass(frozen=True)
class Head:
    """One column. ``url``: sorts by it; empty where nothing does. ``sorted``: as ``aria-sort`` has it."""

    label: str
    url: str = ""
    sorted: str = ""


@dataclass(frozen=True)
class Row:
    """``expected_late``: the day is past, too late for when it is needed, or not what was first promised."""

    order: BoardOrder
    where: str
    stays: str
    expected: str
    expected_late: bool
    dispenser: str


def open_tabs(counts: Mapping[str, PlaceCount], asked: Asked = NOTHING) -> list[Tab]:
    """One tab for each place that holds orders still to be finished, with their number."""
    held = [place for place in UNFINISHED if counts[str(place)].orders or asked.get("place") == str(place)]
    return [_tab(place, asked, count=counts[str(place)].orders) for place in held]


def tabs(counts: Mapping[str, PlaceCount], asked: Asked = NOTHING) -> list[Tab]:
    """The same, with one for all orders, one for all open ones, and one for each place of finished ones, which are not
    counted.
    """
    current = asked.get("place", "")
    every = Tab("All", address({**asked, "place": ""}), current=not current)
    number = sum(count.orders for count in counts.values())
    open_ones = Tab("Open", address({**asked, "place": "open"}), current == "open", number)
    finished = [_tab(place, asked) for place in Place if place in FINISHED]
    return [every, open_ones, *open_tabs(counts, asked), *finished]


def _tab(place: Place, asked: Asked, count: int | None = None) -> Tab:
    at = str(place)
    return Tab(place_word(at), address({**asked, "place": at}), current=asked.get("place") == at, count=count)


def address(asked: Asked, after: str = "") -> str:
    """The address of the list as asked for; empty parts are left out."""
    query = urlencode({name: value for name, value in {**asked, "after": after}.items() if value})
    return f"{reverse('order-list')}?{query}" if query else reverse("order-list")


def chosen(asked: Asked, words: Mapping[str, str]) -> list[Tab]:
    """Each filter that is in force, in words, with the address of the list without it."""
    return [Tab(said, address({**asked, name: ""}), current=True) for name, said in words.items()]


def stuck_first(asked: Asked) -> Tab:
    """The one sort that has no column: on at the first press, off at the second."""
    on = asked.get("sort") == "stuck"
    return Tab(SORTS["stuck"].words, address({**asked, "sort": "" if on else "stuck"}), current=on)


COLUMNS = (
    ("Number", ""), ("Patient", "patient"), ("Where it is", None), ("There for", "stay"), ("Needed", "needed"),
    ("Expected", "expected"), ("Lab", "lab"), ("Dispenser", "dispenser"), ("Check", None),
)  # fmt: skip


def heads(asked: Asked, *, sortable: bool) -> list[Head]:
    """A heading sorts by its column, and pressed again the other way round."""
    return [_head(label, sort, asked) if sortable and sort is not None else Head(label) for label, sort in COLUMNS]


def _head(label: str, sort: str, asked: Asked) -> Head:
    now = asked.get("sort", "")
    turned = bool(sort) and now == sort and SORTS[sort].both_ways
    said = {sort: "ascending", f"-{sort}": "descending"}.get(now, "") if sort else ("" if now else "descending")
    return Head(label, address({**asked, "sort": f"-{sort}" if turned else sort}), said)


def rows(orders: Sequence[BoardOrder], now: datetime | None = None) -> list[Row]:
    return [_row(order, now or timezone.now()) for order in orders]


def _row(order: BoardOrder, now: datetime) -> Row:
    expected, late = expected_in_words(order, timezone.localdate(now))
    by = order.sent_by or order.created_by
    return Row(order, where(order), days_in_words(order.since, now), expected, late, by.display_name if by else "–")


def expected_in_words(order: BoardOrder, today: date) -> tuple[str, bool]:
    """When the pair should come, and whether that is bad news: promised, put off, or as is usual at the lab."""
    if order.place not in {str(place) for place in TO_COME}:
        return "–", False
    day = order.promised_on or order.expected_on
    if order.is_delayed:
        return (f"delayed to {_day(order.promised_on)}" if order.promised_on else "delayed, no new day"), True
    if day is None:
        return "–", False
    late = day < today or (order.needed_on is not None and day > order.needed_on)
    return f"{_day(day)}, promised" if order.promised_on else f"about {_day(day)}", late


def _day(day: date) -> str:
    return f"{day:%-d %b %Y}"


FILE_HEADS = ("Order", "Revision", "Patient", "Reference", "Where it is", "Since", "Needed on", "Expected on",
              "Promised on", "Late", "Lab", "Our account", "Dispenser", "Tray")  # fmt: skip


def file_rows(orders: Iterable[BoardOrder]) -> Iterator[list[str]]:
    """The rows of the file, with days that a spreadsheet reads."""
    for order in orders:
        patient, by, lab = order.patient, order.sent_by or order.created_by, order.lab
        days = (timezone.localdate(order.since), order.needed_on, order.expected_on, order.promised_on)
        late = "late" if order.is_late else "late soon" if order.is_soon_late else ""
        yield [order.number, str(order.revision), patient.listed_name, patient.reference, where(order),
               *(day.isoformat() if day else "" for day in days), late, lab.name if lab else "",
               lab.account if lab else "", by.display_name if by else "", order.tray]  # fmt: skip
