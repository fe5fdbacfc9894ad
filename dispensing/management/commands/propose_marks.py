"""``manage.py propose_marks PHOTO …``: the marks surely found on each photo, one ``photo-proposal/1`` a line."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from dispensing.fitting.propose_command import run
from dispensing.fitting.seeing.whereabouts import FrameSizes

MOUNTS = ("full_rim", "grooved", "drilled")


class Command(BaseCommand):
    help = "Propose marks on front photos: one photo-proposal/1 a line. Exit code 0, or 2 for a file that is no photo."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("photos", nargs="+", metavar="PHOTO", help="a JPEG, PNG, WebP or HEIC file")
        for size, words in (("a", "A"), ("b", "B"), ("dbl", "DBL")):
            parser.add_argument(
                f"--{size}", type=float, metavar="MM", help=f"{words} of the frame; without all, no sides"
            )

        parser.add_argument("--mount", choices=MOUNTS, help="how its lenses are held; full_rim unless told")

    def handle(self, *args: Any, **options: Any) -> None:
        sizes = [options[size] for size in ("a", "b", "dbl")]
        if any(size is not None and not 0 < size < float("inf") for size in sizes):
            raise CommandError("A, B and DBL are lengths in mm, more than 0.", returncode=2)
        frame = None if None in sizes else FrameSizes(sizes[0], sizes[1], sizes[2], options["mount"])
        exit_code = run(options["photos"], frame, self.stdout, self.stderr)
        if exit_code:
            sys.exit(exit_code)
