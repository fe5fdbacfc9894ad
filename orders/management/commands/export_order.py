"""``manage.py export_order NUMBER --as json|pdf|fhir|records --to FILE``: an order as it was sent.

JSON and PDF are the stored bytes; FHIR and records are made from the stored JSON. A document whose hash no longer
matches its text is not exported.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from orders.documents.canonical import sha256_hex
from orders.documents.lens_order import parse_order
from orders.documents.records import NotInRecords
from orders.models import OrderDocument
from orders.printing.render import KINDS, Kind, render


class Command(BaseCommand):
    help = "Write a sent order to a file. Exit code 2: there is no such order, or it cannot be written."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("number", metavar="NUMBER")
        parser.add_argument("--as", dest="kind", choices=KINDS, default="json")
        parser.add_argument("--to", required=True, metavar="FILE", help="a file, or - for standard output")
        parser.add_argument("--revision", type=int, help="the newest one unless given")

    def handle(self, *args: Any, **options: Any) -> None:
        content = exported(_stored(options["number"], options["revision"]), options["kind"])
        if options["to"] == "-":
            sys.stdout.buffer.write(content)
            sys.stdout.buffer.flush()
            return
        try:
            Path(options["to"]).write_bytes(content)
        except OSError as error:
            raise CommandError(f"{options['to']} cannot be written: {error.strerror}.", returncode=2) from error


def exported(document: OrderDocument, kind: Kind) -> bytes:
    """The bytes of the export, in the form asked for."""
    text, pdf = document.text.encode(), bytes(document.pdf)
    if sha256_hex(text) != document.sha256 or sha256_hex(pdf) != document.pdf_sha256:
        raise CommandError(
            f"The stored document of {document} does not fit its hash; run manage.py doctor.", returncode=2
        )
    sent = {"json": text, "pdf": pdf}
    try:
        return sent[kind] if kind in sent else render(parse_order(text), kind)
    except NotInRecords as refused:
        raise CommandError(f"{document} does not fit into records. {refused}", returncode=2) from refused


def _stored(number: str, revision: int | None) -> OrderDocument:
    found = OrderDocument.objects.filter(number=number).order_by("-revision")
    if revision is not None:
        found = found.filter(revision=revision)
    try:
        document = found.first()
    except DatabaseError as error:
        raise CommandError(f"The record cannot be read ({error}); run manage.py doctor.", returncode=2) from error
    if document is None:
        which = f"revision {revision} of order {number}" if revision is not None else f"order {number}"
        raise CommandError(f"There is no sent {which}. Drafts are exported once they are sent.", returncode=2)
    return document
