"""``manage.py compare_frames``: every frame of a stock for one order and its lenses, without a database or server.

orders.options.frames does the work.
"""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from orders.management.commands.check_order import ORDER_HELP
from orders.options.frames.command import run
from orders.rules.order_sources import STANDARD_INPUT


class Command(BaseCommand):
    help = (
        "Compare the frames of a frame-stock/1 file for a lens-order/1 file and its lenses; one frame-option/1 a line. "
        "Heights are assumed. Exit code 0, or 2: a file is not valid, or the order has no lens."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("order", metavar="ORDER.json", help=ORDER_HELP)
        parser.add_argument("--catalogue", required=True, metavar="CATALOGUE.json")
        parser.add_argument("--frames", required=True, metavar="FRAMES.json")
        parser.add_argument("--only-makeable", action="store_true", help="leave out the frames that the check stops")

    def handle(self, *args: Any, **options: Any) -> None:
        order = STANDARD_INPUT if options["order"] == "-" else options["order"]
        code = run(
            order,
            options["catalogue"],
            options["frames"],
            self.stdout,
            self.stderr,
            only_makeable=options["only_makeable"],
            today=timezone.localdate(),
        )
        if code:
            sys.exit(code)
