"""A sent revision says in its document what it replaces, who ordered it, and by which catalogue it was judged."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest

from dispensing.models import Measurement, Practice, PrescribedEye
from orders.documents.lens_catalogue import parse_catalogue
from orders.documents.lens_order import parse_order
from orders.models import OrderDocument
from orders.printing.content.head import paper_of
from orders.queries import for_page
from orders.rules import check
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.drafts import save_draft
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def send(order: Any) -> OrderDocument:
    order = for_page().get(pk=order.pk)
    return send_order(order=order, actor=shop.dispenser(), version=order.version)


def revised(order: Any) -> Any:
    return amend_order(order=for_page().get(pk=order.pk), actor=shop.dispenser())


def test_a_first_order_replaces_nothing_and_names_who_sent_it_and_the_catalogue() -> None:
    stored = send(shop.draft())
    said = json.loads(stored.text)
    assert "replaces" not in said
    assert said["ordered_by"] == {"name": shop.dispenser().display_name, "registration": None}
    catalogue = there(there(stored.order.lab).catalogues.get(in_use=True))
    assert said["catalogue"] == {"issued_on": "2026-11-01", "sha256": catalogue.sha256}


def test_a_revision_names_the_one_before_it_by_its_hash_with_what_is_different() -> None:
    first = send(shop.draft())
    other = send(shop.draft(patient=shop.patient("P-90002")))
    draft = revised(first.order)
    Measurement.objects.filter(fitting=draft.fitting, eye="right", quantity="pd_mm").update(value=Decimal("31.5"))
    Measurement.objects.filter(fitting=draft.fitting, quantity="binocular_pd_mm").update(value=Decimal(63))
    second = json.loads(send(draft).text)
    assert (second["number"], second["revision"]) == (first.number, 2)
    assert second["replaces"]["revision"] == 1
    assert second["replaces"]["sha256"] == first.sha256 != other.sha256
    told = [(one["field"], one["from"], one["to"]) for one in second["replaces"]["changes"]]
    assert told == [("fitting.right.pd_mm", 32, 31.5), ("fitting.binocular_pd_mm", 63.5, 63)]


def test_a_third_revision_replaces_the_second_and_not_the_first() -> None:
    first = send(shop.draft())
    second = send(revised(first.order))
    draft = revised(second.order)
    save_draft(order=draft, actor=shop.dispenser(), version=draft.version, fields={"remarks": "Mind the hinge."})
    third = json.loads(send(draft).text)
    assert third["replaces"]["sha256"] == second.sha256
    assert [one["field"] for one in third["replaces"]["changes"]] == ["remarks"]
    assert json.loads(second.text)["replaces"] == {"revision": 1, "sha256": first.sha256, "changes": []}


def test_a_revision_replaces_what_the_lab_may_have_even_if_that_was_cancelled_meanwhile() -> None:
    first = send(shop.draft())
    draft = revised(first.order)
    cancel_order(order=for_page().get(pk=first.order.pk), actor=shop.dispenser(), reason="Wrong frame.")
    assert json.loads(send(draft).text)["replaces"]["sha256"] == first.sha256


def test_what_is_private_stays_here_unless_the_check_rests_on_it_and_the_lab_finds_the_same() -> None:
    draft = shop.draft(patient=shop.patient("P-90003", driver=True))
    PrescribedEye.objects.filter(prescription=draft.prescription).update(acuity="6/6")
    stored = send(draft)
    said = json.loads(stored.text)
    assert said["patient"]["driver"] is None
    assert {said["prescription"][eye]["acuity"] for eye in ("right", "left")} == {None}
    assert said["patient"]["born_on"] == "1985-04-02", "rules about age and dates rest on it"
    catalogue = parse_catalogue(there(there(stored.order.lab).catalogues.get(in_use=True)).text)
    assert check(parse_order(stored.text), catalogue).verdict == json.loads(stored.report)["verdict"]
    assert there(draft.prescription).eyes.filter(acuity="6/6").count() == 2, "the record keeps it"


def test_only_an_urgent_order_says_that_it_is() -> None:
    urgent = json.loads(send(shop.draft(priority="urgent")).text)
    usual = json.loads(send(shop.draft(patient=shop.patient("P-90004"))).text)
    assert urgent["extra"] == {"priority": "urgent"}
    assert "extra" not in usual


@pytest.mark.parametrize(("chosen", "paper"), [("", "A4"), ("letter", "letter")])
def test_the_paper_that_the_practice_chose_goes_with_the_order(chosen: str, paper: str) -> None:
    shop.practice()
    Practice.objects.update(paper=chosen, country="GB")
    document = parse_order(send(shop.draft()).text)
    assert paper_of(document) == paper
    assert ("paper" in there(document.practice.extra)) is bool(chosen)
