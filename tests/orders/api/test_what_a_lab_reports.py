"""What a lab reports: by token, by signed post, or on the telephone; late, repeated and contradictory ones too."""

from __future__ import annotations

import json
import threading
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from rest_framework.test import APIClient
from standardwebhooks import Webhook

from dispensing.models import AuditEvent
from orders.models import Delivery, Lab, LabWord, Order, OrderEvent
from orders.progress import EventKind
from orders.sending.by_hand import withhold_delivery
from orders.services.cancelling import cancel_order
from orders.services.events import record_event
from orders.services.lab_reports import hear
from orders.services.lab_secrets import make_secret
from orders.services.lab_users import issue_lab_token, user_of
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import text_of
from tests.people import person, signed_in
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db
DAY = timezone.localdate() + timedelta(days=6)


def of_lab(place: str = "sent", lab: str = "Quay Street Lab") -> Order:
    order = shop.brought_to(place, shop.draft(lab=shop.lab(lab)))
    shop.delivery(order, "sent")
    return order


def lab_client(name: str = "Quay Street Lab") -> APIClient:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {issue_lab_token(lab=shop.lab(name), actor=person('ines'))}")
    return client


def by_token(order: Order, key: str = "", **told: Any) -> Any:
    headers = {"Idempotency-Key": key} if key else {}
    address = reverse("api-lab-order-events", args=[order.public_id])
    return lab_client().post(address, told, format="json", headers=headers)


def signed(order: Order, secret: str, key: str = "evt_1", at: datetime | None = None, **told: Any) -> dict[str, Any]:
    """The signed post of a lab: what `Client.post` takes."""
    kind = told.pop("kind")
    data = {"number": order.number, "revision": order.revision} | told
    body = json.dumps({"type": f"lens_order.{kind}", "timestamp": "2026-11-30T12:00:00Z", "data": data})
    now = at or datetime.now(UTC)
    headers = {
        "webhook-id": key,
        "webhook-timestamp": str(int(now.timestamp())),
        "webhook-signature": Webhook(secret).sign(key, now, body),
    }
    return {"data": body, "content_type": "application/json", "headers": headers}


def post_to(lab: Lab, signed_post: dict[str, Any]) -> Any:
    return Client().post(reverse("api-lab-callback", args=[lab.public_id]), **signed_post)


def by_post(order: Order, key: str = "", **told: Any) -> Any:
    lab = there(order.lab)
    secret = there(lab.secrets.first()).text if lab.secrets.exists() else make_secret(lab=lab, actor=None)
    return post_to(lab, signed(order, secret, key or f"evt_{OrderEvent.objects.count()}", **told))


WAYS = pytest.mark.parametrize("report", [by_token, by_post])


def told(order: Order) -> list[str]:
    return list(order.events.order_by("pk").values_list("kind", flat=True))


def promised(order: Order) -> Any:
    return Order.objects.values_list("promised_on", flat=True).get(pk=order.pk)


@WAYS
def test_a_lab_accepts_with_its_job_number_and_a_day(report: Any) -> None:
    order, beside = of_lab(), of_lab()
    answer = report(order, kind="accepted", job_number="L-118", promised_on=DAY.isoformat())
    assert answer.status_code == 201, answer.content
    event = answer.json()
    assert (event["kind"], event["job_number"], event["promised_on"]) == ("accepted", "L-118", DAY.isoformat())
    order.refresh_from_db()
    assert (order.place, order.promised_on) == ("at the lab", DAY)
    beside.refresh_from_db()
    assert (beside.place, beside.promised_on, told(beside)) == ("sent", None, ["created", "sent"])
    [noted] = AuditEvent.objects.filter(verb="lab.report")
    assert (noted.patient, noted.record_id, there(noted.actor).role) == (order.patient, order.public_id, "lab")
    assert (noted.changes, noted.address) == ({"reported": [None, "accepted"]}, "127.0.0.1")
    page = text_of(signed_in("dora").get(reverse("order-page", args=[order.public_id])))
    assert f"Job L-118, promised for {DAY:%-d %b %Y}" in page


