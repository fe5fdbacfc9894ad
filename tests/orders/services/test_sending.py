"""Sending: what is frozen, what is written in one commit, and what can never be changed afterwards."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from dispensing.models import AuditEvent, Measurement, PrescribedEye
from dispensing.services.meanwhile import ChangedMeanwhile
from orders.documents.canonical import canonical_bytes
from orders.documents.lens_order import parse_order
from orders.models import Delivery, Order, OrderDocument
from orders.queries import for_page
from orders.rules import check
from orders.rules.command import plain
from orders.services import sending
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.errors import NotReady
from orders.services.freezing import Frozen, freeze
from orders.services.judging import NO_CATALOGUE, judge
from orders.services.sending import send_order
from orders.states import TRANSITIONS, Action, NotAllowed, OrderState, after
from tests.orders import shop

pytestmark = pytest.mark.django_db


def sent(**fields: Any) -> OrderDocument:
    order = shop.draft(**fields)
    return send_order(order=order, actor=shop.dispenser(), version=order.version)


@pytest.mark.paper
def test_sending_freezes_the_document_and_queues_one_mail_to_the_lab() -> None:
    stored = sent()
    order = Order.objects.get(pk=stored.order_id)
    assert (order.state, order.place, order.sent_by) == ("sent", "sent", shop.dispenser())
    assert hashlib.sha256(stored.text.encode()).hexdigest() == stored.sha256
    assert hashlib.sha256(bytes(stored.pdf)).hexdigest() == stored.pdf_sha256
    assert bytes(stored.pdf).startswith(b"%PDF-")
    delivery = Delivery.objects.get(document=stored)
    assert (delivery.channel, delivery.address, delivery.state) == ("email", "orders@quay-street.invalid", "queued")
    assert [event.kind for event in order.events.order_by("pk")] == ["created", "sent"]
    assert AuditEvent.objects.filter(verb="order.send", record_id=order.public_id).count() == 1


def test_the_stored_text_is_the_canonical_form_of_itself() -> None:
    text = sent().text.encode()
    assert canonical_bytes(parse_order(text)) == text


def test_the_paper_is_drawn_once_and_from_what_the_stored_text_says(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[tuple[Any, ...]] = []

    def paper(*read: Any, **also: Any) -> bytes:
        drawn.append(read)
        return b"P"

    monkeypatch.setattr("orders.services.freezing.paper", paper)
    stored = sent(remarks="Mind the bridge")
    assert drawn == [(parse_order(stored.text), stored.text.encode())]
    assert drawn[0][0].remarks == "Mind the bridge"
    assert bytes(stored.pdf) == b"P"


@pytest.mark.paper
def test_the_stored_document_names_no_person_but_the_prescriber() -> None:
    stored = sent()
    for name in ("Lindqvist", "Åsa"):
        assert name not in stored.text
        assert name.encode() not in bytes(stored.pdf)
    assert json.loads(stored.text)["patient"]["reference"] == "P-90001"


def test_the_exported_document_passes_the_check_as_any_other_installation_would_run_it() -> None:
    stored = sent()
    report = check(parse_order(stored.text), judge(stored.order).catalogue or NO_CATALOGUE)
    assert report.verdict in ("clear", "note")


def test_the_report_that_is_stored_is_the_one_that_the_check_gives_whole() -> None:
    stored = sent()
    report = json.loads(stored.report)
    assert (report["format"], report["number"]) == ("order-report/1", stored.number)
    assert report == plain(judge(stored.order).report)


def test_what_is_frozen_does_not_follow_later_changes_of_the_record() -> None:
    stored = sent()
    PrescribedEye.objects.filter(prescription=stored.order.prescription).update(sphere=-9)
    assert json.loads(OrderDocument.objects.get(pk=stored.pk).text)["prescription"]["right"]["sphere"] == -2.25


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE orders_orderdocument SET text = '{}'",
        "UPDATE orders_orderdocument SET sha256 = ''",
        "DELETE FROM orders_orderdocument",
        "DELETE FROM orders_orderevent",
        "UPDATE orders_orderevent SET note = 'other'",
    ],
)
def test_the_database_itself_refuses_to_change_what_was_sent(statement: str) -> None:
    sent()
    with pytest.raises(DatabaseError, match="cannot be changed"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert OrderDocument.objects.get().text != "{}"


def _ways_around(table: str, column: str) -> list[str]:
    """What changes a row of a table and is neither an UPDATE nor a DELETE."""
    if connection.vendor == "postgresql":
        # What the test itself wrote must be done with before PostgreSQL looks at a TRUNCATE.
        return [f"SET CONSTRAINTS ALL IMMEDIATE; TRUNCATE {table} CASCADE"]
    with connection.cursor() as cursor:
        columns = [part.name for part in connection.introspection.get_table_description(cursor, table)]
    same_id = ", ".join("'other'" if name == column else name for name in columns)
    other_id = ", ".join({column: "'other'", "id": "id + 1000"}.get(name, name) for name in columns)
    return [f"REPLACE INTO {table} ({', '.join(columns)}) SELECT {row} FROM {table}" for row in (same_id, other_id)]


def test_no_way_around_the_database_changes_what_was_sent() -> None:
    stored = sent()
    statements = _ways_around("orders_orderdocument", "text") + _ways_around("orders_orderevent", "note")[:1]
    for statement in statements:
        with pytest.raises(DatabaseError, match="cannot be changed"), transaction.atomic():
            connection.cursor().execute(statement)
    assert OrderDocument.objects.get().text == stored.text


def test_a_queryset_cannot_change_what_was_sent_either() -> None:
    stored = sent()
    with pytest.raises(DatabaseError), transaction.atomic():
        OrderDocument.objects.filter(pk=stored.pk).update(text="{}")
    with pytest.raises(DatabaseError), transaction.atomic():
        OrderDocument.objects.filter(pk=stored.pk)._raw_delete(using="default")


def test_a_draft_saved_by_another_in_the_meantime_is_not_sent() -> None:
    order = shop.draft()
    Order.objects.filter(pk=order.pk).update(version=2)
    with pytest.raises(ChangedMeanwhile):
        send_order(order=order, actor=shop.dispenser(), version=1)
    assert not OrderDocument.objects.exists()
    assert Order.objects.get(pk=order.pk).state == "draft"


def test_a_figure_changed_while_the_pdf_is_drawn_goes_into_the_document_that_is_sent(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Somebody corrects a PD between the check and the commit; what is sent is what the record says then."""
    order = for_page().get(pk=shop.draft().pk)
    drawn = []

    def freeze_slowly(judged: Any, **also: Any) -> Frozen:
        frozen = freeze(judged, **also)
        drawn.append(frozen)
        Measurement.objects.filter(fitting=order.fitting, eye="right", quantity="pd_mm").update(value=31.5)
        Measurement.objects.filter(fitting=order.fitting, quantity="binocular_pd_mm").update(value=63)
        return frozen

    monkeypatch.setattr(sending, "freeze", freeze_slowly)
    stored = send_order(order=order, actor=shop.dispenser(), version=1)
    assert json.loads(drawn[0].text)["fitting"]["right"]["pd_mm"] == 32
    assert json.loads(stored.text)["fitting"]["right"]["pd_mm"] == 31.5
    assert len(drawn) == 2
    assert OrderDocument.objects.count() == 1


