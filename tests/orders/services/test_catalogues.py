"""Taking in a catalogue: every fault with its path, nothing half done, and one in use per lab."""

from __future__ import annotations

import json
from typing import Any

import pytest

from dispensing.documents import InvalidDocument
from dispensing.models import AuditEvent
from orders.models import Catalogue, Order
from orders.services.catalogues import import_catalogue
from orders.services.labs import add_lab, change_lab
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def faults(content: bytes) -> list[str]:
    with pytest.raises(InvalidDocument) as refused:
        import_catalogue(lab=add_lab(actor=None, name="Quay Street Lab"), content=content, actor=None)
    assert not Catalogue.objects.exists()
    return [str(fault) for fault in refused.value.faults]


def with_design(**changes: Any) -> bytes:
    return shop.catalogue_bytes(designs=[{**shop.CATALOGUE["designs"][0], **changes}])


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"not json", "$: is not JSON"),
        (b"\xff\xfe", "$: is not UTF-8 text"),
        (b"[]", "$: must be an object, found a list"),
        (
            shop.catalogue_bytes(format="lens-catalogue/2"),
            "$.format: is 'lens-catalogue/2'; this file must say \"lens-",
        ),
        (shop.catalogue_bytes(colour="red"), "$.colour: unknown key"),
        (with_design(shpere=[-1, 1]), "$.designs[0].shpere: unknown key"),
        (with_design(kind="multifocal"), "$.designs[0].kind: unknown word 'multifocal'"),
        (with_design(materials=["m160", "glass"]), '$.designs[0].materials[1]: there is no material "glass"'),
        (with_design(sphere=[4, -4]), "$.designs[0].sphere: runs from 4 to -4"),
        (shop.catalogue_bytes(lab="Other Lab"), '$.lab: is "Other Lab"; this catalogue is being imported for "Quay'),
        (shop.catalogue_bytes(materials=shop.CATALOGUE["materials"] * 2), '$.materials[1].id: "m160" appears twice'),
        (
            shop.catalogue_bytes(treatments=[{**shop.CATALOGUE["treatments"][0], "excludes": ["tint"]}]),
            '$.treatments[0].excludes[0]: there is no treatment "tint"',
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_catalogue_that_is_not_right_is_refused_with_the_path_of_the_fault(content: Any, fault: str) -> None:
    assert any(found.startswith(fault) for found in faults(content)), faults


def test_all_faults_are_told_at_once() -> None:
    assert len(faults(shop.catalogue_bytes(colour="red", size=1))) == 2


def test_a_newer_catalogue_takes_the_place_of_the_older_and_drafts_follow() -> None:
    lab, order = shop.lab(), shop.draft()
    old = there(order.catalogue)
    new = import_catalogue(lab=lab, content=shop.catalogue_bytes(issued_on="2026-12-01"), actor=shop.dispenser())
    old.refresh_from_db()
    assert (old.in_use, new.in_use) == (False, True)
    assert Order.objects.get(pk=order.pk).catalogue == new
    assert json.loads(new.text)["issued_on"] == "2026-12-01"
    assert AuditEvent.objects.filter(verb="catalogue.import", actor=shop.dispenser()).exists()


def test_the_same_catalogue_again_comes_back_into_use_without_a_second_row() -> None:
    lab = shop.lab()
    first = lab.catalogues.get()
    import_catalogue(lab=lab, content=shop.catalogue_bytes(issued_on="2026-12-01"), actor=None)
    again = import_catalogue(lab=lab, content=shop.catalogue_bytes(), actor=None)
    assert again == first
    assert [catalogue.in_use for catalogue in lab.catalogues.order_by("pk")] == [True, False]


def test_a_change_of_a_lab_is_told_on_the_audit_trail_field_by_field() -> None:
    lab = shop.lab()
    change_lab(lab=lab, actor=shop.dispenser(), email="new@quay-street.invalid", name=lab.name)
    assert AuditEvent.objects.get(verb="lab.change").changes == {
        "email": ["orders@quay-street.invalid", "new@quay-street.invalid"]
    }
