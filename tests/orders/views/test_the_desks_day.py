"""The front desk's day, from a list: whom to call, what is ready, what labs ask, and nobody else's order touched."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import AuditEvent, Patient
from dispensing.queries.paging import page_of
from orders import desk_queries
from orders.desk_queries import at_the_counter, to_collect, uncollected_counts
from orders.models import Order
from orders.services.handing_over import put_in_tray
from tests.known import there
from tests.orders import shop
from tests.orders.services.test_hand_over import asked_of
from tests.orders.views.desk import text_of
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def here(place: str, reference: str, days: int = 0, **known: Any) -> Order:
    """An order of a patient of its own, at its place for so many days."""
    names = {"family_name": f"Of {reference}", "phone": "01632 960222"}
    order = shop.brought_to(place, shop.draft(patient=shop.patient(reference, **names | known)))
    Order.objects.filter(pk=order.pk).update(place_since=timezone.now() - timedelta(days=days))
    shop.delivery(order, "sent")
    return order


def day(who: str = "dora", **asked: Any) -> str:
    return text_of(signed_in(who).get(reverse("desk-day"), asked))


def row_of(order: Order, html: str) -> str:
    return html.split(f'<tr id="{order.number}"')[1].split("</tr>")[0]


def press(order: Order, kind: str, note: str = "", who: str = "dora", seen: int | None = None) -> str:
    shown = there(order.events.last()).pk if seen is None else seen
    told = {"kind": kind, "note": note, "seen": str(shown)}
    return text_of(signed_in(who).post(reverse("desk-call", args=[order.public_id]), told, follow=True))


@pytest.mark.parametrize("who", ["dora", "ravi", "ines"])
def test_each_row_says_whom_to_call_how_and_for_how_long_it_has_waited(who: str) -> None:
    child = {
        "guardian": "Maud, 01632 960555",
        "preferred_contact": "text",
        "notes": "Deaf in one ear",
        "phone": "960111",
    }
    told = here("checked, patient not told", "P-1", days=2, **child)
    ready = here("ready to collect", "P-2", days=15, may_be_contacted=False, preferred_contact="phone")
    put_in_tray(order=ready, actor=person("dora"), tray="b7")
    at_lab = here("at the lab", "P-3")
    html = day(who)
    assert '<div class="lede">1 to be told, 1 ready to collect, 0 questions from labs</div>' in html
    row = row_of(told, html.split('id="tell-title"')[1].split('id="collect-title"')[0])
    assert "Prefers: Text message; Not asked about being contacted" in row
    for says in ("Of P-1", "960111", "Maud, 01632 960555", "2 days", "no tray", "Deaf in one"):
        assert says in row, says
    row = row_of(ready, html.split('id="collect-title"')[1].split('id="asked-title"')[0])
    for says in ("Of P-2", "Does not want to be contacted", "15 days", "not collected for 14 days or more", "B7"):
        assert says in row, says
    assert "Prefers" not in row
    assert at_lab.number not in html
    assert ("Take out as CSV" in html) is (who == "ines")


def test_one_press_tells_and_moves_the_pair_and_no_other() -> None:
    order, other = (here("checked, patient not told", reference) for reference in ("P-1", "P-2"))
    html = press(order, "patient told", "Comes on Friday")
    assert f"{order.number}: “The patient was told” is noted." in html
    assert "patient told by Dora Penhallow: Comes on Friday" in row_of(order, html.split('id="collect-title"')[1])
    assert [Order.objects.get(pk=one.pk).place for one in (order, other)] == [
        "ready to collect",
        "checked, patient not told",
    ]
    assert not other.events.filter(kind="patient told").exists()


def test_a_message_left_and_a_note_move_nothing_and_show_with_who_wrote_them() -> None:
    order = here("ready to collect", "P-1", days=8)
    since = there(Order.objects.get(pk=order.pk).place_since)
    press(order, "message left")
    html = press(order, "note", "Wants it posted", who="ravi")
    row = row_of(order, html)
    assert "message left by Dora Penhallow" in row
    assert "note by Ravi Castellan: Wants it posted" in row
    assert (Order.objects.get(pk=order.pk).place_since, "8 days" in row) == (since, True)
    assert "Write the note first" in press(order, "note")
    assert order.events.filter(kind="note").count() == 1


def test_a_button_pressed_twice_counts_once_and_the_second_person_is_told() -> None:
    order = here("checked, patient not told", "P-1")
    seen = there(order.events.last()).pk
    press(order, "message left", "With the son", seen=seen)
    html = press(order, "patient told", who="ravi", seen=seen)
    assert "Meanwhile Dora Penhallow noted “message left”: With the son. Look again." in html
    assert [event.kind for event in order.events.all()][-1] == "message left"


@pytest.mark.parametrize("kind", ["passed", "handed over", "received", "", "lost"])
def test_nothing_else_can_be_noted_from_the_list(kind: str) -> None:
    order = here("in, to be checked", "P-1")
    before = order.events.count()
    press(order, kind)
    assert order.events.count() == before


def test_what_is_nobodys_turn_yet_cannot_be_told_from_an_old_page() -> None:
    order = here("at the lab", "P-1")
    assert "“The patient was told” cannot be noted" in press(order, "patient told")


@pytest.mark.parametrize(
    ("days", "counts"), [(6, {}), (7, {7}), (13, {7}), (14, {7, 14}), (29, {7, 14}), (30, {7, 14, 30})]
)
def test_what_nobody_collects_is_counted_from_the_seventh_fourteenth_and_thirtieth_day(days: int, counts: Any) -> None:
    order = here("ready to collect", "P-1", days=days)
    here("checked, patient not told", "P-2", days=40)
    assert uncollected_counts() == {0: 1} | {mark: int(mark in counts) for mark in (7, 14, 30)}
    assert {mark for mark in (7, 14, 30) if list(to_collect(mark).rows) == [order]} == set(counts)
    marked = f"not collected for {max(counts)} days or more" if counts else "today"
    assert (marked in row_of(order, day())) is bool(counts)


def test_the_chosen_days_are_lit_and_the_longest_wait_comes_first() -> None:
    weeks, month, new = (here("ready to collect", f"P-{days}", days=days) for days in (15, 31, 1))
    html = day(days=14)
    assert '#collect-title" aria-current="page">14 days or more <span class="count">2</span>' in html
    assert html.index(f'id="{month.number}"') < html.index(f'id="{weeks.number}"')
    assert f'id="{new.number}"' not in html


def test_what_the_address_asks_for_in_vain_is_said_and_everything_is_shown() -> None:
    order = here("ready to collect", "P-1", days=1)
    assert "This list cannot be narrowed by that" in day(days="15")
    for name in ("tell", "collect", "asked"):
        html = day(**{name: "broken"})
        assert "The address of that page does not hold any more" in html
        assert f'id="{order.number}"' in html
    assert "does not hold any more" not in day()


def test_a_clock_set_back_is_said_and_never_a_count_below_nothing() -> None:
    order = here("ready to collect", "P-1", days=-3)
    row = row_of(order, day())
    waits = row.split('data-label="Waits">')[1].split("</td>")[0]
    assert "which is still to come: a clock was wrong" in waits
    assert "-3" not in waits


def test_a_lists_next_page_goes_on_behind_the_last_row_also_where_times_are_alike() -> None:
    orders = [here("ready to collect", f"P-{number}") for number in range(3)]
    Order.objects.update(place_since=timezone.now() - timedelta(days=3))
    Patient.objects.update(born_on=date(1990, 1, 1))
    seen, key = [], ""
    for _ in orders:
        page = page_of(desk_queries.uncollected(), order=desk_queries.LONGEST_FIRST, after=key, size=1)
        seen += [row.pk for row in page.rows]
        key = page.next_key
    assert (seen, key) == ([order.pk for order in orders], "")


def test_a_question_of_a_lab_shows_whom_to_ring_and_is_passed_on() -> None:
    order, other = here("query to answer", "P-1"), here("at the lab", "P-2")
    html = day()
    row = row_of(order, html.split('id="asked-title"')[1])
    assert "our account 4711" in row
    assert "Question passed on to Dana Okafor" in row
    assert other.number not in html
    html = press(order, "note", "Question passed on to Dana Okafor")
    assert "note by Dora Penhallow: Question passed on to Dana Okafor" in row_of(order, html)
    assert Order.objects.get(pk=order.pk).place == "query to answer"


@pytest.mark.parametrize("text", ["ashe", "tray", "number"])
def test_whoever_stands_at_the_counter_is_found_by_name_tray_or_number(text: str) -> None:
    order, other, away = here("ready to collect", "P-1"), here("ready to collect", "P-2"), here("at the lab", "P-1")
    Patient.objects.filter(reference="P-1").update(search_text="ashe")
    Patient.objects.filter(reference="P-2").update(search_text="blyth")
    put_in_tray(order=order, actor=person("dora"), tray="B7")
    asked = {"tray": "b7", "number": order.number.lower()}.get(text, text)
    assert at_the_counter(asked) == [order]
    html = text_of(signed_in("dora").post(reverse("desk-day"), {"text": asked}))
    found = html.split('id="counter-title"')[1].split('id="tell-title"')[0]
    assert order.number in found
    assert other.number not in found
    assert away.number not in found
    assert "Nothing that can be handed over" in text_of(signed_in("dora").post(reverse("desk-day"), {"text": "B8"}))


def test_a_hand_over_begun_from_the_list_asks_its_questions_and_leads_back_to_it() -> None:
    order = here("ready to collect", "P-1")
    address = f"{reverse('order-hand-over', args=[order.public_id])}?from=desk"
    assert address in day()
    client = signed_in("dora")
    assert "Look at the label again" in text_of(client.post(address, asked_of(order) | {"reference": "P-9"}))
    answer = client.post(address, asked_of(order))
    assert answer["Location"] == reverse("desk-day")
    assert Order.objects.get(pk=order.pk).place == "handed over"


def test_a_manager_takes_out_what_is_listed_as_it_is_narrowed_and_it_is_on_the_trail() -> None:
    long, new, told = (
        here("ready to collect", "P-1", days=20),
        here("ready to collect", "P-2"),
        here("at the lab", "P-3"),
    )
    Patient.objects.filter(reference="P-1").update(family_name="=Sum", phone="+44 1632 960222")
    address = reverse("desk-day-csv")
    answer = signed_in("ines").post(address, {"days": "14"})
    rows = list(csv.reader(io.StringIO(answer.getvalue().decode("utf-8-sig"))))
    assert [row[0] for row in rows[1:]] == [long.number]
    assert (rows[1][2][0], rows[1][4]) == ("'", "'+44 1632 960222")
    every = signed_in("ines").post(address).getvalue().decode()
    assert (new.number in every, told.number in every) == (True, False)
    assert [event.changes for event in AuditEvent.objects.filter(verb="list.take-out").order_by("pk")] == [
        {"list": "to-collect", "days": "14"},
        {"list": "to-collect"},
    ]
    assert signed_in("dora").post(address).status_code == 403


def test_the_patients_page_tells_the_calls_of_all_their_orders_and_of_nobody_elses() -> None:
    first, second, other = (here("ready to collect", reference) for reference in ("P-1", "P-1", "P-2"))
    press(first, "message left")
    press(second, "note", "Wants a red case", who="ravi")
    press(other, "note", "Not theirs")
    html = text_of(signed_in("dora").get(reverse("patient-page", args=[first.patient.public_id])))
    told = html.split("Calls and notes (")[1].split("</details>")[0]
    assert told.index("note by Ravi Castellan: Wants a red case") < told.index("message left by Dora Penhallow")
    assert (first.number in told, second.number in told, "Not theirs" in html) == (True, True, False)


def test_whoever_reads_the_list_leaves_a_trace_of_having_looked() -> None:
    here("ready to collect", "P-1")
    day("dora")
    assert AuditEvent.objects.filter(actor=person("dora"), verb="patient.list").count() == 1
