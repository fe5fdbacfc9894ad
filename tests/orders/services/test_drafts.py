"""Drawing up an order: numbers, saving, and two people at one draft."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from dispensing.models import AuditEvent, Practice
from dispensing.services.meanwhile import ChangedMeanwhile
from orders.models import Order
from orders.services.cancelling import cancel_order
from orders.services.drafts import save_draft, start_and_judge, start_draft
from orders.services.judging import judge
from orders.services.sending import send_order
from orders.states import NotAllowed
from tests.orders import shop

pytestmark = pytest.mark.django_db


def test_a_new_order_takes_the_next_number_with_the_practices_own_letters() -> None:
    practice = Practice.current()
    practice.order_prefix = "HL"
    practice.save()
    first = start_draft(patient=shop.patient(), actor=shop.dispenser())
    second = start_draft(patient=shop.patient(), actor=shop.dispenser())
    assert (first.number, second.number) == ("HL-00001", "HL-00002")
    assert (first.place, first.state, first.version) == ("draft", "draft", 1)


def test_what_is_told_of_a_new_order_is_what_is_told_of_it_ever_after() -> None:
    sent = shop.draft()
    send_order(order=sent, actor=shop.dispenser(), version=1)
    parts = {name: getattr(sent, name) for name in ("prescription", "frame", "fitting", "lab", "lenses", "needed_on")}
    order, judged = start_and_judge(patient=sent.patient, actor=shop.dispenser(), **parts)
    assert judged.open_findings
    assert judged.report.number == judged.document.number == order.number == "D-00002"
    assert judged == judge(Order.objects.get(pk=order.pk))


def test_choosing_a_lab_draws_the_order_up_from_the_catalogue_in_use() -> None:
    order = shop.draft(lab=None)
    assert order.catalogue is None
    save_draft(order=order, actor=shop.dispenser(), version=1, fields={"lab": shop.lab()})
    assert Order.objects.get(pk=order.pk).catalogue == shop.lab().catalogues.get(in_use=True)


def test_saving_counts_the_version_up_and_says_who_saved() -> None:
    order = shop.draft()
    other = shop.dispenser("ravi", "Ravi", "Shah")
    save_draft(order=order, actor=other, version=1, fields={"remarks": "Please ring before edging."})
    stored = Order.objects.get(pk=order.pk)
    assert (stored.version, stored.saved_by, stored.remarks) == (2, other, "Please ring before edging.")
    assert stored.verdict == "clear"
    assert AuditEvent.objects.filter(verb="order.save", record_id=order.public_id).exists()


def test_the_second_of_two_savers_is_told_and_shown_both_versions() -> None:
    order = shop.draft()
    mine, theirs = Order.objects.get(pk=order.pk), Order.objects.get(pk=order.pk)
    save_draft(order=theirs, actor=shop.dispenser("ravi", "Ravi", "Shah"), version=1, fields={"remarks": "Theirs"})
    with pytest.raises(ChangedMeanwhile, match="Ravi Shah changed this order") as refused:
        save_draft(order=mine, actor=shop.dispenser(), version=1, fields={"remarks": "Mine", "supply": "fitted"})
    assert refused.value.record.remarks == "Theirs"
    assert refused.value.fields == {"remarks": ("Theirs", "Mine")}
    assert Order.objects.get(pk=order.pk).remarks == "Theirs"


def test_a_cancelled_order_cannot_be_changed() -> None:
    order = shop.draft()
    cancel_order(order=Order.objects.get(pk=order.pk), actor=shop.dispenser(), reason="Patient changed her mind")
    with pytest.raises(NotAllowed, match="is cancelled by now and can no longer be changed"):
        save_draft(order=order, actor=shop.dispenser(), version=1, fields={"remarks": "Too late"})


def test_the_prescription_of_another_patient_never_gets_into_an_order() -> None:
    other = shop.patient("P-90002", family_name="Other")
    with pytest.raises(ValidationError, match="belongs to another patient"):
        save_draft(
            order=shop.draft(), actor=shop.dispenser(), version=1, fields={"prescription": shop.prescription(other)}
        )


def test_a_lens_with_a_key_that_no_lab_knows_is_refused_by_its_path() -> None:
    with pytest.raises(ValidationError, match=r"\$\.lenses\.right\.desing: unknown key"):
        save_draft(
            order=shop.draft(),
            actor=shop.dispenser(),
            version=1,
            fields={"lenses": {"right": {"desing": "sv"}, "left": None}},
        )


def test_a_field_that_no_draft_has_is_a_programming_error() -> None:
    with pytest.raises(TypeError, match="state"):
        save_draft(order=shop.draft(), actor=shop.dispenser(), version=1, fields={"state": "sent"})
