"""``manage.py read_order FILE.pdf``: the order inside a lab-order PDF, byte for byte, without a database or server."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from dispensing.documents import InvalidDocument
from orders.documents.inside_pdf import CHANGED, NoOrderInside, file_content, order_inside
from orders.documents.lens_order import parse_order
from orders.rules.command import tell
from orders.rules.order_sources import STANDARD_INPUT

HOLDS, CHANGED_SINCE, NONE_INSIDE = 0, 1, 2


class Command(BaseCommand):
    help = (
        "Print the lens-order/1 inside a lab-order PDF exactly as it was attached. Exit code 0: it fits the hash that "
        "the PDF states, 1: it does not, 2: there is no order in the file, or not one that can be read."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE.pdf", help="- reads the PDF from standard input")

    def handle(self, *args: Any, **options: Any) -> None:
        code = self._print(STANDARD_INPUT if options["file"] == "-" else options["file"])
        if code:
            sys.exit(code)

    def _print(self, path: str) -> int:
        try:
            found = order_inside(file_content(path))
            if found.holds:
                parse_order(found.text)
        except InvalidDocument as invalid:
            tell(path, invalid, self.stderr)
            return NONE_INSIDE
        except NoOrderInside as error:
            self.stderr.write(f"{path} {error}.")
            return NONE_INSIDE
        sys.stdout.buffer.write(found.text)
        sys.stdout.buffer.flush()
        if not found.holds:
            self.stderr.write(f"{path} {CHANGED}.")
            return CHANGED_SINCE
        return HOLDS
