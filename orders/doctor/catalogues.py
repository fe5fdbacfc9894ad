"""Catalogues and price lists: their text is still the one that was taken in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db.models import QuerySet

from dispensing.doctor.registry import Diagnosis, long_check, ok, wrong
from dispensing.doctor.walk import Walk
from orders.documents.canonical import sha256_hex
from orders.models import Catalogue, PriceList

FEW = 5  # A catalogue has up to 4 MB.


@long_check("catalogues")
def catalogues_are_what_was_taken_in(walk: Walk) -> Iterator[Diagnosis]:
    found = 0
    texts: tuple[tuple[str, QuerySet[Any]], ...] = (
        ("catalogue", Catalogue.objects.select_related("lab")),
        ("price list", PriceList.objects.all()),
    )
    for noun, rows in texts:
        for batch in walk.over(f"{noun}s", rows, batch=FEW):
            for row in batch:
                if sha256_hex(row.text.encode()) != row.sha256:
                    found += 1
                    named = f"{noun} {row.pk}, {row}" if noun == "catalogue" else f"{noun} {row.pk}"
                    yield wrong(f"{named}, does not fit its hash", "Load the file once more, and use that one.")
    if not found:
        seen = walk.seen("catalogues") + walk.seen("price lists")
        yield ok(f"{seen} catalogues and price lists fit their hashes")
