"""``manage.py check_order``: the order check for files, without a database or server. orders.rules does the work."""

from __future__ import annotations

import os
import signal
import sys
from argparse import ArgumentTypeError
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from orders.options.in_report import with_remedies
from orders.rules.check_files import run
from orders.rules.judging_files import as_it_is
from orders.rules.order_sources import STANDARD_INPUT

ENDED_BY_THE_READER = 128 + signal.SIGPIPE  # what a shell says of the others that are ended so
MOST_JOBS = 64

ORDER_HELP = "JSON, or a lab-order PDF with the order inside; - reads one from standard input"
ORDERS_HELP = (
    "JSON, or a lab-order PDF with the order inside; a folder stands for all of them in it and below it; "
    "- reads standard input: one order, or one a line"
)


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
            help=ORDERS_HELP,
        )
        parser.add_argument(
            "--remedies", action="store_true", help="put what would clear a finding, tried on the order, before advice"
        )
        parser.add_argument("--catalogue", required=True, metavar="CATALOGUE.json")
        parser.add_argument("--jobs", type=_jobs, default=1, metavar="N", help="processes that share the work")
        parser.add_argument(
            "--named",
            action="store_true",
            help='a line for every order, valid or not: {"file", "report"} or {"file", "faults"}',
        )

    def handle(self, *args: Any, **options: Any) -> None:
        orders = [STANDARD_INPUT if path == "-" else path for path in options["orders"]]
        finish = with_remedies if options["remedies"] else as_it_is
        if options["jobs"] > 1:
            # A reader that has seen enough must not end this process before those that it started.
            signal.signal(signal.SIGPIPE, signal.SIG_IGN)
        how = {"jobs": options["jobs"], "named": options["named"]}
        try:
            code = run(orders, options["catalogue"], self.stdout, self.stderr, finish, timezone.localdate(), **how)
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nothing is left to be written at the end
            code = ENDED_BY_THE_READER
        if code:
            sys.exit(code)


def _jobs(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST_JOBS:
        raise ArgumentTypeError(f"write how many processes, from 1 to {MOST_JOBS}")
    return int(text)
