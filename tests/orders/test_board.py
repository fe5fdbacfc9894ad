"""The board sorted and narrowed: what comes first, what is late soon, and what stands between two pages."""

from __future__ import annotations

import base64
import csv
import io
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from rest_framework.test import APIClient

from dispensing.models import AuditEvent
from dispensing.queries import paging
from orders.board_queries import SORTS, sorted_board, whole_board
from orders.models import Lab, Order
from orders.presentation.board import expected_in_words
from orders.progress import EventKind
from orders.queries import BoardFilter, place_counts
from orders.rules.dates import working_days_later
from orders.services.events import record_event
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import text_of
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def at(place: str, **known: Any) -> Order:
    """``needed``, ``expected``, ``promised``: days from today; ``days``: for how many it has been there."""
    order = shop.brought_to(place, shop.draft(patient=shop.patient(known.pop("of", "P-90001"))))
    today, days = timezone.localdate(), known.pop("days", 0)
    for name in ("needed", "expected", "promised"):
        if name in known:
            value = known.pop(name)
            known[f"{name}_on"] = None if value is None else today + timedelta(days=value)
    known.setdefault("place_since", timezone.now() - timedelta(days=days))
    Order.objects.filter(pk=order.pk).update(**known)
    if place != "draft":
        shop.delivery(order, "sent")
    return Order.objects.get(pk=order.pk)


def sorted_by(name: str, **wanted: Any) -> list[str]:
    """The numbers in order, one a page, so that every page's key is tried."""
    whole = [order.number for order in whole_board(BoardFilter(**wanted), name)]
    assert [order.number for order in sorted_board(BoardFilter(**wanted), name).rows] == whole
    return whole


def board(who: str = "ines", **asked: str) -> str:
    return text_of(signed_in(who).get(reverse("order-list"), asked))


