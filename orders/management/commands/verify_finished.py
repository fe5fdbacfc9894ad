"""``manage.py verify_finished``: the verdict on a finished pair from files. orders.verification does the work."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from dispensing.trade.facts import STANDARDS
from orders.verification.command import run

STANDARD_INPUT = "/dev/stdin"


class Command(BaseCommand):
    help = (
        "Hold a finished pair (finished-readings/1) against the order it was made to (lens-order/1); one "
        "finished-verdict/1 on a line. Exit code 0: accept, 1: return it, 3: measure again, 2: a file is not valid."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("order", metavar="ORDER.json", help="the order as sent, as JSON or PDF; - reads it")
        parser.add_argument("readings", metavar="READINGS.json", help="- reads them from standard input")
        parser.add_argument("--standard", required=True, choices=STANDARDS)
        parser.add_argument(
            "--catalogue", metavar="CATALOGUE.json", help="tells the kind of each design where the order does not"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        order, readings = (STANDARD_INPUT if options[name] == "-" else options[name] for name in ("order", "readings"))
        code = run(order, readings, options["standard"], self.stdout, self.stderr, options["catalogue"])
        if code:
            sys.exit(code)
