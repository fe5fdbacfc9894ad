"""The list of orders, the parts of other pages that show orders, and the manager's pages for labs."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from knox.models import AuthToken
from pytest_django import DjangoAssertNumQueries

from dispensing.models import AuditEvent, TokenDetail
from dispensing.queries import paging
from orders.models import Delivery, Lab, Order
from orders.services.drafts import start_draft
from orders.services.lab_users import issue_lab_token
from orders.services.labs import add_lab
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import text_of
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db


def started(place: str = "draft", *, needed_in: int | None = None, **fields: Any) -> Order:
    day = None if needed_in is None else timezone.localdate() + timedelta(days=needed_in)
    order = start_draft(patient=shop.patient(), actor=shop.dispenser(), needed_on=day, **fields)
    Order.objects.filter(pk=order.pk).update(place=place)
    return order


def board(who: str = "dora", **asked: Any) -> str:
    return text_of(signed_in(who).get(reverse("order-list"), asked))


def test_the_board_counts_the_open_orders_of_every_place_and_marks_what_is_late() -> None:
    started()
    started("at the lab", needed_in=-2)
    started("at the lab", needed_in=2)
    started("handed over", needed_in=-2)
    html = board()
    assert "3 open" in html
    assert "1 late" in html
    assert 'At the lab <span class="count">2</span>' in html
    assert "Handed over</a>" in html


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"place": "at the lab"}, {1, 2}),
        ({"show": "late"}, {1}),
        ({"show": "unsent"}, set()),
        ({"lab": "own"}, {2}),
        ({"place": "nowhere"}, {0, 1, 2}),
        ({"lab": "x'; --"}, {0, 1, 2}),
        ({"after": "not-a-key", "show": "all of them"}, {0, 1, 2}),
    ],
    ids=str,
)
def test_the_board_is_narrowed_and_nonsense_in_the_address_asks_for_nothing(asked: dict[str, Any], found: Any) -> None:
    lab = shop.lab()
    orders = [started(), started("at the lab", needed_in=-1), started("at the lab", lab=lab)]
    asked = {name: str(lab.public_id) if value == "own" else value for name, value in asked.items()}
    html = board(**asked)
    assert {number for number, order in enumerate(orders) if f">{order.number}<" in html} == found


def test_an_empty_board_says_where_orders_come_from() -> None:
    assert "Orders are started from a patient's page" in board()


def test_the_next_page_goes_on_after_the_last_row_and_keeps_what_was_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paging, "ROWS_A_PAGE", 3)
    monkeypatch.setattr(paging.page_of, "__kwdefaults__", {"after": "", "size": 3})
    orders = [started("at the lab") for _ in range(5)]
    first = board(place="at the lab")
    assert f">{orders[4].number}<" in first
    assert f">{orders[1].number}<" not in first
    next_page = first.split('class="pager"')[1].split('href="')[1].split('"')[0].replace("&amp;", "&")
    assert "place=at+the+lab" in next_page
    second = text_of(signed_in("dora").get(next_page))
    assert f">{orders[1].number}<" in second
    assert f">{orders[2].number}<" not in second
    assert 'class="pager"' not in second


def test_the_board_asks_the_database_the_same_few_questions_however_long_it_is(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(12):
        started(lab=shop.lab(f"Lab {number}"))
    client = signed_in("ines")
    client.get(reverse("order-list"))
    with django_assert_max_num_queries(14):
        client.get(reverse("order-list"))


def test_an_order_whose_mail_did_not_get_through_is_marked_on_the_board_and_at_home() -> None:
    order = shop.draft()
    send_order(order=order, actor=shop.dispenser(), version=1)
    Delivery.objects.update(state="failed")
    assert "did not reach the lab" in board()
    home = text_of(signed_in("dora").get(reverse("home")))
    assert "1 did not reach the lab" in home


def test_the_home_page_counts_open_orders_only() -> None:
    started("at the lab", needed_in=-1)
    started("handed over")
    home = text_of(signed_in("dora").get(reverse("home")))
    assert 'At the lab <span class="count">1</span>' in home
    assert "Handed over <span" not in home
    assert "1 late" in home


def test_the_patients_page_lists_their_orders_and_starts_new_ones_for_who_may() -> None:
    order = shop.draft()
    address = reverse("patient-page", args=[order.patient.public_id])
    assert f">{order.number}</a>" in text_of(signed_in("dora").get(address))
    assert "New order" not in text_of(signed_in("dora").get(address))
    assert "New order" in text_of(signed_in("ravi").get(address))


def fill(**changes: Any) -> dict[str, str]:
    told = {
        "name": "Quay Street Lab",
        "way": "email",
        "email": "orders@quay.example",
        "working_days": "7",
        "active": "on",
    }
    return told | changes


def test_a_manager_adds_a_lab_and_is_led_to_its_catalogue() -> None:
    answer = signed_in("ines").post(reverse("lab-new"), fill(), follow=True)
    assert "Import its catalogue next" in text_of(answer)
    assert Lab.objects.get().email == "orders@quay.example"
    assert AuditEvent.objects.filter(verb="lab.add").exists()
    assert "Quay Street Lab" in text_of(signed_in("ines").get(reverse("lab-list")))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"name": ""}, "This field is required"),
        ({"name": "N" * 121}, "at most 120 characters"),
        ({"email": "orders at quay"}, "Enter a valid email address"),
        ({"working_days": "-3"}, "greater than or equal to 0"),
        ({"name": "Taken Lab"}, "already exists"),
    ],
    ids=str,
)
def test_a_lab_that_cannot_be_is_refused_and_what_was_typed_stays(changes: dict[str, Any], said: str) -> None:
    Lab.objects.create(name="Taken Lab")
    answer = text_of(signed_in("ines").post(reverse("lab-new"), fill(account="4711-X") | changes))
    assert said in answer
    assert 'value="4711-X"' in answer
    assert Lab.objects.count() == 1


def test_a_changed_lab_is_saved_and_a_refused_name_is_not_shown_as_its_own() -> None:
    lab = shop.lab()
    Lab.objects.create(name="Taken Lab")
    client, address = signed_in("ines"), reverse("lab-page", args=[lab.public_id])
    client.post(address, fill(working_days="9", active=""))
    lab.refresh_from_db()
    assert (lab.working_days, lab.active) == (9, False)
    refused = text_of(client.post(address, fill(name="Taken Lab")))
    assert "<h1>Quay Street Lab</h1>" in refused


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"way": "https"}, "Enter the address that the lab gave you"),
        ({"way": "https", "url": "http://lab.example/"}, "must begin with https://"),
        ({"way": "https", "url": "https://192.168.1.9/orders"}, "is not an address on the public internet"),
        ({"url": "https://user:pw@lab.example/"}, "Leave name and password out"),
        ({"way": "folder"}, "Enter the folder&#x27;s name"),
        ({"way": "folder", "folder": "../etc"}, "Enter a valid"),
        ({"way": "pigeon"}, "Select a valid choice"),
    ],
    ids=str,
)
def test_a_way_without_its_address_or_with_one_that_leads_inside_is_refused(changes: dict[str, str], said: str) -> None:
    assert said in text_of(signed_in("ines").post(reverse("lab-new"), fill(**changes)))
    assert not Lab.objects.exists()


def test_the_list_of_labs_says_how_orders_go_there() -> None:
    signed_in("ines").post(reverse("lab-new"), fill(way="https", url="https://lab.example/orders"))
    Lab.objects.create(name="By Hand Lab")
    html = text_of(signed_in("ines").get(reverse("lab-list")))
    assert "Signed post to the lab&#x27;s own address, https://lab.example/orders" in html
    assert "Downloaded by hand" in html


def test_a_labs_secret_is_shown_once_and_the_one_before_holds_for_a_week() -> None:
    lab, manager = shop.lab(), signed_in("ines")
    answer = manager.post(reverse("lab-secret", args=[lab.public_id]))
    assert "no-store" in answer["Cache-Control"]
    secret = text_of(answer).split('<code class="figures prewrap">')[1].split("</code>")[0]
    assert [row.text for row in lab.secrets.all()] == [secret]
    page = text_of(manager.get(reverse("lab-page", args=[lab.public_id])))
    assert secret not in page
    assert f"http://testserver/api/lab-callbacks/{lab.public_id}/" in page
    assert "holds until" not in page
    assert secret not in str(list(AuditEvent.objects.values()))
    manager.post(reverse("lab-secret", args=[lab.public_id]))
    ends = timezone.localdate() + timedelta(days=7)
    assert f"holds until {ends:%-d %b %Y}" in text_of(manager.get(reverse("lab-page", args=[lab.public_id])))


def test_a_labs_token_is_shown_once() -> None:
    lab = shop.lab()
    address = reverse("lab-token", args=[lab.public_id])
    answer = signed_in("ines").post(address, {"name": "Intake", "scope": "write", "days": "90"})
    assert "no-store" in answer["Cache-Control"]
    first = text_of(answer)
    token = first.split('<code class="figures prewrap">')[1].split("</code>")[0]
    assert AuthToken.objects.get().token_key == token[: len(AuthToken.objects.get().token_key)]
    assert token not in text_of(signed_in("ines").get(reverse("lab-page", args=[lab.public_id])))
    assert token not in str(list(AuditEvent.objects.values()))


def test_a_name_written_from_right_to_left_turns_nothing_beside_it() -> None:
    order = shop.draft()
    name = f"<bdi>{order.patient.listed_name}</bdi>"
    assert name in board()
    assert name in text_of(signed_in("ravi").get(reverse("order-page", args=[order.public_id])))
    assert name in text_of(signed_in("ravi").get(reverse("order-send", args=[order.public_id])))


def id_of(token: str) -> Any:
    return there(TokenDetail.objects.filter(token__token_key=token[:15]).first()).public_id


def test_a_labs_token_is_taken_back_and_reads_no_more_orders() -> None:
    lab, manager = shop.lab(), signed_in("ines")
    token = issue_lab_token(lab=lab, actor=person("ines"))
    issue_lab_token(lab=lab, actor=person("ines"))

    def asked() -> int:
        return Client().get(reverse("api-lab-order-list"), headers={"Authorization": f"Bearer {token}"}).status_code

    assert asked() == 200
    answer = manager.post(reverse("lab-token-revoke", args=[lab.public_id]), {"token": id_of(token)}, follow=True)
    assert "can no longer read orders" in text_of(answer)
    assert asked() == 401
    assert AuthToken.objects.count() == 1
    assert AuditEvent.objects.filter(verb="token.revoke", actor=person("ines")).count() == 1


def test_one_labs_token_is_not_taken_back_through_the_page_of_another() -> None:
    other = add_lab(actor=person("ines"), name="Another Lab")
    token = issue_lab_token(lab=shop.lab(), actor=person("ines"))
    signed_in("ines").post(reverse("lab-token-revoke", args=[other.public_id]), {"token": id_of(token)})
    assert AuthToken.objects.count() == 1


def test_of_two_managers_at_one_lab_the_second_is_told_and_the_other_lab_stays() -> None:
    lab, other = shop.lab(), Lab.objects.create(name="Far Lab", phone="01632 960100")
    address = reverse("lab-page", args=[lab.public_id])
    clients = signed_in("ines"), signed_in(person("mo", role="manager", first_name="Mo").username)
    opened = [client.get(address).context["version"] for client in clients]
    typed = fill(account="4711", email="orders@quay-street.invalid")
    clients[0].post(address, typed | {"phone": "01632 960001", "version": opened[0]})
    told = clients[1].post(address, typed | {"phone": "01632 960002", "version": opened[1]})
    assert "Ines Holloway changed this lab. phone is now 01632 960001, here 01632 960002." in text_of(told)
    lab.refresh_from_db()
    assert (lab.phone, lab.version) == ("01632 960001", 2)
    again = clients[1].post(address, typed | {"phone": "01632 960002", "version": told.context["version"]})
    assert again.status_code == 302
    lab.refresh_from_db()
    other.refresh_from_db()
    assert (lab.phone, lab.version, other.phone, other.version) == ("01632 960002", 3, "01632 960100", 1)
