"""``manage.py compare_lenses``: every lens of some catalogues for one order, without a database or server.

orders.options.lenses does the work.
"""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from orders.management.commands.check_order import ORDER_HELP
from orders.options.lenses.command import run
from orders.rules.order_sources import STANDARD_INPUT


class Command(BaseCommand):
    help = (
        "Compare the lenses that lens-catalogue/1 files offer for a lens-order/1 file; one lens-option/1 a line. "
        "Exit code 0, or 2: a file is not valid."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "order",
            metavar="ORDER.json",
            help=ORDER_HELP,
        )
        parser.add_argument(
            "--catalogue", required=True, action="append", metavar="CATALOGUE.json", help="may be given several times"
        )
        parser.add_argument("--only-makeable", action="store_true", help="leave out the lenses that the check stops")
        parser.add_argument("--prices", metavar="PRICES.csv", help="the practice's own price list")

    def handle(self, *args: Any, **options: Any) -> None:
        order = STANDARD_INPUT if options["order"] == "-" else options["order"]
        code = run(
            order,
            options["catalogue"],
            self.stdout,
            self.stderr,
            only_makeable=options["only_makeable"],
            prices_path=options["prices"],
            today=timezone.localdate(),
        )
        if code:
            sys.exit(code)
