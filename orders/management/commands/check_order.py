"""``manage.py check_order``: the order check for files, without a database or server. orders.rules does the work."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from orders.options.in_report import with_remedies
from orders.rules.command import as_it_is, run

STANDARD_INPUT = "/dev/stdin"
ORDER_HELP = "JSON, or a lab-order PDF with the order inside; - reads one from standard input"


class Command(BaseCommand):
    help = (
        "Check lens-order/1 files against a lens-catalogue/1 file; one order-report/1 a line. "
        "Exit code 0: no stop, 1: at least one stop, 2: a file is not valid."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "orders",
            nargs="+",
            metavar="ORDER.json",
            help=ORDER_HELP,
        )
        parser.add_argument(
            "--remedies", action="store_true", help="put what would clear a finding, tried on the order, before advice"
        )
        parser.add_argument("--catalogue", required=True, metavar="CATALOGUE.json")

    def handle(self, *args: Any, **options: Any) -> None:
        orders = [STANDARD_INPUT if path == "-" else path for path in options["orders"]]
        finish = with_remedies if options["remedies"] else as_it_is
        code = run(orders, options["catalogue"], self.stdout, self.stderr, finish, timezone.localdate())
        if code:
            sys.exit(code)