@pytest.mark.parametrize("sort", ["", *SORTS, *(f"-{name}" for name, sort in SORTS.items() if sort.both_ways)])
def test_a_sort_goes_on_over_its_pages_also_where_all_are_alike_or_nothing_is_known(
    sort: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for known in ({"needed": 3, "expected": 3}, {"needed": None, "expected": None}, {"needed": 3}, {"needed": 5}):
        at("at the lab", **known)
    Order.objects.create(number="D-90000", patient=shop.patient(), place="draft")
    whole = sorted_by(sort)
    monkeypatch.setattr(paging.page_of, "__kwdefaults__", {"after": "", "size": 2})
    seen, key = [], ""
    for _ in range(3):
        page = sorted_board(BoardFilter(), sort, after=key)
        seen += [order.number for order in page.rows]
        key = page.next_key
    assert (seen, len(set(seen)), key) == (whole, 5, "")


def test_patients_sort_by_name_and_no_key_of_a_page_holds_one(monkeypatch: pytest.MonkeyPatch) -> None:
    people = {"P-1": ("Zuber", "Ann"), "P-2": ("Abel", "Tom"), "P-3": ("Abel", "Ida"), "P-4": ("Moss", "Lea")}
    orders = {}
    for reference, (family, given) in people.items():
        shop.patient(reference, family_name=family, given_names=given)
        orders[reference] = at("at the lab", of=reference)
    numbers = [orders[reference].number for reference in ("P-3", "P-2", "P-4", "P-1")]
    assert (sorted_by("patient"), sorted_by("-patient")) == (numbers, numbers[::-1])
    monkeypatch.setattr(paging.page_of, "__kwdefaults__", {"after": "", "size": 2})
    first = sorted_board(BoardFilter(), "patient")
    held = base64.urlsafe_b64decode(first.next_key + "=" * (-len(first.next_key) % 4))
    assert held == f"[{first.rows[1].pk}]".encode()
    # The next page goes on behind the last row also once that is no longer in the list.
    Order.objects.filter(pk=first.rows[1].pk).update(place="handed over")
    page = sorted_board(BoardFilter(), "patient", after=first.next_key)
    assert [order.number for order in page.rows] == numbers[2:]
    assert (page.first, page.key_was_broken) == (False, False)
    gone = sorted_board(BoardFilter(), "patient", after="WzBd")
    assert (gone.first, gone.key_was_broken) == (True, True)


def test_days_sort_both_ways_with_what_has_none_last() -> None:
    none, later, sooner = at("at the lab", needed=None), at("at the lab", needed=9), at("draft", needed=2)
    at("handed over", needed=1)
    assert sorted_by("needed") == [sooner.number, later.number, none.number]
    assert sorted_by("-needed") == [later.number, sooner.number, none.number]


def test_the_longest_at_its_place_comes_first_and_a_note_is_no_move() -> None:
    long, short = at("at the lab", days=9), at("query to answer", days=2)
    since = long.place_since
    record_event(order=long, kind=EventKind.NOTE, actor=person("ravi"), note="Rang them")
    assert Order.objects.get(pk=long.pk).place_since == since
    assert sorted_by("stay") == [long.number, short.number]
    record_event(order=long, kind=EventKind.QUERY, actor=person("ravi"), note="Which curve?")
    assert sorted_by("stay") == [short.number, long.number]


def test_the_stuck_come_first_worst_first_and_among_equals_the_longest() -> None:
    fine, waits_long, waits = at("at the lab", days=30), at("in, to be checked", days=5), at("query to answer", days=1)
    soon, late = at("at the lab", needed=2, expected=4), at("at the lab", needed=-1)
    refused, failed = at("refused by the lab", days=1), at("sent", days=9)
    failed.documents.get().deliveries.update(state="failed")
    at("handed over", needed=-9)
    assert sorted_by("stuck") == [order.number for order in (failed, refused, late, soon, waits_long, waits, fine)]


@pytest.mark.parametrize(
    ("place", "needed", "expected", "soon"),
    [
        ("at the lab", 2, 2, False),
        ("at the lab", 2, 3, True),
        ("on the way", 2, 3, True),
        ("in, to be checked", 2, 3, False),
        ("draft", 2, 3, False),
        ("at the lab", 0, 1, True),
        ("at the lab", -1, 1, False),  # late already
        ("at the lab", 9, -1, True),  # should have come
        ("at the lab", 9, 0, False),
        ("at the lab", None, 3, False),
        ("at the lab", 2, None, False),
    ],
)
def test_late_soon_is_what_is_expected_after_it_is_needed_or_should_have_come(
    place: str, needed: int | None, expected: int | None, soon: bool
) -> None:
    order = at(place, needed=needed, expected=expected)
    other = at("at the lab", needed=9, expected=3)
    found = {row.number for row in sorted_board(BoardFilter(soon=True)).rows}
    assert found == ({order.number} if soon else set())
    assert sum(count.soon for count in place_counts().values()) == soon
    html = board().split("<tbody>")[1]
    assert html.count(">late soon<") == soon
    assert other.number in html


def test_a_pair_is_expected_after_the_usual_working_days_of_its_lab_until_the_lab_says_when() -> None:
    Lab.objects.filter(pk=shop.lab().pk).update(working_days=3)
    order, other = shop.draft(), at("at the lab", expected=20)
    today = timezone.localdate()
    record_event(order=order, kind=EventKind.SENT, actor=person("ravi"))
    usual, promised = working_days_later(today, 3), today + timedelta(days=5)
    assert f"about {usual:%-d %b %Y}" in board()
    shop.delivery(Order.objects.get(pk=brought(order)), "sent")
    record_event(order=order, kind=EventKind.ACCEPTED, actor=person("ravi"), promised_on=promised)
    assert f"{promised:%-d %b %Y}, promised" in board()
    assert Order.objects.get(pk=order.pk).expected_on == promised
    assert Order.objects.get(pk=other.pk).expected_on == today + timedelta(days=20)


def brought(order: Order) -> int:
    """The order signed off, as far as its own row says."""
    Order.objects.filter(pk=order.pk).update(state="sent", sent_at=timezone.now())
    return order.pk


def test_a_delay_shows_its_new_day_until_the_lab_says_otherwise() -> None:
    order, other = at("at the lab", needed=9, promised=3), at("at the lab", needed=9, promised=3)
    day = timezone.localdate() + timedelta(days=8)
    record_event(order=order, kind=EventKind.DELAYED, actor=person("ravi"), promised_on=day)
    assert [row.number for row in sorted_board(BoardFilter(delayed=True)).rows] == [order.number]
    html = board(show="delayed")
    assert f"delayed to {day:%-d %b %Y}" in html
    assert other.number not in html
    record_event(order=order, kind=EventKind.DISPATCHED, actor=person("ravi"))
    assert f"delayed to {day:%-d %b %Y}" in board()
    record_event(order=other, kind=EventKind.DELAYED, actor=person("ravi"), note="They do not know")
    Order.objects.filter(pk=other.pk).update(promised_on=None)
    assert "delayed, no new day" in board()


def test_a_returned_pair_is_expected_anew_and_not_called_delayed_any_more() -> None:
    order = at("at the lab")
    for kind in ("delayed", "dispatched", "received", "returned"):
        record_event(order=order, kind=EventKind(kind), actor=person("ravi"), note="x", promised_on=None)
    row = sorted_board(BoardFilter()).rows[0]
    assert (row.is_delayed, row.expected_on) == (False, working_days_later(timezone.localdate(), 7))
    assert expected_in_words(row, timezone.localdate())[0].startswith("about ")


def test_the_board_is_narrowed_by_who_signed_the_order_off_or_drew_it_up() -> None:
    mine, theirs = at("at the lab", sent_by=person("ravi")), at("at the lab", sent_by=person("ines"))
    draft = at("draft", created_by=person("ravi"))
    found = {row.number for row in sorted_board(BoardFilter(dispenser="ravi")).rows}
    assert found == {mine.number, draft.number}
    html = board(dispenser="ravi")
    assert theirs.number not in html
    assert 'aria-current="true">Ravi Castellan' in html


def test_what_is_chosen_is_lit_and_each_can_be_taken_away() -> None:
    at("at the lab", needed=-1)
    html = board(place="at the lab", show="late", sort="needed")
    assert '<a href="/orders/?show=late&amp;sort=needed" aria-current="true">At the lab' in html
    assert '<a href="/orders/?place=at+the+lab&amp;sort=needed" aria-current="true">Late' in html
    assert (
        '<th scope="col" aria-sort="ascending"><a href="/orders/?place=at+the+lab&amp;show=late&amp;sort=-needed">'
        in html
    )
    assert 'aria-sort="descending"' in board(sort="-needed")
    assert 'aria-current="true">Stuck ones first' in board(sort="stuck")
    assert 'aria-current="true">Stuck ones first' not in board()


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"place": "the moon"}, "There is no such place"),
        ({"lab": "00000000-0000-4000-8000-000000000000"}, "The lab in this address is not here any more"),
        ({"dispenser": "nobody"}, "The person in this address is not here any more"),
        ({"show": "everything"}, "This list cannot be narrowed by that any more"),
        ({"sort": "colour"}, "This list cannot be sorted by that"),
        ({"sort": "-stuck"}, "This list cannot be sorted by that"),
        ({"sort": "needed", "place": "handed over"}, "Finished orders are too many to sort"),
        ({"after": "broken"}, "The address of that page does not hold any more"),
        ({"after": "WzVd", "sort": "needed"}, "The address of that page does not hold any more"),
    ],
)
def test_what_the_address_asks_for_in_vain_is_said_and_the_rest_still_holds(asked: dict[str, str], says: str) -> None:
    order = at("handed over" if asked.get("place") == "handed over" else "at the lab")
    html = board(**asked)
    assert says in html
    assert f">{order.number}<" in html
    assert says not in board()