@WAYS
@pytest.mark.parametrize(
    ("body", "field", "said"),
    [
        ({"kind": "query"}, "note", "Write what the lab asks."),
        ({"kind": "query", "note": "  "}, "note", "Write what the lab asks."),
        ({"kind": "refused"}, "note", "Write why the lab refuses it."),
        ({"kind": "delayed"}, "promised_on", "Give the new day"),
        ({"kind": "accepted", "promised_on": "soon"}, "promised_on", ""),
        ({"kind": "accepted", "job_number": "L" * 41}, "job_number", "at most 40"),
    ],
    ids=str,
)
def test_a_report_that_says_nothing_is_refused_and_nothing_moves(
    report: Any, body: dict[str, Any], field: str, said: str
) -> None:
    order = of_lab()
    answer = report(order, **body)
    assert answer.status_code == 400
    (fault,) = answer.json()["errors"]
    assert fault["field"].removeprefix("data.") == field
    assert said in fault["message"]
    assert told(order) == ["created", "sent"]


def test_the_telephone_is_held_to_the_same() -> None:
    order = of_lab()
    ravi, address = signed_in("ravi"), reverse("order-event", args=[order.public_id])
    assert "Write what the lab asks." in text_of(ravi.post(address, {"kind": "query"}, follow=True))
    assert "Give the new day" in text_of(ravi.post(address, {"kind": "delayed"}, follow=True))
    assert told(order) == ["created", "sent"]
    typed = {"kind": "accepted", "promised_on": f"{DAY:%d/%m/%Y}", "job_number": "L-9", "note": "Rang back"}
    assert "Job L-9, promised for" in text_of(ravi.post(address, typed, follow=True))
    assert promised(order) == DAY
    assert there(order.events.get(kind="accepted").actor).username == "ravi"


@WAYS
def test_a_delay_names_a_new_day_and_a_delay_without_one_keeps_the_old(report: Any) -> None:
    order = of_lab()
    report(order, kind="accepted", promised_on=DAY.isoformat())
    assert report(order, kind="delayed", note="Coating line down, no day yet.").status_code == 201
    assert promised(order) == DAY
    later = DAY + timedelta(days=3)
    report(order, kind="delayed", promised_on=later.isoformat())
    assert promised(order) == later


@WAYS
def test_a_refusal_with_its_reason_and_a_parcel_with_its_number_are_kept(report: Any) -> None:
    refused, parcel = of_lab(), of_lab()
    report(refused, kind="refused", note="Frame too deep for this blank.")
    report(parcel, kind="dispatched", tracking="RM123456785GB")
    assert Order.objects.get(pk=refused.pk).place == "refused by the lab"
    assert refused.events.get(kind="refused").note == "Frame too deep for this blank."
    assert there(parcel.events.select_related("lab_word").get(kind="dispatched")).tracking == "RM123456785GB"


def test_a_pair_that_goes_back_to_the_lab_has_no_promised_day_until_the_lab_names_one() -> None:
    order = of_lab()
    by_token(order, kind="accepted", promised_on=DAY.isoformat())
    for kind in (EventKind.RECEIVED, EventKind.RETURNED):
        record_event(order=order, kind=kind, actor=person("ravi"))
    assert promised(order) is None


@WAYS
def test_a_report_that_comes_again_is_noted_once_and_answered_as_the_first_time(report: Any) -> None:
    order = of_lab()
    first = report(order, key="evt_7", kind="accepted", job_number="L-118")
    again = report(order, key="evt_7", kind="accepted", job_number="L-118")
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert told(order) == ["created", "sent", "accepted"]


@WAYS
def test_another_report_under_a_key_that_is_taken_is_refused(report: Any) -> None:
    order, beside = of_lab(), of_lab()
    report(order, key="evt_7", kind="accepted", job_number="L-118")
    other = report(order, key="evt_7", kind="accepted", job_number="L-119")
    assert other.status_code == 422
    assert "Give every report a key of its own" in other.json()["detail"]
    assert told(order) == ["created", "sent", "accepted"]
    assert report(beside, key="evt_7", kind="accepted").status_code == 201, "a key is one order's"


@WAYS
@pytest.mark.parametrize(
    ("place", "kind"),
    [
        ("at the lab", "accepted"),
        ("on the way", "accepted"),
        ("on the way", "query"),
        ("on the way", "refused"),
        ("in, to be checked", "dispatched"),
        ("ready to collect", "delayed"),
        ("handed over", "dispatched"),
        ("refused by the lab", "dispatched"),
    ],
)
def test_what_comes_late_or_contradicts_what_happened_moves_nothing(report: Any, place: str, kind: str) -> None:
    order = of_lab(place)
    before = told(order)
    answer = report(order, kind=kind, note="Late", promised_on=DAY.isoformat())
    assert answer.status_code == 409
    assert "may" in answer.json()
    order.refresh_from_db()
    assert (order.place, order.promised_on, told(order)) == (place, None, before)


