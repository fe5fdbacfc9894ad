"""``manage.py schemas --to DIR``: the JSON Schemas of all formats, one file each. Needs no database."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from orders.documents.json_schemas import FORMATS, file_name, schema_of


class Command(BaseCommand):
    help = "Write the JSON Schemas (2020-12) of all formats to a folder."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", required=True, metavar="DIR", help="made if it is not there")

    def handle(self, *args: Any, **options: Any) -> None:
        for path in _written(Path(options["to"])):
            self.stdout.write(str(path))


def _written(folder: Path) -> list[Path]:
    """Write all the schemas and report where they are."""
    paths = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for format_name in FORMATS:
            path = folder / file_name(format_name)
            path.write_text(json.dumps(schema_of(format_name), indent=2, ensure_ascii=False) + "\n", "utf-8")
            paths.append(path)
    except OSError as error:
        raise CommandError(f"{folder} cannot be written: {error.strerror}.", returncode=2) from error
    return paths
