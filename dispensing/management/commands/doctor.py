"""``manage.py doctor``: what is missing on this machine or wrong with it, one line each, ending in what to do.

Exit code 0: nothing wrong; 1: something is. Works when the database is down. Whole tables are gone over in batches, how
far it is goes to stderr, and where it was broken off is kept in the data folder.
"""

from __future__ import annotations

import sys
from argparse import ArgumentTypeError
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.module_loading import autodiscover_modules

from dispensing.doctor.registry import Level, check_ids, diagnose
from dispensing.doctor.walk import Place, Walk

HASH_LETTERS = 64


class Command(BaseCommand):
    help = "Says what is missing on this machine or wrong with it, and what to do about it."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--only", action="append", default=[], metavar="CHECK", help="may be repeated")
        since = "of what is only ever added look at what was written from that day on, as in 2026-11-30"
        parser.add_argument("--since", type=a_day, metavar="DAY", help=since)
        parser.add_argument("--go-on", action="store_true", help="from where the doctor was broken off last time")
        kept = "a seal that was noted elsewhere, as the mail has it; may be repeated"
        parser.add_argument("--head", action="append", type=_head, default=[], metavar="NUMBER:HASH", help=kept)

    def handle(self, *args: Any, **options: Any) -> None:
        autodiscover_modules("doctor")
        unknown = sorted(set(options["only"]) - set(check_ids()))
        if unknown:
            raise CommandError(f"There is no check {unknown[0]}; those are {', '.join(check_ids())}.")
        levels = set()
        for check_id, diagnosis in diagnose(self._walk(**options), options["only"]):
            levels.add(diagnosis.level)
            self.stdout.write(f"{diagnosis.level:<6}{check_id}: {diagnosis.said}. {diagnosis.to_do}")
        if Level.WRONG in levels:
            sys.exit(1)

    def _walk(self, *, since: datetime | None, go_on: bool, head: list[tuple[int, str]], **_: Any) -> Walk:
        path = Path(settings.DATA_DIR) / "doctor-place.json"
        try:
            place = Place.kept_in(path) if go_on else Place(path)
        except (ValueError, KeyError, OSError) as fault:
            raise CommandError(f"{path} cannot be read ({fault}); call the doctor without --go-on.") from fault
        return Walk(since=since, heads=tuple(head), place=place, tell=self._tell)

    def _tell(self, said: str) -> None:
        """How far it is, beside the diagnoses and not among them."""
        self.stderr.write(said)


def a_day(text: str) -> datetime:
    """The beginning of the day, as an argument of a command. Raises `ArgumentTypeError`."""
    try:
        return timezone.make_aware(datetime.fromisoformat(text))
    except ValueError:
        raise ArgumentTypeError(f"{text} is no day, as in 2026-11-30") from None


def _head(text: str) -> tuple[int, str]:
    number, _, sha256 = text.partition(":")
    if not number.isdecimal() or len(sha256) != HASH_LETTERS:
        raise ArgumentTypeError(f"{text} is no number and hash of a seal, as the mail has them")
    return int(number), sha256
