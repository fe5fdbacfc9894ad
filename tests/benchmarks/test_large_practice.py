"""The practice that benchmarks are run on is sound, however small: what it holds is found, shown and proved."""

from __future__ import annotations

import pytest

from dispensing.models import Patient
from dispensing.queries.finding import find
from orders.documents.canonical import sha256_hex
from orders.documents.lens_order import parse_order
from orders.models import Order, OrderDocument
from orders.progress import UNFINISHED
from tests.benchmarks.large_practice import fill
from tests.people import signed_in


@pytest.mark.either_database  # it is written to PostgreSQL whenever somebody runs the benchmark
@pytest.mark.django_db(transaction=True)
def test_what_is_written_can_be_found_shown_and_proved() -> None:
    fill(60)
    assert (Patient.objects.count(), Order.objects.count()) == (61, 61)
    unfinished = Order.objects.filter(place__in=[str(place) for place in UNFINISHED]).count()
    assert unfinished == 15
    old = Order.objects.filter(place="handed over").order_by("pk")[1]
    assert find(old.patient.phone).page.rows == [old.patient]
    wrong = old.patient.family_name[:2] + old.patient.family_name[3:]
    assert old.patient in find(f"{wrong} {old.patient.born_on:%d.%m.%Y}").near
    assert signed_in("ravi").get(f"/orders/{old.public_id}/").status_code == 200
    for document in OrderDocument.objects.all():
        assert sha256_hex(document.text.encode()) == document.sha256
        assert sha256_hex(bytes(document.pdf)) == document.pdf_sha256
        assert document.frozen_at == document.order.sent_at
        assert parse_order(document.text).number == document.number == document.order.number
