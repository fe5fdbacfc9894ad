"""``manage.py count_figures [--anew]``: bring the kept figures up to date, or count all of them from the beginning."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from orders.models import CountedOrder
from orders.services.counting import bring_up_to_date, count_anew


class Command(BaseCommand):
    help = "Bring the kept figures up to date. The page does so itself, but not for a whole history at once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--anew", action="store_true", help="forget what was kept and count from the beginning")

    def handle(self, *args: Any, **options: Any) -> None:
        done = count_anew() if options["anew"] else bring_up_to_date()
        said = f"Counted: {CountedOrder.objects.count()} orders that were sent"
        said += f"; {done.orders_changed} came out otherwise than before." if options["anew"] else "."
        self.stdout.write(said)
