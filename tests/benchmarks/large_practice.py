"""A practice with as many patients and orders as are asked for, written straight into an empty database in minutes.

One order is drawn up and sent as it always is; everybody else's rows are copies of its rows with names, dates, powers
and places of their own, so that every page can show them and every document fits its hash. By a seed, so that the same
practice comes again. A few hundred orders are open; all others are history over ten years.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from hashlib import sha256
from itertools import accumulate
from random import Random
from types import SimpleNamespace
from typing import Any

from django.core.management.color import no_style
from django.db import connection
from django.db.models import Max, Model

from dispensing import search_index
from dispensing.likeness import keys_of, may_be_misspelt
from dispensing.models import (
    AuditEvent,
    Fitting,
    Frame,
    Measurement,
    NameKey,
    Patient,
    PrescribedEye,
    Prescription,
    SerialNumber,
    StaffUser,
)
from dispensing.roles import Role
from dispensing.search_words import contact_text, name_words, own_text
from orders.models import Delivery, DeliveryAttempt, Order, OrderDocument, OrderEvent
from orders.progress import UNFINISHED, Place
from orders.services.sending import send_order
from tests.orders import shop
from tests.stand_in_pdf import no_typesetting

AT_ONCE = 5000
OPEN_ORDERS = 400
YEARS = 10
YEARS_IN_STOCK = 2
STAFF = 12
TODAY = datetime.now(UTC).date()
DONE = (*[Place.HANDED_OVER] * 94, *[Place.CANCELLED] * 3, *[Place.SUPERSEDED] * 2, Place.MADE_AGAIN)

BEGIN = [
    "Pen",
    "Thor",
    "Ash",
    "Mar",
    "Had",
    "Quil",
    "Wen",
    "Cas",
    "Bran",
    "Ol",
    "Ster",
    "Fen",
    "Hol",
    "Lin",
    "Tam",
    "Ver",
]
MIDDLE = [
    "hal",
    "ber",
    "wor",
    "tan",
    "ling",
    "mer",
    "der",
    "cot",
    "gar",
    "ril",
    "sto",
    "nel",
    "wick",
    "bel",
    "dra",
    "fol",
]
END = [
    "low",
    "ton",
    "by",
    "ley",
    "den",
    "worth",
    "more",
    "field",
    "stone",
    "ham",
    "quist",
    "sen",
    "win",
    "ford",
    "lund",
    "ridge",
]
GIVEN = ["Ada", "Bea", "Cyd", "Dot", "Eve", "Fay", "Gus", "Hal", "Ida", "Jem", "Kit", "Lou", "Max", "Ned", "Oda", "Pip"]
GIVEN_END = [
    "",
    *["lyn", "bert", "rick", "ette", "ina", "son", "mund", "wen", "old", "ia", "us", "elle", "ward", "is", "or"],
]
STREETS = [
    "Mill Lane",
    "Church Street",
    "High Street",
    "Station Road",
    "Quay",
    "Orchard Close",
    "Green Hill",
    "Park Row",
]


def fill(size: int, seed: int = 1) -> None:
    """Writes ``size`` patients with an order each. The database has its tables and nothing else in it."""
    sent = _one_sent_order()
    makers = _Copies(sent, Random(seed), size)
    with _nobody_looking():
        for start in range(0, size, AT_ONCE):
            makers.write(range(start, min(start + AT_ONCE, size)))
        makers.write_words()
    _after()


def _one_sent_order() -> Order:
    for number in range(STAFF):
        role = (Role.FRONT_DESK, Role.DISPENSER, Role.MANAGER)[number % 3]
        StaffUser.objects.create(username=f"staff-{number}", first_name="Staff", last_name=str(number), role=role)
    order = shop.draft(patient=shop.patient("P-00001"))  # before all the copies, like D-00001
    with no_typesetting():
        send_order(order=order, actor=shop.dispenser(), version=order.version)
    for kind in ("accepted", "dispatched", "received", "passed", "patient told", "handed over"):
        OrderEvent.objects.create(order=order, kind=kind, at=datetime.now(UTC), actor=shop.dispenser())
    Order.objects.filter(pk=order.pk).update(place="handed over")
    return Order.objects.get(pk=order.pk)


class _Copies:
    """Rows made from those of one order. Keys are given here, so that rows can point at each other."""

    def __init__(self, order: Order, draw: Random, size: int) -> None:
        document = order.documents.get()
        self.draw, self.size, self.order = draw, size, order
        self.text, self.number, self.reference = document.text, order.number, order.patient.reference
        self.staff = list(StaffUser.objects.filter(username__startswith="staff-").values_list("pk", flat=True))
        prescription, fitting = order.prescription, order.fitting
        assert prescription is not None
        assert fitting is not None
        self.eyes, self.figures = list(prescription.eyes.all()), list(fitting.measurements.all())[:4]
        delivery = document.deliveries.get()
        self.like: dict[type[Model], Model] = {
            Patient: order.patient, Prescription: prescription, Fitting: fitting, Order: order, Delivery: delivery,
            OrderDocument: document, Frame: fitting.frame, PrescribedEye: self.eyes[0], Measurement: self.figures[0],
            OrderEvent: order.events.all()[0], DeliveryAttempt: DeliveryAttempt(delivery=delivery, step="succeed"),
            AuditEvent: AuditEvent.objects.all()[0],
        }  # fmt: skip
        self.tables = {model: _Table(model, row) for model, row in self.like.items()}
        self.words: set[str] = set()
        self.families = [a + b + c for a in BEGIN for b in MIDDLE for c in END]
        self.given = [a + b for a in GIVEN for b in GIVEN_END]
        draw.shuffle(self.families)
        # As names are: the commonest many times as common as most.
        self.by_rank = list(accumulate(1 / (rank + 10) for rank in range(len(self.families))))
        self.given_by_rank = list(accumulate(1 / (rank + 5) for rank in range(len(self.given))))

    def write(self, numbers: range) -> None:
        for number in numbers:
            self._one(number)
        for table in self.tables.values():
            table.flush()

    def _one(self, number: int) -> None:
        # The newest orders are the open ones.
        is_open = number >= self.size - min(OPEN_ORDERS, self.size // 4)
        age = self.draw.random() * 30 if is_open else 30 + (self.size - number) / self.size * (YEARS * 365 - 30)
        began = datetime.combine(TODAY, time(12), UTC) - timedelta(days=age)
        patient = self._patient(number, began)
        frame = self._frame(number)
        prescription = self._prescription(patient, began)
        fitting = self._fitting(patient, frame, began)
        place = self.draw.choice(UNFINISHED) if is_open else self.draw.choice(DONE)
        self._order(number, str(place), began, patient=patient, frame=frame, prescription=prescription, fitting=fitting)

    def _patient(self, number: int, began: datetime) -> int:
        draw = self.draw
        family = draw.choices(self.families, cum_weights=self.by_rank)[0]
        given = draw.choices(self.given, cum_weights=self.given_by_rank)[0]
        row: dict[str, Any] = {
            "reference": f"P-{number + 2:05}", "family_name": family, "given_names": given,
            "born_on": date(1930, 1, 1) + timedelta(days=draw.randrange(90 * 365)),
            "phone": f"07{draw.randrange(10**9):09}", "email": f"{given}.{family}{number}@example.org".lower(),
            "address": f"{draw.randrange(1, 200)} {draw.choice(STREETS)}", "guardian": "", "registered_at": began,
            "last_seen_on": began.date(), "public_id": uuid.UUID(int=draw.getrandbits(128)),
        }  # fmt: skip
        person = SimpleNamespace(**row)
        row["search_text"], row["contact_text"] = own_text(person, "GB"), contact_text(person, "GB")
        self.words.update(name_words(given, family))
        return self.tables[Patient].add(row)

    def _frame(self, number: int) -> int:
        """One in five is a frame of stock of its own, sold for some years; the others are the one that all share."""
        if number % 5:
            return int(self.like[Frame].pk)
        colours = ("Ink blue", "Moss", "Amber", "Slate", "Rose")
        model = f"{self.draw.choice(BEGIN)}{self.draw.choice(END)} {self.draw.randrange(44, 58)}"
        return self.tables[Frame].add({
            "model": model, "colour": self.draw.choice(colours), "stock_number": f"F{number}",
            "withdrawn": (self.size - number) / self.size * YEARS > YEARS_IN_STOCK,
            "public_id": uuid.UUID(int=self.draw.getrandbits(128)),
        })  # fmt: skip

    def _prescription(self, patient: int, began: datetime) -> int:
        tested = began.date() - timedelta(days=5)
        key = self.tables[Prescription].add({
            "patient_id": patient, "tested_on": tested, "expires_on": tested + timedelta(days=730),
            "recorded_at": began, "public_id": uuid.UUID(int=self.draw.getrandbits(128)),
        })  # fmt: skip
        power = Decimal(round(self.draw.gauss(-1, 2.5) * 4)) / 4
        for eye in self.eyes:
            sphere = power + Decimal(self.draw.randrange(-2, 3)) / 4
            self.tables[PrescribedEye].add({"prescription_id": key, "eye": eye.eye, "sphere": sphere})
        return key

    def _fitting(self, patient: int, frame: int, began: datetime) -> int:
        key = self.tables[Fitting].add({
            "patient_id": patient, "frame_id": frame, "measured_on": began.date(), "recorded_at": began,
            "public_id": uuid.UUID(int=self.draw.getrandbits(128)),
        })  # fmt: skip
        for one in self.figures:
            figure = {"fitting_id": key, "eye": one.eye, "quantity": one.quantity, "value": one.value}
            self.tables[Measurement].add(figure)
        return key

    def _order(self, count: int, place: str, began: datetime, **keys: int) -> None:
        told = shop.STORIES[place]
        number, actor = f"D-{count + 2:05}", self.draw.choice(self.staff)
        moved = [began + timedelta(days=step / 2) for step in range(len(told) + 1)]
        last = min(moved[-1], datetime.now(UTC))
        state = told[-1] if told and told[-1] in ("cancelled", "superseded") else "sent" if told else "draft"
        public_id = uuid.UUID(int=self.draw.getrandbits(128))
        key = self.tables[Order].add({
            "number": number, "state": state, "place": place, "public_id": public_id, "created_at": began,
            "created_by_id": actor, "saved_at": began, "saved_by_id": actor, "moved_at": last, "place_since": last,
            "needed_on": began.date() + timedelta(days=14), "expected_on": began.date() + timedelta(days=8),
            "promised_on": began.date() + timedelta(days=8) if "accepted" in told else None,
            "sent_at": moved[1] if told else None, "sent_by_id": actor if told else None,
            **{f"{name}_id": value for name, value in keys.items()},
        })  # fmt: skip
        for kind, at in zip(("created", *told), moved):
            self.tables[OrderEvent].add({"order_id": key, "kind": kind, "at": min(at, last), "actor_id": actor})
        for verb in ("patient.register", "order.create", *(["order.send"] if told else []), "order.event"):
            self.tables[AuditEvent].add({
                "at": last, "actor_id": actor, "verb": verb, "patient_id": keys["patient"], "record_id": public_id,
            })  # fmt: skip
        if told:
            self._document(key, number, count, moved[1], last, actor)

    def _document(self, order: int, number: str, count: int, sent: datetime, at: datetime, actor: int) -> None:
        text = self.text.replace(f'"{self.number}"', f'"{number}"').replace(
            f'"{self.reference}"', f'"P-{count + 2:05}"'
        )
        pdf = b"%PDF-1.7\n% Stands in for the page of " + number.encode()
        key = self.tables[OrderDocument].add({
            "order_id": order, "number": number, "text": text, "sha256": sha256(text.encode()).hexdigest(), "pdf": pdf,
            "pdf_sha256": sha256(pdf).hexdigest(), "frozen_at": sent, "frozen_by_id": actor,
            "public_id": uuid.UUID(int=self.draw.getrandbits(128)),
        })  # fmt: skip
        state = self.draw.choice(("queued", "retry_later", "failed", "sent", "sent")) if at.date() == TODAY else "sent"
        delivery = self.tables[Delivery].add({
            "document_id": key, "state": state, "next_try_at": at, "queued_at": at, "attempts_made": 1,
            "done_at": at if state == "sent" else None, "public_id": uuid.UUID(int=self.draw.getrandbits(128)),
        })  # fmt: skip
        self.tables[DeliveryAttempt].add({"delivery_id": delivery, "at": at, "step": "succeed", "outcome": state})

    def write_words(self) -> None:
        table = _Table(NameKey, NameKey())
        for word in filter(may_be_misspelt, sorted(self.words)):
            for key in sorted(keys_of(word)):
                table.add({"key": key, "word": word})
        table.flush()
        SerialNumber.objects.update(last=self.size + 1)


class _Table:
    """The rows of one table that are still to be written: a row like another, but for what is given."""

    def __init__(self, model: type[Model], like: Model) -> None:
        self.model = model
        self.fields = {field.attname: field for field in model._meta.concrete_fields}
        self.like = {name: self._ready(name, getattr(like, name)) for name in self.fields}
        self.next_key = (model._default_manager.aggregate(last=Max("pk"))["last"] or 0) + 1
        self.rows: list[tuple[Any, ...]] = []

    def _ready(self, name: str, value: Any) -> Any:
        return self.fields[name].get_db_prep_save(value, connection)

    def add(self, given: dict[str, Any]) -> int:
        key, self.next_key = self.next_key, self.next_key + 1
        # PostgreSQL takes these values as they are.
        plain = connection.vendor == "postgresql"
        own = given if plain else {name: self._ready(name, value) for name, value in given.items()}
        self.rows.append(tuple({**self.like, "id": key, **own}.values()))
        return key

    def flush(self) -> None:
        if self.rows:
            _write(self.model, list(self.fields.values()), self.rows)
        self.rows = []


def _write(model: type[Model], fields: Iterable[Any], rows: list[tuple[Any, ...]]) -> None:
    columns = [connection.ops.quote_name(field.column) for field in fields]
    table = connection.ops.quote_name(model._meta.db_table)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({', '.join(columns)}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        else:
            cursor.execute("BEGIN")
            into = f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join(['%s'] * len(columns))})"
            cursor.executemany(into, rows)
            cursor.execute("COMMIT")


@contextmanager
def _nobody_looking() -> Iterator[None]:
    """Without the index of parts, which is quicker made at the end, and without looking up what each key points at."""
    postgresql = connection.vendor == "postgresql"
    editor = connection.SchemaEditorClass(connection)
    search_index.drop_parts(editor)
    with connection.cursor() as cursor:
        cursor.execute("SET session_replication_role = replica" if postgresql else "PRAGMA foreign_keys=OFF")
        try:
            yield
        finally:
            cursor.execute("SET session_replication_role = DEFAULT" if postgresql else "PRAGMA foreign_keys=ON")
    search_index.index_parts(editor)


def _after() -> None:
    models = (Patient, Prescription, PrescribedEye, Fitting, Measurement, Frame, Order, OrderEvent, OrderDocument,
              Delivery, DeliveryAttempt, AuditEvent, NameKey)  # fmt: skip
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models)):
            cursor.execute(statement)
        cursor.execute("VACUUM ANALYZE" if connection.vendor == "postgresql" else "ANALYZE")