def test_an_address_with_one_filter_that_is_gone_keeps_the_others() -> None:
    here, other = at("at the lab"), at("sent")
    html = board(place="at the lab", lab="gone")
    assert f">{here.number}<" in html
    assert f">{other.number}<" not in html


def find(text: str, **asked: str) -> Any:
    return signed_in("dora").post(reverse("order-list"), {"text": text, **asked})


def test_a_person_is_searched_for_without_leaving_a_trace_in_the_address() -> None:
    ours, other = at("at the lab"), at("at the lab", of="P-90077")
    done = at("handed over")
    other.patient.search_text = "zubair"
    other.patient.save()
    html = text_of(find("lindqvist", place="at the lab"))
    assert f">{ours.number}<" in html
    assert f">{other.number}<" not in html
    assert f">{done.number}<" not in html
    assert "lindqvist" not in "".join(part.split('"')[0] for part in html.split('href="')[1:])
    assert "No order is found" in text_of(find("nobody at all"))


def test_a_number_with_its_letters_opens_the_order_and_a_bare_one_finds_it() -> None:
    order, other = at("handed over"), at("at the lab")
    assert find("d-1")["Location"] == reverse("order-page", args=[order.public_id])
    html = text_of(find("1"))
    assert f">{order.number}<" in html
    assert f">{other.number}<" not in html


