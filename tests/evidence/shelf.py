"""Two households with everything that never changes, sealed: one to be meddled with, one that must not be named."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.db.models import Model

from dispensing.append_only import APPEND_ONLY_TABLES
from dispensing.evidence.sealing import Sealer
from dispensing.models import AuditEvent, Patient
from dispensing.services.scans import add_scan
from orders.models import Order
from orders.progress import EventKind
from orders.services.aftercare import note_aftercare
from orders.services.deciding import decide
from orders.services.events import record_event
from orders.services.finished_pairs import record_reading
from orders.services.handing_over import hand_over
from orders.services.prices import take_in_prices
from orders.services.sending import send_order
from tests.bystanders.writings import a_picture
from tests.known import there
from tests.orders import shop
from tests.orders.services.test_finished_pairs import readings
from tests.people import person

HOUSEHOLDS = ("ours", "theirs")
PRICES = b"design,amount,currency\nsv,%d,GBP\n"


@dataclass
class Shelf:
    """Rows by name, of the one whose turn it is."""

    rows: dict[str, dict[str, Any]] = field(default_factory=lambda: {whose: {} for whose in HOUSEHOLDS})

    def of(self, whose: str) -> dict[str, Any]:
        """Each row as it is stored now."""
        return {name: type(row)._base_manager.get(pk=row.pk) for name, row in self.rows[whose].items()}


def build() -> Shelf:
    shelf = Shelf()
    for number, whose in enumerate(HOUSEHOLDS, start=1):
        _household(shelf.rows[whose], shop.patient(f"P-9000{number}"), whose)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    Sealer().seal(most=1000)
    return shelf


def _household(rows: dict[str, Any], patient: Patient, whose: str) -> None:
    worker = person(f"{whose}-worker", role="dispenser", first_name=whose, last_name="Worker")
    rows.update(patient=patient, worker=worker)
    lab = shop.lab(f"Lab of {whose}", email=f"{whose}@lab.invalid")
    order = shop.draft(patient=patient, lab=lab)
    rows["scan"] = add_scan(
        actor=worker, prescription=there(order.prescription), upload=SimpleUploadedFile("paper.jpg", a_picture())
    )
    rows["document"] = send_order(order=order, actor=worker, version=order.version)
    rows["document"].deliveries.update(state="sent")
    order = Order.objects.get(pk=order.pk)
    rows.update(order=order, catalogue=order.catalogue)
    accepted = record_event(order=order, kind=EventKind.ACCEPTED, actor=worker, job_number=f"J-{whose}")
    rows.update(event=accepted, word=accepted.lab_word)
    wrong = readings(right={"sphere": -2.75, "pd_mm": 32.0})
    rows["reading"] = record_reading(order=order, actor=worker, readings=wrong, photos=[("surface", a_picture())])
    rows["photo"] = rows["reading"].photos.get()
    _given(rows, order, worker)
    rows["prices"] = take_in_prices(content=PRICES % (10 + HOUSEHOLDS.index(whose)), actor=worker)
    rows["audit"] = AuditEvent.objects.get(verb="order.send", patient=patient)


def _given(rows: dict[str, Any], order: Order, worker: Any) -> None:
    why: dict[str, Any] = {
        "cause": "power",
        "reason": "Half a dioptre",
        "allowed_by": person("ines"),
        "patient_told": True,
    }
    event, _ = decide(order=Order.objects.get(pk=order.pk), actor=worker, kind=EventKind.CONCEDED, **why)
    rows["decision"] = event.decision
    asked: dict[str, Any] = {
        "reference": order.patient.reference,
        "born_on": order.patient.born_on,
        "given_to": "patient",
    }
    order = Order.objects.get(pk=order.pk)
    rows["hand_over"] = hand_over(order=order, actor=worker, **asked, fit="good", patients_copy="printed")
    order = Order.objects.get(pk=order.pk)
    rows["aftercare"] = note_aftercare(order=order, actor=worker, kind=EventKind.ADJUSTED, done="Sides shortened")


@contextmanager
def behind_its_back() -> Iterator[Any]:
    """A cursor for what only somebody with the database's own rights can do: no trigger and no key is in the way."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL session_replication_role = replica")
            yield cursor
            cursor.execute("SET LOCAL session_replication_role = origin")
            return
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        taken_off = [row for row in cursor.fetchall() if row[0].startswith(tuple(APPEND_ONLY_TABLES))]
        for name, _ in taken_off:
            cursor.execute(f"DROP TRIGGER {name}")
        yield cursor
        for _, sql in taken_off:
            cursor.execute(sql)


def change(row: Model, **columns: Any) -> None:
    with behind_its_back():
        type(row)._base_manager.filter(pk=row.pk).update(**columns)


def delete(*rows: Model) -> None:
    with behind_its_back() as cursor:
        for row in rows:
            cursor.execute(f"DELETE FROM {row._meta.db_table} WHERE id = %s", [row.pk])


def put_in(row: Model, before: int) -> None:
    """Another row like this one, under a key lower than any."""
    with behind_its_back():
        row.pk = before
        row.save(force_insert=True)


OF_ROWS = (
    "seals",
    "seals-noted",
    "audit-targets",
    "stored-files",
    "order-documents",
    "order-states",
    "finished-pairs",
    "catalogues",
)


def doctors_words(*options: str, only: Iterable[str] = OF_ROWS) -> list[str]:
    """What the doctor finds wrong, by line."""
    out = io.StringIO()
    options = (*options, *(word for check in only for word in ("--only", check)))
    with suppress(SystemExit):
        call_command("doctor", *options, stdout=out, stderr=io.StringIO())
    lines = out.getvalue().splitlines()
    return [line for line in lines if line.startswith("wrong") and not line.startswith("wrong python")]


def says(lines: list[str], words: str) -> bool:
    """Whether a line has these words as they stand, and not as part of a longer word or number."""
    return any(re.search(rf"(?<![\w-]){re.escape(words)}(?![\w-])", line) for line in lines)