@WAYS
def test_what_a_lab_reports_of_a_withdrawn_order_moves_nothing_and_is_told_to_people_once(report: Any) -> None:
    order, beside = of_lab("cancelled"), of_lab("cancelled")
    before = told(order)
    for _ in range(2):
        assert report(order, kind="dispatched", tracking="RM1GB").status_code == 409
    assert told(order) == [*before, "note"]
    note = there(order.events.filter(kind="note").first()).note
    assert "reported of this withdrawn order: dispatched, RM1GB. Ask the lab" in note
    assert Order.objects.get(pk=order.pk).place == "cancelled"
    assert told(beside) == before


@WAYS
def test_a_withdrawn_order_is_acknowledged(report: Any) -> None:
    order = of_lab()
    cancel_order(order=order, actor=shop.dispenser(), reason="Not wanted")
    assert report(order, kind="acknowledged").status_code == 201
    assert Order.objects.get(pk=order.pk).place == "cancelled"
    assert told(order)[-1] == "acknowledged"


def test_of_two_posts_of_one_report_at_once_one_is_noted(transactional_db: None) -> None:
    order = of_lab()
    lab_user = user_of(there(order.lab))

    def report(barrier: threading.Barrier, which: int) -> tuple[OrderEvent, bool]:
        barrier.wait()
        return hear(order=order, actor=lab_user, key="evt_7", kind=EventKind.ACCEPTED, note="Thanks")

    results: list[Any] = at_once(report)
    assert sorted(before for _, before in results) == [False, True]
    assert {event.pk for event, _ in results} == {order.events.get(kind="accepted").pk}
    assert LabWord.objects.count() == 1


# Signed posts


def test_a_post_is_heard_only_if_this_lab_signed_it_now_and_as_it_stands() -> None:
    order, lab = of_lab(), shop.lab()
    secret, other = make_secret(lab=lab, actor=None), make_secret(lab=shop.lab("Far Lab"), actor=None)
    good = signed(order, secret, kind="accepted")
    old = signed(order, secret, at=datetime.now(UTC) - timedelta(minutes=6), kind="accepted")
    wrong = [
        signed(order, other, kind="accepted"),
        old,
        good | {"data": good["data"].replace("accepted", "dispatched")},
        good | {"headers": {}},
        good | {"headers": good["headers"] | {"webhook-signature": "v1"}},
        good | {"headers": good["headers"] | {"webhook-signature": "v1,%%%"}},
        good | {"headers": good["headers"] | {"webhook-id": "evt_2"}},
        good | {"data": b"\xff\xfe"},
    ]
    for post in wrong:
        answer = post_to(lab, post)
        assert (answer.status_code, answer["Content-Type"]) == (401, "application/problem+json")
    assert post_to(shop.lab("Far Lab"), good).status_code == 401
    unknown = Client().post("/api/lab-callbacks/00000000-0000-4000-8000-000000000000/", **good)
    assert unknown.status_code == 401
    assert told(order) == ["created", "sent"]
    assert post_to(lab, good).status_code == 201


def test_while_its_secret_is_changed_a_lab_may_sign_with_either() -> None:
    lab = shop.lab()
    old, new = make_secret(lab=lab, actor=None), make_secret(lab=lab, actor=None)
    assert post_to(lab, signed(of_lab(), old, kind="accepted")).status_code == 201
    assert post_to(lab, signed(of_lab(), new, kind="accepted")).status_code == 201
    lab.secrets.filter(text=old).update(ends_at=timezone.now())
    assert post_to(lab, signed(of_lab(), old, kind="accepted")).status_code == 401


def test_a_lab_speaks_of_its_own_orders_only() -> None:
    foreign, lab = of_lab(lab="Far Lab"), shop.lab()
    secret = make_secret(lab=lab, actor=None)
    assert post_to(lab, signed(foreign, secret, kind="accepted")).status_code == 404
    draft = shop.draft()
    assert post_to(lab, signed(draft, secret, kind="accepted")).status_code == 404
    assert told(foreign) == ["created", "sent"]


@pytest.mark.parametrize(
    "body",
    ["", "[]", "{}", '{"type": "lens_order.handed over", "timestamp": "2026-11-30T12:00:00Z", "data": {}}', "{nan"],
)
def test_a_signed_post_that_is_no_report_is_a_fault_of_its_body(body: str) -> None:
    lab = shop.lab()
    secret, now = make_secret(lab=lab, actor=None), datetime.now(UTC)
    headers = {
        "webhook-id": "evt_1",
        "webhook-timestamp": str(int(now.timestamp())),
        "webhook-signature": Webhook(secret).sign("evt_1", now, body),
    }
    answer = post_to(lab, {"data": body, "content_type": "application/json", "headers": headers})
    assert answer.status_code == 400


