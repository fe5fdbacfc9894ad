"""Made-up years of a practice, straight into the database: orders, what happened to them, what was frozen of them.

By a seed, so that the same years come again. There are revisions, withdrawals, remakes of remakes, times near midnight
and clocks set back; documents hold no more than the figures read.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any

from dispensing.models import StaffUser
from orders.models import DraftFinding, Lab, Order, OrderDocument, OrderEvent
from tests.orders import shop

LABS = ("Quay Street Lab", "Lantern Yard", "Cobble & Sons")
DESIGNS = ("Single vision", "Progressive", "Office")
MOUNTS = ("full_rim", "grooved", "drilled")
CAUSES = ("axis", "power", "flaw", "changed mind", "wear", "")
RULES = ("blank-size", "pd-range", "large-change", "edge-thick")
START = datetime(2023, 11, 20, 23, 30, tzinfo=UTC)
DAYS = 3 * 365
AT_ONCE = 2000


@dataclass
class _Made:
    """What is still to be written; keys are given here, so that rows can point at each other."""

    orders: list[Order] = field(default_factory=list)
    events: list[tuple[datetime, OrderEvent]] = field(default_factory=list)
    documents: list[OrderDocument] = field(default_factory=list)
    findings: list[DraftFinding] = field(default_factory=list)

    def write(self) -> None:
        Order.objects.bulk_create(self.orders)
        # In the order of time, as they were written down; where a clock was set back, the time alone is wrong.
        written = [event for _, event in sorted(self.events, key=lambda row: row[0])]
        OrderEvent.objects.bulk_create(written, batch_size=AT_ONCE)
        OrderDocument.objects.bulk_create(self.documents, batch_size=AT_ONCE)
        DraftFinding.objects.bulk_create(self.findings, batch_size=AT_ONCE)


class Years:
    """Call ``make``; what is made again is drawn from what was made before."""

    def __init__(self, seed: int) -> None:
        self.random, self.made = Random(seed), _Made()
        self.patient, self.people = shop.patient("P-99999"), [shop.dispenser(), shop.dispenser("ravi", "Ravi", "C")]
        self.labs = {name: Lab.objects.get_or_create(name=name)[0] for name in LABS}
        newest = Order.objects.order_by("-pk").first()
        self.key = newest.pk if newest else 0
        self.sent: list[Order] = []

    def make(self, orders: int, start: datetime = START, days: int = DAYS) -> None:
        """So many orders, the remakes among them, spread over the days."""
        for at in sorted(self.random.uniform(0, days) for _ in range(orders)):
            first = self.random.choice(self.sent[-200:]) if self.sent and self.random.random() < 0.12 else None
            self._order(start + timedelta(days=at), first)
        self.made.write()
        self.made = _Made()

    def _order(self, at: datetime, first: Order | None, like: Order | None = None) -> None:
        self.key += 1
        pick, person = self.random.choice, self.random.choice(self.people)
        remake: dict[str, Any] = {}
        if first is not None:
            cause = pick(CAUSES)
            whose = pick(("lab", "practice")) if cause else ""
            remake = {"purpose": "remake", "remake_of": first, "remake_cause": cause, "remake_whose": whose}
        if like is not None:
            remake = {name: getattr(like, name) for name in ("purpose", "remake_of", "remake_cause", "remake_whose")}
        lab = pick(LABS)
        order = Order(
            pk=self.key, number=like.number if like else f"Y-{self.key:06}", revision=like.revision + 1 if like else 1,
            patient=self.patient, lab=self.labs[lab], created_by=person, **remake,
        )  # fmt: skip
        self.made.orders.append(order)
        self._event(order, "created", at, person)
        self._findings(order)
        if self.random.random() < 0.04:
            order.state = "cancelled"
            self._event(order, "cancelled", at, person)
            return
        order.state, order.sent_at, order.sent_by = "sent", at, person
        self._document(order, lab, at, person)
        self._event(order, "sent", at + timedelta(minutes=1), person)
        self.sent.append(order)
        self._afterwards(order, at, person)

    def _afterwards(self, order: Order, at: datetime, person: StaffUser) -> None:
        back = timedelta(days=30) if self.random.random() < 0.03 else timedelta()
        while self.random.random() < 0.15:
            at += self._while()
            self._event(order, "query", at, None)
            self._event(order, "answer", at + timedelta(hours=1), person)
        end = self.random.random()
        if end < 0.08:
            self._event(order, "cancelled", at + self._while(), person)
            order.state = "cancelled"
        elif end < 0.16:
            at += self._while()
            self._event(order, "superseded", at, person)
            order.state = "superseded"
            self._order(at, None, like=order)
        elif end < 0.92:
            self._made_and_checked(order, at, person, back)

    def _made_and_checked(self, order: Order, at: datetime, person: StaffUser, back: timedelta) -> None:
        at += self._while()
        self._event(order, "received", at, person, back)
        while self.random.random() < 0.2:
            at += self._while()
            self._event(order, self.random.choice(("returned", "our mistake", "passed")), at, person, back)
        if self.random.random() < 0.9:
            at += self._while()
            self._event(order, self.random.choice(("passed", "conceded")), at, person, back)
            self._event(order, "handed over", at + self._while(), person, back)

    def _while(self) -> timedelta:
        return timedelta(days=self.random.expovariate(1 / 3))

    def _event(
        self, order: Order, kind: str, at: datetime, person: StaffUser | None, back: timedelta = timedelta()
    ) -> None:
        self.made.events.append((at, OrderEvent(order=order, kind=kind, at=at - back, actor=person)))

    def _findings(self, order: Order) -> None:
        for rule in RULES:
            if self.random.random() < 0.1:
                levels = self.random.choice((("stop",), ("ask",), ("ask", "stop")))
                self.made.findings += [DraftFinding(order=order, rule=rule, level=level) for level in levels]

    def _document(self, order: Order, lab: str, at: datetime, person: StaffUser) -> None:
        lens = {"design": "code", "extra": {"design_name": self.random.choice(DESIGNS)}}
        eye = self.random.choice(("right", "left"))
        needed = (at + timedelta(days=self.random.randrange(3, 15))).date().isoformat()
        text = {
            "number": order.number,
            "purpose": order.purpose,
            "lab": {"name": lab},
            "frame": {"mount": self.random.choice(MOUNTS)},
            "lenses": {eye: lens},
            "needed_on": needed if self.random.random() < 0.8 else None,
        }
        findings = [
            {"rule": rule, "level": self.random.choice(("stop", "ask", "note")), "eye": eye, "message": "Said",
             "confirmed_by": self.random.choice(("Dana Okafor", "Ravi C"))}
            for rule in RULES if self.random.random() < 0.12 for eye in ("right", "left")
        ]  # fmt: skip
        self.made.documents.append(
            OrderDocument(
                order=order, number=order.number, revision=order.revision, text=json.dumps(text),
                report=json.dumps({"verdict": "clear", "findings": findings}), pdf=b"", frozen_at=at, frozen_by=person,
            )
        )  # fmt: skip
