"""The page of any period: the same figures in words, table, picture and CSV; faults in what is asked are said."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, date, datetime
from typing import Any
from xml.etree import ElementTree

import pytest
from django.urls import reverse

from orders.figure_queries import counted_months
from orders.figures.counts import in_all, together
from orders.models import DraftFinding, Order, OrderDocument, OrderEvent
from orders.services.drafts import save_draft
from orders.services.sending import send_order
from tests.orders import shop
from tests.orders.figures.years import Years
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def page(**asked: str) -> Any:
    return signed_in("ines").get(reverse("figures"), asked)


def table(**asked: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(page(**asked).getvalue().decode("utf-8-sig"))))


def sent(day: str, number: str = "D-1", **fields: Any) -> Order:
    """An order sent on that day, with no more in its document than the figures read."""
    at, person = datetime.fromisoformat(f"{day}T12:00:00+00:00"), shop.dispenser()
    made = {"patient": shop.patient(), "state": "sent", "sent_at": at, "lab": shop.lab()}
    order = Order.objects.create(number=number, **made | fields)
    text = json.dumps({"lab": {"name": "Quay Street Lab"}, "purpose": order.purpose})
    frozen = {"number": number, "revision": 1, "text": text, "report": "{}", "frozen_at": at, "frozen_by": person}
    OrderDocument.objects.create(order=order, pdf=b"", **frozen)
    for kind in ("created", "sent"):
        OrderEvent.objects.create(order=order, kind=kind, at=at, actor=person)
    return order


def test_a_period_counts_the_months_named_and_no_others() -> None:
    for day in ("2026-01-31", "2026-02-01", "2026-02-28", "2026-03-01"):
        sent(day, number=day)
    rows = {row[0]: row[1] for row in table(**{"first": "2026-02", "last": "2026-02", "as": "check"})[1:]}
    assert rows == {"Feb 2026": "2", "All": "2"}
    rows = {row[0]: row[1] for row in table(**{"first": "2026-01", "last": "2026-04", "as": "check"})[1:]}
    assert rows == {"Jan 2026": "1", "Feb 2026": "2", "Mar 2026": "1", "Apr 2026": "0", "All": "4"}


def test_words_table_and_file_say_the_same() -> None:
    Years(seed=8).make(60, start=datetime(2026, 1, 5, tzinfo=UTC), days=50)
    asked = {"first": "2026-01", "last": "2026-03", "by": "lab"}
    html = page(**asked).content.decode()
    whole = in_all(together(counted_months("2026-01", "2026-03").values()))
    assert f"{whole['remade']} of {whole['pairs']} pairs were made again" in html
    assert f"Half were ready within {whole.days_within(0.5)} days" in html
    rows = table(**asked, **{"as": "remakes"})
    assert rows[0] == ["Lab", "Pairs", "Made again", "Share", "95 % range", "Beside all", "Somebody’s mistake", "Share",
                       "95 % range"]  # fmt: skip
    assert [row[0] for row in rows[1:]] == ["Cobble & Sons", "Lantern Yard", "Quay Street Lab", "All"]
    assert rows[-1][1:4] == [
        str(whole["pairs"]),
        str(whole["remade"]),
        f"{100 * whole['remade'] / whole['pairs']:.1f} %",
    ]
    assert sum(int(row[1]) for row in rows[1:-1]) == whole["pairs"]
    for cell in rows[1]:
        assert cell.replace("&", "&amp;") in html


@pytest.mark.either_database
def test_pictures_come_in_two_sizes_with_a_title_and_a_description() -> None:
    Years(seed=8).make(8, start=datetime(2026, 1, 5, tzinfo=UTC), days=10)
    page()
    drawings = {("month", "check", "wide"), ("month", "on-time", "narrow"), ("lab", "time", "wide")}
    for by, chart, size in drawings | {("mount", "remakes", "narrow"), ("dispenser", "check", "narrow")}:
        asked = {"first": "2026-01", "last": "2026-02", "by": by, "chart": chart, "size": size}
        drawn = ElementTree.fromstring(signed_in("ines").get(reverse("figures-chart"), asked).content)
        named = {part.tag.split("}")[1]: part.text for part in drawn if part.get("id") in ("title", "description")}
        assert str(named["title"]).endswith(f"by {by}")
        assert drawn.get("aria-labelledby") == "title description"
        assert drawn.get("width", "").startswith("518" if size == "wide" else "252")
        if by == "dispenser":
            assert "Dana Okafor" in ElementTree.tostring(drawn, "unicode")


@pytest.mark.either_database
@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"first": "2026-03", "last": "2026-01"}, "The period ends before it begins"),
        ({"by": "moon"}, "Figures are not sorted by “moon”"),
        ({"first": "1999-12"}, "“1999-12” is not among them"),
        ({"last": "soon"}, "“soon” is not among them"),
    ],
)
def test_what_cannot_be_asked_is_said_and_nothing_is_drawn(asked: dict[str, str], says: str) -> None:
    sent("2026-01-15")
    answer = page(**asked)
    assert says in answer.content.decode()
    assert "Nothing is shown yet. Put this right:" in answer.content.decode()
    assert "<img" not in answer.content.decode().split("<main")[1]
    assert signed_in("ines").get(reverse("figures-chart"), {**asked, "chart": "check"}).status_code == 404


def test_pairs_past_their_day_that_are_not_ready_are_said_beside_the_share_they_are_not_in() -> None:
    past, asked = {"needed_on": date(2026, 1, 25), "place": "at the lab"}, {"first": "2026-01", "last": "2026-01"}
    assert "past that day today" not in page(**asked).content.decode()
    sent("2026-01-15", number="D-1", **past)
    sent("2026-01-15", number="D-2", **past | {"needed_on": date(2999, 1, 1)})
    sent("2026-02-15", number="D-3", **past)
    for number, kinds in (("D-4", ("passed",)), ("D-5", ("cancelled",))):
        order = sent("2026-01-15", number=number, **past)
        for kind in kinds:
            OrderEvent.objects.create(order=order, kind=kind, at=datetime(2026, 1, 20, tzinfo=UTC))
    html = page(**asked).content.decode()
    assert "was ready in that time. 1 more is past that day today and not ready." in html
    sent("2026-01-16", number="D-6", **past)
    assert "2 more are past that day today and not ready." in page(**asked).content.decode()


def test_a_period_without_orders_says_so() -> None:
    sent("2026-01-15")
    assert "No order was sent from Feb 2026 to Mar 2026" in page(first="2026-02", last="2026-03").content.decode()
    assert page(**{"as": "moon"}).status_code == 404


def test_three_remakes_of_eight_are_told_with_the_range_in_which_the_truth_lies() -> None:
    first = [sent("2026-01-15", number=f"D-{number}") for number in range(8)]
    cause = {"purpose": "remake", "remake_cause": "axis", "remake_whose": "lab"}
    for number, order in enumerate(first[:3]):
        sent("2026-01-20", number=f"R-{number}", remake_of=order, **cause)
    asked = {"first": "2026-01", "last": "2026-01", "by": "lab"}
    html = page(**asked).content.decode()
    assert "3 of 8 pairs were made again: 37.5 % (95 % range 13.7 to 69.4 %)" in html
    assert "Most often: Axis not as ordered; the lab&#x27;s (3)." in html
    assert table(**asked, **{"as": "causes"})[1] == ["Axis not as ordered; the lab's", "3", "37.5 %", "13.7 to 69.4 %"]


def test_a_finding_that_was_there_and_is_gone_is_caught_and_one_confirmed_is_not() -> None:
    order = shop.draft()
    assert DraftFinding.objects.count() == 0
    as_it_should_be = {"right": shop.LENS, "left": shop.LENS}
    no_coating = {"right": {**shop.LENS, "treatments": []}, "left": shop.LENS}
    save_draft(order=order, actor=shop.dispenser(), version=order.version, fields={"lenses": no_coating})
    noted = set(DraftFinding.objects.values_list("order", "rule", "level"))
    assert (order.pk, "pair-match", "ask") in noted
    save_draft(
        order=order,
        actor=shop.dispenser(),
        version=order.version,
        fields={"lenses": as_it_should_be},
    )
    save_draft(order=order, actor=shop.dispenser(), version=order.version, fields={"lenses": no_coating})
    assert set(DraftFinding.objects.values_list("order", "rule", "level")) == noted
    save_draft(
        order=order,
        actor=shop.dispenser(),
        version=order.version,
        fields={"lenses": as_it_should_be},
    )
    send_order(order=order, actor=shop.dispenser(), version=order.version)
    caught = {row[0]: row[1:] for row in table(**{"as": "caught"})[1:]}
    assert len(caught) == len({rule for _, rule, _ in noted})
    assert caught["Both lenses alike"] == ["1", "0", "1"]


def test_while_it_is_not_all_counted_the_page_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("orders.views.period_figures.EVENTS_A_LOOK", 1)
    monkeypatch.setattr("orders.services.counting.EVENTS_AT_ONCE", 1)
    sent("2026-01-15")
    left = OrderEvent.objects.count() - 1
    assert f"{left} events are still to be counted" in page().content.decode()


def test_a_look_at_the_figures_asks_no_more_of_the_database_with_more_orders(
    django_assert_max_num_queries: Any,
) -> None:
    client = signed_in("ines")
    Years(seed=8).make(10, start=datetime(2026, 1, 5, tzinfo=UTC), days=20)
    client.get(reverse("figures"))
    with django_assert_max_num_queries(10):
        client.get(reverse("figures"))
    Years(seed=9).make(40, start=datetime(2026, 1, 5, tzinfo=UTC), days=50)
    client.get(reverse("figures"))
    with django_assert_max_num_queries(10):
        client.get(reverse("figures"))
