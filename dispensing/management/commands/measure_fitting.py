"""``manage.py measure_fitting POINTS.json …``: measures the marks in each file, one ``fitting/1`` per line."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from dispensing.fitting.command import run


class Command(BaseCommand):
    help = "Measure marked photos: one fitting/1 a line. Exit code 0, or 2 if any file is not valid."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("points", nargs="+", metavar="POINTS.json", help="a fitting-points/1 file")
        parser.add_argument("--combine", action="store_true", help="one result for all files of the same sheet")

    def handle(self, *args: Any, **options: Any) -> None:
        exit_code = run(options["points"], self.stdout, self.stderr, combine=options["combine"])
        if exit_code:
            sys.exit(exit_code)