def test_a_program_reads_the_same_days_and_marks() -> None:
    soon, other = at("at the lab", needed=2, expected=3), at("at the lab", needed=9, expected=3, of="P-90077")
    client = APIClient()
    client.force_authenticate(person("ravi"))
    (row,) = client.get(reverse("api-order-list"), {"soon": ""}).json()["results"]
    days = ("expected_on", "needed_on")
    assert [row[name] for name in days] == [there(getattr(soon, name)).isoformat() for name in days]
    assert (row["number"], row["is_soon_late"], row["is_late"]) == (soon.number, True, False)
    assert row["place_since"].startswith(f"{timezone.localtime(there(soon.place_since)):%Y-%m-%dT}")
    assert client.get(reverse("api-order-detail", args=[other.public_id])).json()["is_soon_late"] is False


def test_the_whole_list_is_taken_out_as_it_is_narrowed_by_those_who_may() -> None:
    ours = at("at the lab", needed=4, expected=6, of="P-90077")
    ours.patient.family_name = "=cmd()"
    ours.patient.save()
    at("sent")
    address = reverse("order-list-csv")
    answer = signed_in("ines").post(address, {"place": "at the lab", "sort": "needed"})
    heads, *rows = csv.reader(io.StringIO(answer.getvalue().decode("utf-8-sig")))
    (row,) = [dict(zip(heads, row, strict=True)) for row in rows]
    assert row["Patient"].startswith("'=cmd()")
    assert {name: row[name] for name in ("Order", "Late", "Our account", "Needed on", "Expected on")} == {
        "Order": ours.number,
        "Late": "late soon",
        "Our account": "4711",
        "Needed on": there(ours.needed_on).isoformat(),
        "Expected on": there(ours.expected_on).isoformat(),
    }
    assert AuditEvent.objects.get(verb="list.take-out").changes == {"list": "orders", "place": "At the lab"}
    for who in ("dora", "ravi"):
        assert signed_in(who).post(address).status_code == 403
        assert "Take out as CSV" not in board(who)


def test_the_order_says_whom_to_ring_by_which_account_and_what_the_lab_said_of_the_day() -> None:
    Lab.objects.filter(pk=shop.lab().pk).update(phone="01632 960700")
    order, day = at("at the lab", expected=4), timezone.localdate() + timedelta(days=4)
    address = reverse("order-page", args=[order.public_id])
    html = text_of(signed_in("dora").get(address))
    for says in ('href="tel:01632%20960700">01632 960700</a>', "Our account 4711"):
        assert says in html, says
    assert f"{day:%-d %b %Y}, as is usual there" in html
    record_event(order=order, kind=EventKind.DELAYED, actor=person("ravi"), promised_on=day + timedelta(days=1))
    assert f"{day + timedelta(days=1):%-d %b %Y}, as the lab promised" in text_of(signed_in("dora").get(address))
