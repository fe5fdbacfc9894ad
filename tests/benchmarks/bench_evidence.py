"""What the chain of seals costs a write, and the doctor's time and memory over many sent documents. Asserts nothing.

Run: ``python -m tests.benchmarks.bench_evidence [--documents 2000] [--on sqlite|postgresql]``. It makes a database of
its own and deletes it again. The doctor runs over a tenth of the documents first and then over all: its memory must
not grow with their number. Documents have a PDF of 40 kB.
"""

from __future__ import annotations

import argparse
import os
import resource
import time
from typing import Any

from tests.benchmarks.bench_sending import _database

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
WRITES = 1000
PDF = b"%PDF-1.7\n" + b"x" * 40_000
CHECKS = ("seals", "order-documents", "order-states", "audit-targets")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--documents", type=int, default=2000)
    parser.add_argument("--on", choices=["sqlite", "postgresql"], default="sqlite")
    asked = parser.parse_args()
    with _database(asked.on):
        import django

        django.setup()
        from django.db import connection

        connection.creation.create_test_db(verbosity=0)
        try:
            _a_write()
            for count in (asked.documents // 10, asked.documents):
                _doctor(count)
        finally:
            connection.creation.destroy_test_db(connection.settings_dict["NAME"], verbosity=0)


def _a_write() -> None:
    from dispensing.evidence.sealing import Sealer
    from dispensing.services.audit import record

    began = time.perf_counter()
    for _ in range(WRITES):
        record(actor=None, verb="patient.register", changes={"family_name": [None, "Lindqvist"]})
    wrote = time.perf_counter() - began
    began = time.process_time()
    seals = Sealer().seal(most=10_000)
    took = time.process_time() - began
    print(f"a write {1000 * wrote / WRITES:.3f} ms, of it the chain 0; sealing it later {1000 * took / WRITES:.3f} ms")
    print(f"{seals} seals of {WRITES} rows, {1000 * took / seals:.1f} ms each")


def _doctor(count: int) -> None:
    from django.core.management import call_command

    from dispensing.evidence.sealing import Sealer

    _fill(count)
    Sealer().seal(most=10**9)
    began, worked = time.perf_counter(), time.process_time()
    try:
        call_command("doctor", *(word for check in CHECKS for word in ("--only", check)))
    except SystemExit:
        print("something is wrong")
    took, worked = time.perf_counter() - began, time.process_time() - worked
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    each = f"{1000 * worked / count:.2f} ms of our processor time each"
    print(f"{count:,} documents: {took:.1f} s, {each}; memory at most {peak:.0f} MB so far")


def _fill(count: int) -> None:
    """Up to so many sent orders of one patient, each with its document, two events and an entry of the trail."""
    from orders.models import Order
    from tests.orders import shop

    shop.lab()
    person, dana = shop.patient(), shop.dispenser()
    for first in range(Order.objects.count() + 1, count + 1, 50):
        _sent(range(first, min(first + 50, count + 1)), person, dana)


def _sent(numbers: range, person: Any, dana: Any) -> None:
    from django.utils import timezone

    from dispensing.models import AuditEvent
    from orders.documents.canonical import sha256_hex
    from orders.models import Lab, Order, OrderDocument, OrderEvent

    now, lab, pdf = timezone.now(), Lab.objects.get(), sha256_hex(PDF)
    made = {"patient": person, "lab": lab, "state": "sent", "place": "sent", "sent_at": now, "sent_by": dana}
    orders = Order.objects.bulk_create(Order(number=f"D-{number:05d}", **made) for number in numbers)
    OrderDocument.objects.bulk_create(_document(order, now, dana, pdf) for order in orders)
    OrderEvent.objects.bulk_create(
        OrderEvent(order=order, kind=kind, at=now, actor=dana) for order in orders for kind in ("created", "sent")
    )
    told = {"actor": dana, "verb": "order.send", "record": "order", "patient": person}
    AuditEvent.objects.bulk_create(AuditEvent(record_id=order.public_id, **told) for order in orders)


def _document(order: Any, now: Any, dana: Any, pdf: str) -> Any:
    from orders.documents.canonical import sha256_hex
    from orders.models import OrderDocument

    said = f'"number":"{order.number}","patient":{{"reference":"{order.patient.reference}"}},"revision":1'
    text = f'{{"format":"lens-order/1",{said},"padding":"{"x" * 4000}"}}'
    hashes = {"sha256": sha256_hex(text.encode()), "pdf_sha256": pdf}
    kept = {"text": text, "report": "{}", "pdf": PDF, "frozen_at": now, "frozen_by": dana}
    return OrderDocument(order=order, number=order.number, revision=1, **hashes, **kept)


if __name__ == "__main__":
    main()
