"""``manage.py export_orders --as json|pdf|fhir|records --to FOLDER``: every sent order, a file each.

Goes on where it was broken off, and leaves what it wrote before as it is. Only one batch is in memory at a time; how
far it is goes to stderr.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from dispensing.doctor.walk import Place, Walk
from dispensing.management.commands.doctor import a_day
from orders.management.commands.export_order import exported
from orders.models import OrderDocument
from orders.printing.render import KINDS, Kind

ENDINGS: dict[Kind, str] = {"json": ".json", "pdf": ".pdf", "fhir": ".fhir.json", "records": ".txt"}
KEPT = ".export-place.json"


class Command(BaseCommand):
    help = "Write all sent orders to a folder. Exit code 1: some could not be written, each with the reason."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--as", dest="kind", choices=KINDS, default="json")
        parser.add_argument("--to", required=True, metavar="FOLDER", help="is made if it is not there")
        parser.add_argument("--since", type=a_day, metavar="DAY", help="those sent from that day on, as in 2026-11-30")

    def handle(self, *args: Any, **options: Any) -> None:
        folder, kind = Path(options["to"]), options["kind"]
        try:
            folder.mkdir(parents=True, exist_ok=True)
            walk = Walk(since=options["since"], place=Place.kept_in(folder / KEPT), tell=self.stderr.write)
            written, left = self._written(walk, folder, kind)
        except (OSError, ValueError) as error:
            raise CommandError(f"{folder} cannot be used ({error}).", returncode=2) from error
        walk.place.forget()
        self.stdout.write(f"{written:,} {'order' if written == 1 else 'orders'} written to {folder}.")
        if left:
            raise CommandError("\n".join(["Not written:", *left]))

    def _written(self, walk: Walk, folder: Path, kind: Kind) -> tuple[int, list[str]]:
        """How many were written, and which were not, with the reason."""
        sent, done = OrderDocument.objects.only("number", "revision"), 0
        left: list[str] = []
        for batch in walk.over(kind, sent if walk.since is None else sent.filter(frozen_at__gte=walk.since)):
            for one in batch:
                path = folder / f"{one.number}-{one.revision}{ENDINGS[kind]}"
                if path.exists():
                    continue
                try:
                    _write_whole(path, exported(OrderDocument.objects.get(pk=one.pk), kind))
                    done += 1
                except CommandError as refused:
                    left.append(str(refused))
        return done, left


def _write_whole(path: Path, content: bytes) -> None:
    """So that a file that is there is complete, also if we are stopped at this moment."""
    part = path.with_name(f".{path.name}.part")
    part.write_bytes(content)
    part.replace(path)