def test_an_order_without_a_lab_says_what_to_choose() -> None:
    order = shop.draft(lab=None)
    with pytest.raises(NotReady, match="Choose the lab"):
        send_order(order=order, actor=shop.dispenser(), version=1)


def test_a_lab_without_a_mail_address_gets_a_document_to_take_along() -> None:
    order = shop.draft(lab=shop.lab("Hand Carried Lab", email=""))
    stored = send_order(order=order, actor=shop.dispenser(), version=1)
    assert Delivery.objects.get(document=stored).channel == "download"


def test_a_sent_order_is_not_sent_again() -> None:
    stored = sent()
    order = Order.objects.get(pk=stored.order_id)
    with pytest.raises(NotAllowed, match="cannot be sent"):
        send_order(order=order, actor=shop.dispenser(), version=order.version)
    assert OrderDocument.objects.count() == 1


def test_a_revision_replaces_the_sent_one_only_when_it_is_sent_itself() -> None:
    stored = sent()
    order = Order.objects.get(pk=stored.order_id)
    revision = amend_order(order=order, actor=shop.dispenser())
    assert (revision.number, revision.revision, revision.state) == (order.number, 2, "draft")
    assert Order.objects.get(pk=order.pk).state == "sent"
    second = send_order(order=revision, actor=shop.dispenser(), version=revision.version)
    order.refresh_from_db()
    assert (order.state, order.place) == ("superseded", "superseded")
    assert json.loads(second.text)["revision"] == 2
    assert Delivery.objects.get(document=stored).state == "withheld"
    assert Delivery.objects.get(document=second).state == "queued"


def test_a_revision_is_drawn_up_once() -> None:
    order = Order.objects.get(pk=sent().order_id)
    amend_order(order=order, actor=shop.dispenser())
    with pytest.raises(Exception, match="already being drawn up"):
        amend_order(order=order, actor=shop.dispenser())


def test_after_a_cancelled_revision_the_next_one_has_the_next_number() -> None:
    order = Order.objects.get(pk=sent().order_id)
    cancel_order(order=amend_order(order=order, actor=shop.dispenser()), actor=shop.dispenser(), reason="Not needed")
    assert amend_order(order=order, actor=shop.dispenser()).revision == 3


def test_cancelling_a_sent_order_stops_its_mail_and_needs_a_reason() -> None:
    stored = sent()
    order = Order.objects.get(pk=stored.order_id)
    with pytest.raises(Exception, match="Say why"):
        cancel_order(order=order, actor=shop.dispenser(), reason=" ")
    cancel_order(order=order, actor=shop.dispenser(), reason="Frame broken")
    assert Delivery.objects.get(document=stored).state == "withheld"
    assert Order.objects.get(pk=order.pk).place == "cancelled"


@pytest.mark.parametrize("state", list(OrderState))
@pytest.mark.parametrize("action", list(Action))
def test_every_action_in_every_state_is_allowed_exactly_as_the_table_says(state: Any, action: Any) -> None:
    """Walks the real rows: the services move the row where the table does, and refuse where it does not."""
    order = shop.draft()
    if state is not OrderState.DRAFT:
        send_order(order=order, actor=shop.dispenser(), version=1)
        Order.objects.filter(pk=order.pk).update(state=state)
    order = Order.objects.get(pk=order.pk)
    acts: dict[Action, Callable[[], object]] = {
        Action.SEND: lambda: send_order(order=order, actor=shop.dispenser(), version=order.version),
        Action.CANCEL: lambda: cancel_order(order=order, actor=shop.dispenser(), reason="Because"),
        Action.SUPERSEDE: lambda: send_order(
            order=(revision := amend_order(order=order, actor=shop.dispenser())),
            actor=shop.dispenser(),
            version=revision.version,
        ),
    }
    act = acts[action]
    if (state, action) in TRANSITIONS:
        act()
        assert Order.objects.get(pk=order.pk).state == after(state, action)
    else:
        with pytest.raises(NotAllowed):
            act()
        assert Order.objects.get(pk=order.pk).state == state
