"""Sent documents: each still has the bytes that were sent, belongs to its order and patient, and has who and when."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from dispensing.doctor.registry import Diagnosis, long_check, ok, wrong
from dispensing.doctor.walk import Walk
from orders.documents.canonical import sha256_hex
from orders.models import Catalogue, OrderDocument
from orders.states import OrderState

RESTORE = "Somebody went round the database's locks; restore these rows from a backup."
WALK = "order-documents"
FEW = 50  # A document with its PDF has some 100 kB.
_OWN = ("pk", "number", "revision", "text", "sha256", "pdf", "pdf_sha256", "catalogue_sha256", "frozen_at", "frozen_by")
_OF_ORDER = ("number", "revision", "state", "sent_at", "sent_by", "patient__reference")


@long_check(WALK)
def sent_documents_are_what_was_sent(walk: Walk) -> Iterator[Diagnosis]:
    rows = (
        OrderDocument.objects.all() if walk.since is None else OrderDocument.objects.filter(frozen_at__gte=walk.since)
    )
    catalogues = set(Catalogue.objects.values_list("sha256", flat=True))
    found = 0
    for batch in walk.over(WALK, rows.values(*_OWN, *(f"order__{name}" for name in _OF_ORDER)), batch=FEW):
        for row in batch:
            for said in _wrong_with(row, catalogues):
                found += 1
                yield wrong(f"{row['number']} rev. {row['revision']} {said}", RESTORE)
    if not found:
        yield ok(f"{walk.seen(WALK):,} stored order documents fit their hashes, their orders and their patients")


def _wrong_with(row: dict[str, Any], catalogues: set[str]) -> Iterator[str]:
    if sha256_hex(row["text"].encode()) != row["sha256"]:
        yield "does not fit its hash"
    if sha256_hex(bytes(row["pdf"])) != row["pdf_sha256"]:
        yield "has a PDF that does not fit its hash"
    if row["catalogue_sha256"] and row["catalogue_sha256"] not in catalogues:
        yield "was checked by a catalogue that is not here any more"
    if (row["number"], row["revision"]) != (row["order__number"], row["order__revision"]):
        yield f"belongs to the order {row['order__number']}, or to another revision"
    yield from _not_as_written(row)
    if row["order__state"] == OrderState.DRAFT:
        yield "was sent, and its order is a draft"
    if row["frozen_at"] != row["order__sent_at"]:
        yield "was frozen at another time than its order was sent"
    if row["frozen_by"] != row["order__sent_by"]:
        yield "was frozen by somebody else than sent its order"


def _not_as_written(row: dict[str, Any]) -> Iterator[str]:
    """Where the row and its order say something else than the document itself."""
    try:
        text = json.loads(row["text"])
        written = text["number"], text["revision"], text["patient"]["reference"]
    except (ValueError, KeyError, TypeError):
        yield "cannot be read as an order"
        return
    if written[:2] != (row["number"], row["revision"]):
        yield f"says of itself that it is {written[0]} rev. {written[1]}"
    if written[2] != row["order__patient__reference"]:
        yield f"is for the patient {written[2]}, and its order for {row['order__patient__reference']}"
