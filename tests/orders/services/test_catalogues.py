"""Taking in a catalogue: every fault with its path, nothing half done, and one in use per lab."""

from __future__ import annotations

import json
from typing import Any

import pytest

from dispensing.documents import InvalidDocument
from dispensing.models import AuditEvent
from orders.models import Catalogue, Order
from orders.services.catalogue_looks import look_at
from orders.services.catalogues import AnotherInUse, NotConfirmed, import_catalogue, take_in, use_catalogue
from orders.services.judging import judge
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
        (with_design(sphere=[4, -4]), "$.designs[0].sphere: runs from 4 to −4"),
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


def heavy(density: float = 4.5, **changes: Any) -> bytes:
    """A catalogue with a material heavier than any usual one."""
    return shop.catalogue_bytes(materials=[{**shop.CATALOGUE["materials"][0], "density_g_cm3": density}], **changes)


DENSITY = "$.materials[0].density_g_cm3"


def test_a_catalogue_taken_in_is_kept_and_not_used_until_somebody_does() -> None:
    lab, order = shop.lab(), shop.draft()
    first, taken = there(order.catalogue), take_in(lab=lab, content=heavy(), actor=shop.dispenser())
    assert take_in(lab=lab, content=heavy(), actor=None) == taken
    assert (taken.in_use, taken.used_at, there(taken.imported_by)) == (False, None, shop.dispenser())
    assert Order.objects.get(pk=order.pk).catalogue == first
    assert lab.catalogues.get(in_use=True) == first
    assert AuditEvent.objects.filter(verb="catalogue.import", record_id=lab.public_id).count() == 2


def test_what_is_unusual_is_confirmed_one_by_one_and_who_did_is_kept() -> None:
    lab, other = shop.lab(), shop.lab("Far Lab")
    first = lab.catalogues.get()
    taken = take_in(lab=lab, content=heavy(issued_on="2026-10-01"), actor=None)
    with pytest.raises(NotConfirmed) as refused:
        use_catalogue(catalogue=taken, actor=shop.dispenser(), confirmed=[DENSITY])
    assert [doubt.path for doubt in refused.value.doubts] == ["$.issued_on"]
    assert lab.catalogues.get(in_use=True) == first
    used = use_catalogue(catalogue=taken, actor=shop.dispenser(), confirmed=[DENSITY, "$.issued_on"])
    assert [(entry["path"], entry["by"]) for entry in used.confirmed] == [
        ("$.issued_on", "Dana Okafor"),
        (DENSITY, "Dana Okafor"),
    ]
    assert used.confirmed[1]["says"] == "Density of the material “1.60” is 4.5 g/cm³; usual is 1 to 4.1 g/cm³."
    assert lab.catalogues.get(in_use=True) == used
    event = AuditEvent.objects.filter(verb="catalogue.use", record_id=lab.public_id).latest("pk")
    assert event.changes["sha256"] == [first.sha256, used.sha256]
    assert event.changes["issued_on"] == ["2026-11-01", "2026-10-01"]
    assert "Density of the material" in event.changes["confirmed"][1]
    assert other.catalogues.get().in_use


def test_the_last_one_is_put_back_without_asking_again_and_drafts_are_judged_by_it() -> None:
    lab, order = shop.lab(), shop.draft()
    first = import_catalogue(lab=lab, content=heavy(), actor=shop.dispenser(), confirmed=[DENSITY])
    narrow = {**shop.CATALOGUE["designs"][0], "sphere": [-1.0, 1.0]}
    second = import_catalogue(lab=lab, content=shop.catalogue_bytes(designs=[narrow]), actor=None)
    in_range = [part.rule for part in judge(Order.objects.get(pk=order.pk)).found.findings if part.level == "stop"]
    assert "in-range" in in_range
    back = use_catalogue(catalogue=first, actor=shop.dispenser(), beside=second)
    assert back.text.encode() == heavy()
    assert len(back.confirmed) == 1
    now = Order.objects.get(pk=order.pk)
    assert now.catalogue == first
    assert "in-range" not in [part.rule for part in judge(now).found.findings]
    event = AuditEvent.objects.filter(verb="catalogue.use").latest("pk")
    assert event.changes["sha256"] == [second.sha256, first.sha256]


def test_nothing_is_used_that_was_looked_at_beside_another_than_the_one_in_use() -> None:
    lab = shop.lab()
    first = lab.catalogues.get()
    second = import_catalogue(lab=lab, content=shop.catalogue_bytes(issued_on="2026-12-01"), actor=None)
    third = take_in(lab=lab, content=shop.catalogue_bytes(issued_on="2026-12-02"), actor=None)
    with pytest.raises(AnotherInUse):
        use_catalogue(catalogue=third, actor=None, beside=first)
    assert lab.catalogues.get(in_use=True) == second
    assert use_catalogue(catalogue=third, actor=None, beside=second).in_use


def test_a_look_says_which_drafts_are_touched_and_what_would_stop_them() -> None:
    lab, order = shop.lab(), shop.draft()
    elsewhere = shop.draft(lab=shop.lab("Far Lab"))
    progressive = shop.draft(lenses={"right": {"design": "prog", "material": "m160"}, "left": None})
    narrow = {**shop.CATALOGUE["designs"][0], "sphere": [-1.0, 1.0]}
    content = shop.catalogue_bytes(designs=[narrow, shop.CATALOGUE["designs"][1]])
    look = look_at(take_in(lab=lab, content=content, actor=None))
    assert (look.beside, look.drafts, look.touched_count, look.stopped) == (there(order.catalogue), 2, 1, 1)
    assert [(one.name, one.says) for one in look.changes] == [("Single vision", "sphere: −10 to 8 D, now −1 to 1 D")]
    (touched,) = look.touched
    assert touched.order == order
    assert {(part.rule, part.eye) for part in touched.stops} == {("in-range", "right"), ("in-range", "left")}
    assert elsewhere.pk != progressive.pk
    assert Order.objects.get(pk=order.pk).catalogue == look.beside


def test_a_look_at_the_one_in_use_tells_what_it_replaced() -> None:
    lab = shop.lab()
    first = lab.catalogues.get()
    assert look_at(first).beside is None
    second = import_catalogue(lab=lab, content=shop.catalogue_bytes(treatments=[]), actor=None)
    look = look_at(second)
    assert look.beside == first
    assert [(one.how, one.about, one.name) for one in look.changes] == [("gone", "treatment", "Anti-reflection")]
    assert look.doubts == ()


def test_a_change_of_a_lab_is_told_on_the_audit_trail_field_by_field() -> None:
    lab = shop.lab()
    change_lab(lab=lab, actor=shop.dispenser(), email="new@quay-street.invalid", name=lab.name)
    assert AuditEvent.objects.get(verb="lab.change").changes == {
        "email": ["orders@quay-street.invalid", "new@quay-street.invalid"]
    }