# A lab that asks from time to time


def listed(**asked: Any) -> list[str]:
    return [row["number"] for row in lab_client().get(reverse("api-lab-order-list"), asked).json()["results"]]


def test_a_lab_that_polls_asks_for_what_changed_since() -> None:
    old, new = of_lab(), of_lab()
    Order.objects.filter(pk=old.pk).update(moved_at=timezone.now() - timedelta(hours=2))
    Order.objects.filter(pk=new.pk).update(moved_at=timezone.now() - timedelta(minutes=1))
    an_hour_ago = (timezone.now() - timedelta(hours=1)).isoformat()
    assert listed() == [new.number, old.number]
    assert listed(changed_since=an_hour_ago) == [new.number]
    by_token(old, kind="accepted")
    assert listed(changed_since=an_hour_ago) == [new.number, old.number]
    cancel_order(order=new, actor=shop.dispenser(), reason="Not wanted")
    (row,) = [row for row in _rows() if row["number"] == new.number]
    assert row["state"] == "cancelled"
    assert lab_client().get(reverse("api-lab-order-list"), {"changed_since": "lately"}).status_code == 400


def _rows() -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = lab_client().get(reverse("api-lab-order-list")).json()["results"]
    return rows


def test_the_conversation_is_there_to_read_and_nothing_else_that_happened() -> None:
    order = of_lab()
    by_token(order, kind="query", note="Which frame?")
    record_event(order=order, kind=EventKind.NOTE, actor=person("ravi"), note="Patient rang, is cross")
    record_event(order=order, kind=EventKind.ANSWER, actor=person("ravi"), note="The one enclosed.")
    answer = lab_client().get(reverse("api-lab-order-detail", args=[order.public_id]))
    said = [(turn["kind"], turn["note"]) for turn in answer.json()["conversation"]]
    assert said == [("query", "Which frame?"), ("answer", "The one enclosed.")]
    assert "cross" not in answer.content.decode()
    assert answer.json()["conversation"] == _rows()[0]["conversation"]


@pytest.fixture
def fetched_by_the_lab() -> Order:
    order = shop.brought_to("sent", shop.draft())
    Lab.objects.update(way="api")
    shop.delivery(order, "queued", "api")
    return order


def states(order: Order) -> list[str]:
    return list(Delivery.objects.filter(document__order=order).order_by("pk").values_list("state", flat=True))


@pytest.mark.parametrize("part", ["document", "pdf"])
def test_an_order_that_the_lab_fetches_is_with_it_once_fetched_and_not_once_listed(
    fetched_by_the_lab: Order, part: str
) -> None:
    order, client = fetched_by_the_lab, lab_client()
    assert listed() == [order.number]
    client.get(reverse("api-lab-order-detail", args=[order.public_id]))
    assert states(order) == ["queued"]
    for _ in range(2):
        assert client.get(reverse(f"api-lab-order-{part}", args=[order.public_id])).status_code == 200
    assert states(order) == ["sent"]
    rows = there(Delivery.objects.first()).attempts.all()
    assert [(row.step, row.reply) for row in rows] == [("carry", "Fetched by the lab over the API.")]


def test_who_may_not_have_it_does_not_count_as_the_lab_that_fetched_it(fetched_by_the_lab: Order) -> None:
    order = fetched_by_the_lab
    address = reverse("api-lab-order-document", args=[order.public_id])
    assert lab_client("Far Lab").get(address).status_code == 404
    assert states(order) == ["queued"]


def test_what_is_held_back_is_not_there_for_the_lab_to_fetch(fetched_by_the_lab: Order) -> None:
    order = fetched_by_the_lab
    withhold_delivery(delivery=Delivery.objects.get(), actor=shop.dispenser(), reason="Another frame, perhaps")
    assert listed() == []
    assert lab_client().get(reverse("api-lab-order-document", args=[order.public_id])).status_code == 404


def test_a_withdrawal_is_with_the_lab_once_it_read_the_order_again(fetched_by_the_lab: Order) -> None:
    order, client = fetched_by_the_lab, lab_client()
    client.get(reverse("api-lab-order-document", args=[order.public_id]))
    cancel_order(order=order, actor=shop.dispenser(), reason="Not wanted")
    assert states(order) == ["sent", "queued"]
    assert client.get(reverse("api-lab-order-detail", args=[order.public_id])).json()["state"] == "cancelled"
    assert states(order) == ["sent", "sent"]
