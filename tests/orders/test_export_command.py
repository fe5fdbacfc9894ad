"""``manage.py export_order``: the stored bytes, or what is made from them; and `doctor`, which hashes them again."""

from __future__ import annotations

import json
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from dispensing.append_only import protect, unprotect
from dispensing.doctor.registry import Level
from dispensing.doctor.walk import Walk
from dispensing.models import Frame
from orders.doctor.documents import sent_documents_are_what_was_sent
from orders.doctor.outbox import WAITING_TOO_LONG, the_outbox_moves
from orders.doctor.places import orders_agree_with_their_documents_and_events
from orders.documents.lens_order import parse_order
from orders.models import Delivery, Order, OrderDocument, Sender
from orders.services.amending import amend_order
from orders.services.drafts import save_draft
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def sent() -> OrderDocument:
    order = shop.draft()
    return send_order(order=order, actor=shop.dispenser(), version=order.version)


def export(number: str, kind: str, path: Path, **options: Any) -> Any:
    call_command("export_order", number, kind=kind, to=str(path), **options)
    return path.read_bytes()


def test_json_and_pdf_are_the_bytes_that_were_sent(tmp_path: Path) -> None:
    stored = sent()
    assert export(stored.number, "json", tmp_path / "o.json") == stored.text.encode()
    assert export(stored.number, "pdf", tmp_path / "o.pdf") == bytes(stored.pdf)


def test_fhir_and_records_are_made_from_the_stored_json(tmp_path: Path) -> None:
    stored = sent()
    fhir = json.loads(export(stored.number, "fhir", tmp_path / "o.fhir"))
    assert fhir["entry"][1]["resource"]["lensSpecification"][0]["sphere"] == -2.25
    assert b"SPH=-2.25;-2.00\r\n" in export(stored.number, "records", tmp_path / "o.txt")


def test_records_that_would_cut_a_name_are_refused_with_the_name_and_nothing_is_written(tmp_path: Path) -> None:
    order = shop.draft()
    Frame.objects.filter(pk=there(order.frame).pk).update(model="M" * 61)
    order = Order.objects.get(pk=order.pk)
    stored = send_order(order=order, actor=shop.dispenser(), version=order.version)
    with pytest.raises(CommandError, match=r"does not fit into records\. The frame's model has 61 letters") as refused:
        export(stored.number, "records", tmp_path / "o.txt")
    assert refused.value.returncode == 2
    assert not (tmp_path / "o.txt").exists()
    assert export(stored.number, "json", tmp_path / "o.json") == stored.text.encode()


def test_the_exported_json_is_an_order_that_check_order_takes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stored = sent()
    order, catalogue = tmp_path / "order.json", tmp_path / "catalogue.json"
    parse_order(export(stored.number, "json", order))
    catalogue.write_bytes(shop.catalogue_bytes())
    call_command("check_order", str(order), catalogue=str(catalogue))
    report = json.loads(capsys.readouterr().out)
    assert (report["number"], report["verdict"]) == (stored.number, "clear")


def test_without_a_revision_the_newest_is_exported_and_with_one_that_one(tmp_path: Path) -> None:
    stored = sent()
    revision = amend_order(order=Order.objects.get(pk=stored.order_id), actor=shop.dispenser())
    save_draft(order=revision, actor=shop.dispenser(), version=1, fields={"remarks": "Second"})
    send_order(order=revision, actor=shop.dispenser(), version=revision.version)
    assert json.loads(export(stored.number, "json", tmp_path / "a"))["remarks"] == "Second"
    assert json.loads(export(stored.number, "json", tmp_path / "b", revision=1))["remarks"] == ""


def test_an_order_that_was_not_sent_is_refused_in_one_sentence(tmp_path: Path) -> None:
    draft = shop.draft()
    for number in ("D-99999", draft.number):
        with pytest.raises(CommandError, match=f"There is no sent order {number}") as refused:
            export(number, "json", tmp_path / "x")
        assert refused.value.returncode == 2


def test_a_place_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    stored = sent()
    with pytest.raises(CommandError, match="cannot be written"):
        export(stored.number, "json", tmp_path / "no" / "such" / "folder")


def tamper(stored: Any) -> None:
    """What only somebody with the database's own rights can do."""
    with connection.schema_editor(atomic=False) as editor:
        unprotect(editor, "orders_orderdocument")
    OrderDocument.objects.filter(pk=stored.pk).update(text=stored.text.replace("-2.25", "-7.25"))
    with connection.schema_editor(atomic=False) as editor:
        protect(editor, "orders_orderdocument")


def worst(check: Any) -> Any:
    order = [Level.OK, Level.NOTE, Level.WRONG]
    return max((diagnosis for diagnosis in check()), key=lambda diagnosis: order.index(diagnosis.level))


@pytest.mark.django_db(transaction=True)
def test_a_document_changed_behind_the_databases_back_is_not_exported_and_the_doctor_finds_it(tmp_path: Path) -> None:
    stored = sent()
    assert worst(partial(sent_documents_are_what_was_sent, Walk())).level == Level.OK
    tamper(stored)
    with pytest.raises(CommandError, match="does not fit its hash"):
        export(stored.number, "pdf", tmp_path / "x")
    found = worst(partial(sent_documents_are_what_was_sent, Walk()))
    assert (found.level, str(stored) in found.said) == (Level.WRONG, True)


@pytest.fixture
def sender_running() -> None:
    Sender.objects.create(name="one", started_at=timezone.now(), seen_at=timezone.now())


def test_the_doctor_notes_that_no_sender_runs_before_anything_waits_too_long() -> None:
    sent()
    found = worst(the_outbox_moves)
    assert (found.level, found.said) == (Level.NOTE, "no sender is running")


@pytest.mark.usefixtures("sender_running")
def test_the_doctor_sees_that_the_outbox_does_not_move() -> None:
    sent()
    assert worst(the_outbox_moves).level == Level.OK
    delivery = Delivery.objects.get()
    Delivery.objects.update(next_try_at=delivery.next_try_at - WAITING_TOO_LONG * 2)
    found = worst(the_outbox_moves)
    assert found.level == Level.WRONG
    assert "send_orders --watch" in found.to_do


@pytest.mark.usefixtures("sender_running")
@pytest.mark.parametrize(("minutes", "level"), [(14, Level.OK), (16, Level.WRONG)])
def test_the_doctor_gives_the_sender_a_quarter_of_an_hour(minutes: int, level: Level) -> None:
    sent()
    Delivery.objects.update(next_try_at=timezone.now() - timedelta(minutes=minutes))
    assert worst(the_outbox_moves).level == level


@pytest.mark.usefixtures("sender_running")
@pytest.mark.parametrize("state", ["unknown", "failed"])
def test_the_doctor_names_deliveries_that_wait_for_a_person(state: str) -> None:
    sent()
    Delivery.objects.update(state=state)
    assert worst(the_outbox_moves).level == Level.NOTE


def test_the_doctor_finds_an_order_that_strayed_from_its_events() -> None:
    stored = sent()
    assert worst(partial(orders_agree_with_their_documents_and_events, Walk())).level == Level.OK
    Order.objects.filter(pk=stored.order_id).update(place="handed over")
    found = worst(partial(orders_agree_with_their_documents_and_events, Walk()))
    assert (found.level, stored.number in found.said) == (Level.WRONG, True)
