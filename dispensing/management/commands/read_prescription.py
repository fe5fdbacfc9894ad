"""``manage.py read_prescription FILE …``: reads prescriptions off pictures and PDFs, a line each."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from dispensing.recognition.command import run


class Command(BaseCommand):
    help = (
        "Read prescriptions off pictures and PDFs: one prescription-reading/1 a line. What is not sure is null or "
        "marked. Exit code 0, or 2 if any file is no picture or PDF that can be read."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("files", nargs="+", metavar="FILE", help="JPEG, PNG, WebP, HEIC or PDF")
        parser.add_argument(
            "--month-first", action="store_true", default=None, help="04/02/1968 is 2 April, as in the US"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        exit_code = run(options["files"], self.stdout, self.stderr, options["month_first"])
        if exit_code:
            sys.exit(exit_code)
