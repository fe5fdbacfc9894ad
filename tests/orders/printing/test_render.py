"""One order in all its forms, from the document alone and always the same."""

from __future__ import annotations

import io
import json
from typing import Any

import pikepdf
import pytest

from orders.documents.canonical import canonical_bytes
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.documents.records import records
from orders.printing.render import KINDS, render
from orders.rules import check
from tests.contract.documents import a_catalogue, an_order

pytestmark = pytest.mark.paper

ORDER = parse_order(json.dumps(an_order()))
CATALOGUE = parse_catalogue(json.dumps(a_catalogue()))


def test_the_document_is_its_canonical_text_and_reads_back_as_the_same_order() -> None:
    assert render(ORDER, "json") == canonical_bytes(ORDER)
    assert parse_order(render(ORDER, "json")) == ORDER


def test_fhir_and_records_are_made_from_the_document() -> None:
    assert json.loads(render(ORDER, "fhir"))["resourceType"] == "Bundle"
    assert render(ORDER, "records") == records(ORDER)


def test_the_pdf_holds_the_document_with_or_without_a_report() -> None:
    ways: list[dict[str, Any]] = [{}, {"catalogue": CATALOGUE, "report": check(ORDER, CATALOGUE)}]
    for also in ways:
        pdf = pikepdf.open(io.BytesIO(render(ORDER, "pdf", **also)))
        assert pdf.attachments["order.json"].get_file().read_bytes() == render(ORDER, "json")


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_order_gives_the_same_bytes(kind: Any) -> None:
    assert render(ORDER, kind) == render(ORDER, kind)
