"""``manage.py load_catalogue FILE``: look at a lab's catalogue beside the one in use; with ``--use`` take it into use.

The lab is the one that the file names. Without ``--use`` nothing is used, and what differs is printed.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from dispensing.access import can
from dispensing.documents import InvalidDocument, NotJson, read_json
from dispensing.models import StaffUser
from dispensing.roles import Ability
from orders.models import Catalogue, Lab
from orders.queries import lab_named
from orders.services.catalogue_looks import Look, look_at
from orders.services.catalogues import NotConfirmed, take_in, use_catalogue


class Command(BaseCommand):
    help = "Look at a catalogue, and take it into use. Exit code 1: something is not confirmed; 2: it is not valid."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="CATALOGUE.json")
        parser.add_argument("--by", required=True, metavar="SIGN-IN-NAME", help="the manager who looks at it")
        parser.add_argument("--use", action="store_true", help="take it into use, or put it back")
        parser.add_argument(
            "--confirm", action="append", default=[], metavar="PATH", help="an unusual figure that is right; repeatable"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        actor = _manager(options["by"])
        catalogue = _taken_in(Path(options["file"]), actor)
        look = look_at(catalogue)
        for line in _lines(look):
            self.stdout.write(line)
        if options["use"]:
            try:
                use_catalogue(catalogue=catalogue, actor=actor, confirmed=options["confirm"], beside=look.beside)
            except NotConfirmed as refused:
                lines = [f"--confirm '{doubt.path}'  {doubt.says}" for doubt in refused.doubts]
                raise CommandError("\n".join(["Not used. Confirm what is right:", *lines]), returncode=1) from refused
            self.stdout.write("It is in use.")


def _manager(name: str) -> StaffUser:
    actor = StaffUser.objects.filter(username=name, is_active=True).first()
    if actor is None or not can(actor, Ability.LAB_EDIT):
        raise CommandError(f"{name} is no manager here.", returncode=2)
    return actor


def _taken_in(path: Path, actor: StaffUser) -> Catalogue:
    try:
        content = path.read_bytes()
        return take_in(lab=_lab(content), content=content, actor=actor)
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.", returncode=2) from error
    except NotJson as error:
        raise CommandError(f"{path} {error}", returncode=2) from error
    except InvalidDocument as refused:
        raise CommandError("\n".join(f"{path}: {fault}" for fault in refused.faults), returncode=2) from refused


def _lab(content: bytes) -> Lab:
    values = read_json(content)
    name = values.get("lab") if isinstance(values, dict) else None
    lab = lab_named(name) if isinstance(name, str) else None
    if lab is None:
        raise CommandError("No lab here has the name that this catalogue gives.", returncode=2)
    return lab


def _lines(look: Look) -> Iterator[str]:
    for change in look.changes:
        yield f"{change.how}: {change.about} of {change.name}" + (f": {change.says}" if change.says else "")
    if look.beside is None:
        yield "There is nothing to compare it with."
    elif not look.changes:
        yield "Nothing differs that an order could notice."
    for doubt in look.doubts:
        yield f"unusual: {doubt.path}: {doubt.says}"
    yield f"Open drafts: {look.drafts}; touched: {look.touched_count}; newly stopped: {look.stopped}."
