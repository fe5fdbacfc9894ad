"""``manage.py load_demo``: fill an empty database with the invented practice."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from dispensing.demo_password import demo_facts, is_a_real_practice
from dispensing.models import Fitting, Frame, Patient, StaffUser
from dispensing.roles import Role
from dispensing.services.staff import temporary_password
from orders.demo.clock import days_ago
from orders.demo.jobs import STAGES, load_order, measured_ago
from orders.demo.people import load_labs, load_practice, load_staff, read
from orders.demo.records import frame_key, load_fitting, load_frames, load_patient


class Command(BaseCommand):
    help = "Fill an empty database with an invented practice: patients, frames, labs and orders in every state."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--without-orders", action="store_true", help="leave the orders out; much quicker")
        parser.add_argument(
            "--into-named-database",
            action="store_true",
            help="also into the database that DATABASE_URL names; without it only into that of an installation to try",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.PRODUCTION and not options["into_named_database"]:
            raise CommandError(
                "DATABASE_URL names a database, which may be that of a real practice. "
                "If the demo is to go into it all the same, say so: load_demo --into-named-database"
            )
        if Patient.objects.exists() or StaffUser.objects.exists():
            raise CommandError("This database already holds patients or staff. The demo goes into an empty one only.")
        facts = read("practice.json") | {"password": self._password()}
        with transaction.atomic(), days_ago(40):
            load_practice(facts)
            staff = load_staff(facts)
            labs = load_labs(facts, staff[Role.MANAGER])
            self.frame_rows = read("frames.json")
            frames = load_frames(self.frame_rows, staff[Role.DISPENSER])
        rows = read("patients.json")
        for place, row in enumerate(rows):
            patient, fitting = self._measured(place, row, staff, frames)
            if place < len(STAGES) and not options["without_orders"]:
                load_order(place, row, patient, fitting, labs[place % len(labs)], staff[Role.DISPENSER])
            self._progress(place + 1, len(rows))
        self.stdout.write(
            f"Loaded {len(rows)} patients and {len(self.frame_rows)} frames of {facts['practice']['name']}."
        )

    def _password(self) -> str:
        """The one that everybody can read, or where that opens nothing, a new one that is shown this once."""
        if not is_a_real_practice():
            return str(demo_facts()["password"])
        password = temporary_password()
        self.stdout.write(f"The staff of the demo sign in with this password, which is shown this once: {password}")
        return password

    @transaction.atomic
    def _measured(
        self, place: int, row: dict[str, Any], staff: dict[str, StaffUser], frames: dict[str, Frame]
    ) -> tuple[Patient, Fitting]:
        patient = load_patient(row, staff[Role.FRONT_DESK])
        with days_ago(measured_ago(place)):
            frame = frames[row["frame"]]
            if row["own_frame"]:
                frame = load_frames([self._own(row)], staff[Role.DISPENSER])[row["frame"]]
                frame.owner = patient
                frame.save(update_fields=["owner"])
            return patient, load_fitting(row, patient, frame, staff[Role.DISPENSER])

    def _own(self, row: dict[str, Any]) -> dict[str, Any]:
        known = next(frame for frame in self.frame_rows if frame_key(frame) == row["frame"])
        return {**known, "stock_number": "", "in_stock": 0}

    def _progress(self, done: int, of: int) -> None:
        if done % 10 == 0 or done == of:
            self.stdout.write(f"  {done} of {of} patients")
            self.stdout.flush()  # Progress that waits in a buffer is none.
