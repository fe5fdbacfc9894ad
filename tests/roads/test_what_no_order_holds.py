"""What the order desk may not store, no other way may: a program and a remedy are judged by the desk's own forms.

Other orders, of the patient and of other people, stand beside the draft; nothing in them changes either.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from pytest_django import Settings
from rest_framework.test import APIClient

from dispensing.models import AuditEvent
from orders.models import Lab, Order
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.lab_users import issue_lab_token
from orders.services.sending import send_order
from tests.dispensing.api.callers import based_on, caller, faults
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import change, page_of, settle, text_of
from tests.people import person, signed_in
from tests.roads.stored import all_stored

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]
YESTERDAY = (timezone.localdate() - timedelta(days=1)).isoformat()
LENSES = {"right": {**shop.LENS, "base_curve_d": 4.0}, "left": {**shop.LENS, "blank_mm": 70.0, "colour": "grey"}}
PATIENT, STRANGER = "P-90001", "P-90012"


def draft() -> Order:
    """Both lenses with choices of their own, so that the desk shows a form for each."""
    return shop.draft(lenses=LENSES, remarks="As before")


def sent(**fields: Any) -> Order:
    order = shop.draft(**fields)
    send_order(order=order, actor=shop.dispenser(), version=1)
    return Order.objects.get(pk=order.pk)


@pytest.fixture(autouse=True)
def bystanders(db: None) -> None:
    sent(patient=shop.patient("P-90020"), remarks="Sent before")
    shop.draft(patient=shop.patient(STRANGER), remarks="A stranger's")
    gone = shop.draft(remarks="Cancelled")
    cancel_order(order=gone, actor=shop.dispenser(), reason="Kept the old pair")


@dataclass(frozen=True)
class Slip:
    """``field`` of the desk, ``path`` in JSON."""

    field: str
    path: str
    value: Any
    said: str

    def asked(self) -> dict[str, Any]:
        """The part of a draft with the slip in it, as a program sends it."""
        if not self.path.startswith("lenses."):
            return {self.path: self.value}
        _, eye, name = self.path.split(".")
        return {"lenses": {**LENSES, eye: {**LENSES[eye], name: self.value}}}

    def __str__(self) -> str:
        return f"{self.path} {str(self.value)[:20]}"


def _lens(name: str, value: Any, said: str) -> list[Slip]:
    return [Slip(f"{eye}-{name}", f"lenses.{eye}.{name}", value, said) for eye in ("right", "left")]


LENS_SLIPS = [
    *_lens("base_curve_d", 99, "99 D cannot be right: 0 to 14 D is possible."),
    *_lens("base_curve_d", 14.1, "14.1 D cannot be right"),
    *_lens("base_curve_d", -0.1, "-0.1 D cannot be right"),
    *_lens("base_curve_d", "flat", "flat is not a number."),
    *_lens("centre_thickness_mm", 0.4, "0.4 mm cannot be right: 0.5 to 25 mm is possible."),
    *_lens("centre_thickness_mm", 25.1, "25.1 mm cannot be right"),
    *_lens("colour", "x" * 5000, "at most 120 characters (it has 5000)"),
    *_lens("instruction", "bend", "bend is not one of the available choices"),
]
JOB_SLIPS = [
    Slip("supply", "supply", "soon", "soon is not one of the available choices"),
    Slip("frame_source", "frame_source", "pigeon", "pigeon is not one of the available choices"),
    Slip("purpose", "purpose", "gift", "gift is not one of the available choices"),
    Slip("needed_on", "needed_on", YESTERDAY, "This day has passed."),
    Slip("remarks", "remarks", "y" * 1001, "at most 1000 characters (it has 1001)"),
]


def changed(order: Order, field: str, typed: Any) -> Any:
    """The draft's page with one field changed, sent back as the browser does."""
    changes: dict[str, Any] = {field.replace("-", "__"): typed}
    return change(order, **changes)


def slot(answer: Any, field: str) -> str:
    """What the desk says in the place of one field."""
    return text_of(answer).split(f'id="slot-{field}"', 1)[1].split("</div>", 1)[0]


def refused_by_program(order: Order, asked: dict[str, Any], road: str = "correct") -> dict[str, str]:
    client = caller()
    if road == "new":
        return faults(client.post(reverse("api-order-list"), {"patient": str(order.patient.public_id), **asked}))
    return faults(client.patch(reverse("api-order-detail", args=[order.public_id]), asked, headers=based_on(1)))


@pytest.mark.parametrize("slip", [*LENS_SLIPS, *JOB_SLIPS], ids=str)
def test_the_desk_tells_of_a_slip_in_its_place_and_keeps_what_was_stored(slip: Slip) -> None:
    order = draft()
    before = all_stored()
    answer = changed(order, slip.field, str(slip.value))
    assert slip.said in slot(answer, slip.field)
    assert all_stored() == before
    assert not AuditEvent.objects.filter(verb="order.save").exists()


@pytest.mark.parametrize("road", ["new", "correct"])
@pytest.mark.parametrize("slip", [*LENS_SLIPS, *JOB_SLIPS], ids=str)
def test_a_program_is_refused_the_same_slip_in_the_same_words_by_its_path(slip: Slip, road: str) -> None:
    order = draft()
    before = all_stored()
    asked = slip.asked() | ({"lab": str(there(order.lab).public_id)} if road == "new" else {})
    told = refused_by_program(order, asked, road)
    assert list(told) == [slip.path]
    assert slip.said in told[slip.path]
    assert all_stored() == before


@pytest.mark.parametrize("slip", [one for one in LENS_SLIPS if isinstance(one.value, int | float)], ids=str)
def test_a_remedy_is_refused_the_same_slip(slip: Slip) -> None:
    order = draft()
    before = all_stored()
    posted = {"change": json.dumps({slip.path: slip.value}), "version": "1"}
    answer = signed_in("ravi").post(reverse("order-apply", args=[order.public_id]), posted)
    assert slip.said in text_of(answer)
    assert all_stored() == before


def of_a_stranger(part: str) -> Any:
    other = shop.patient(STRANGER)
    if part == "prescription":
        return shop.prescription(other)
    return shop.fitting(other, shop.frame())


@pytest.mark.parametrize("part", ["prescription", "fitting"])
def test_the_record_of_another_patient_is_refused_on_both_roads(part: str) -> None:
    order, foreign = draft(), of_a_stranger(part)
    before, said = all_stored(), f"This {part} belongs to another patient."
    assert said in slot(changed(order, part, str(foreign.public_id)), part)
    assert all_stored() == before
    for road in ("new", "correct"):
        assert refused_by_program(draft(), {part: str(foreign.public_id)}, road)[part] == said
    assert Order.objects.filter(**{part: foreign}).count() == 0


def test_a_lab_out_of_use_is_refused_on_both_roads() -> None:
    order = draft()
    closed = Lab.objects.create(name="Closed Lab", active=False)
    before, said = all_stored(), "This lab is not in use. Choose another."
    assert said in slot(change(order, lab=str(closed.public_id)), "lab")
    for road in ("new", "correct"):
        assert refused_by_program(order, {"lab": str(closed.public_id)}, road) == {"lab": said}
        assert all_stored() == before


def cancelled() -> Order:
    order = sent()
    return cancel_order(order=order, actor=shop.dispenser(), reason="Kept the old pair")


REMAKES: list[tuple[str, Callable[[Order], Order], str, str]] = [
    ("never sent", lambda draft: shop.draft(), "Order {number} was never sent, so it cannot be made again.", ""),
    ("itself", lambda draft: draft, "Order {number} was never sent, so it cannot be made again.", ""),
    ("cancelled", lambda draft: cancelled(), "Order {number} was cancelled, so there is no pair to make again.", ""),
    (
        "another patient's",
        lambda draft: sent(patient=shop.patient(STRANGER)),
        "This order belongs to another patient.",
        "This patient has no order {number}. Check the number.",
    ),
]


@pytest.mark.parametrize(("_which", "make", "said", "on_the_desk"), REMAKES, ids=[row[0] for row in REMAKES])
def test_what_may_not_be_made_again_is_refused_on_both_roads(
    _which: str, make: Callable[[Order], Order], said: str, on_the_desk: str
) -> None:
    order = draft()
    original = make(order)
    before, number = all_stored(), original.number
    answer = change(order, purpose="new", remake_of=number)
    assert (on_the_desk or said).format(number=number) in slot(answer, "remake_of")
    assert all_stored() == before
    told = refused_by_program(order, {"remake_of": str(original.public_id)})
    assert told == {"remake_of": said.format(number=number)}
    assert all_stored() == before


def test_the_button_of_a_remake_is_judged_by_the_same_rule() -> None:
    unsent = draft()
    before = all_stored()
    asked = {"cause": "flaw", "whose": "lab", "said": "Scratched"}
    answer = signed_in("ravi").post(reverse("order-remake", args=[unsent.public_id]), asked)
    assert f"Order {unsent.number} was never sent, so it cannot be made again." in text_of(answer)
    assert all_stored() == before


def test_a_revision_is_no_remake_of_what_it_replaces() -> None:
    order = sent()
    revision = amend_order(order=order, actor=shop.dispenser())
    before, said = (
        all_stored(),
        f"This is a revision of order {order.number} and takes its place; it is no remake of it.",
    )
    assert said in slot(changed(revision, "remake_of", order.number), "remake_of")
    again = Order.objects.get(pk=revision.pk)
    address = reverse("api-order-detail", args=[again.public_id])
    asked = {"remake_of": str(order.public_id)}
    assert faults(caller().patch(address, asked, headers=based_on(again.version))) == {"remake_of": said}
    assert all_stored() == before


def test_a_program_names_the_revision_in_force_and_the_desk_finds_it_by_the_number() -> None:
    first = sent()
    second = amend_order(order=first, actor=shop.dispenser())
    send_order(order=second, actor=shop.dispenser(), version=second.version)
    order = draft()
    replaced = refused_by_program(order, {"remake_of": str(first.public_id)})
    assert replaced == {"remake_of": f"Revision 1 of order {first.number} was replaced. Name the newest one."}
    address = reverse("api-order-detail", args=[order.public_id])
    asked = {"remake_of": str(second.public_id), "purpose": "remake"}
    assert caller().patch(address, asked, headers=based_on(1)).status_code == 200
    assert Order.objects.get(pk=order.pk).remake_of == second


NOT_OFFERED = [
    ("design", "sv-x", "sv-x is not offered here. Offered: sv, prog."),
    ("material", "m999", "m999 is not offered here. Offered: m160."),
    ("blank_mm", 64, "64 is not offered here. Offered: 65, 70."),
    ("corridor_mm", 14, "14 is not offered here. Offered: nothing."),
    ("treatments", ["ar", "gold"], "gold is not offered here. Offered: ar."),
]


@pytest.mark.parametrize("eye", ["right", "left"])
@pytest.mark.parametrize(("name", "value", "said"), NOT_OFFERED, ids=[row[0] for row in NOT_OFFERED])
def test_a_lens_that_no_catalogue_offers_vanishes_from_the_desk_and_is_refused_to_a_program(
    eye: str, name: str, value: Any, said: str
) -> None:
    order = draft()
    before = all_stored()
    asked = {"lenses": {**LENSES, eye: {**LENSES[eye], name: value}}}
    assert refused_by_program(order, asked) == {f"lenses.{eye}.{name}": said}
    assert all_stored() == before
    changed(order, f"{eye}-{name}", value)
    kept = Order.objects.get(pk=order.pk).lenses
    assert kept[eye].get(name) in (None, ["ar"])
    other = "left" if eye == "right" else "right"
    assert kept[other] == LENSES[other]


def test_without_a_lab_nothing_of_a_catalogue_can_be_chosen() -> None:
    order = shop.draft(lab=None, lenses={})
    before = all_stored()
    told = refused_by_program(order, {"lenses": LENSES})
    said = "Choose a lab first: this is chosen from its catalogue."
    assert {path: text for path, text in told.items() if path.startswith("lenses.left")} == {
        "lenses.left.design": said,
        "lenses.left.material": said,
        "lenses.left.treatments": said,
    }
    assert all_stored() == before


def test_a_frame_other_than_that_of_the_fitting_is_refused() -> None:
    order, other = draft(), shop.frame(model="Birch 50")
    before = all_stored()
    told = refused_by_program(order, {"frame": str(other.public_id)})
    assert told == {"frame": "The fitting was taken in another frame, Alder 48 48□19."}
    assert all_stored() == before


def test_what_the_desk_drops_with_a_lab_a_program_drops_too() -> None:
    by_hand, by_program = draft(), draft()
    other = Lab.objects.create(name="Far Lab")
    change(by_hand, lab=str(other.public_id))
    address = reverse("api-order-detail", args=[by_program.public_id])
    assert caller().patch(address, {"lab": str(other.public_id)}, headers=based_on(1)).status_code == 200
    rows = [Order.objects.get(pk=order.pk) for order in (by_hand, by_program)]
    assert (
        rows[0].lenses
        == rows[1].lenses
        == {
            "right": {"treatments": [], "base_curve_d": 4.0},
            "left": {"treatments": [], "colour": "grey"},
        }
    )
    assert [row.catalogue for row in rows] == [None, None]


def test_the_same_draft_is_stored_the_same_by_the_desk_and_by_a_program() -> None:
    by_hand, by_program = draft(), draft()
    change(by_hand, right__base_curve_d="5,25", left__colour="Brown, 15 %", supply="edged", other_pair="no")
    asked = {
        "lenses": {
            "right": {**LENSES["right"], "base_curve_d": 5.25, "corridor_mm": None, "extra": {"design_name": "x"}},
            "left": {**LENSES["left"], "colour": "Brown, 15 %"},
        },
        "supply": "edged",
        "other_pair": False,
    }
    address = reverse("api-order-detail", args=[by_program.public_id])
    assert caller().patch(address, asked, headers=based_on(1)).status_code == 200
    rows = [Order.objects.get(pk=order.pk) for order in (by_hand, by_program)]
    for name in ("lenses", "kept_lens", "supply", "other_pair", "remarks", "frame_source", "version"):
        assert getattr(rows[0], name) == getattr(rows[1], name), name
    assert rows[0].lenses["right"]["base_curve_d"] == 5.25


def test_a_body_too_large_is_refused_on_both_roads(settings: Settings) -> None:
    order = draft()
    page, client = page_of(order), caller()
    before = all_stored()
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 3000
    address = reverse("api-order-detail", args=[order.public_id])
    assert faults(client.patch(address, {"remarks": "x" * 3000}, headers=based_on(1)), 413) == {}
    assert change(order, on=page, remarks="x" * 3000).status_code == 400
    assert all_stored() == before


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("base_curve_d", 99, "99 D cannot be right: 0 to 14 D is possible."),
        ("centre_thickness_mm", 0.4, "0.4 mm cannot be right"),
        ("material", "m" * 61, "at most 60 characters (it has 61)"),
    ],
)
def test_a_slip_in_the_lens_that_stays_is_refused_on_both_roads(name: str, value: Any, said: str) -> None:
    order = shop.draft(lenses={"right": shop.LENS, "left": None}, kept_lens={"material": "1.5", "base_curve_d": 6.0})
    before = all_stored()
    assert said in slot(changed(order, f"kept-{name}", str(value)), f"kept-{name}")
    assert all_stored() == before
    order = Order.objects.get(pk=order.pk)
    address = reverse("api-order-detail", args=[order.public_id])
    told = faults(caller().patch(address, {"kept_lens": {name: value}}, headers=based_on(order.version)))
    assert list(told) == [f"kept_lens.{name}"]
    assert said in told[f"kept_lens.{name}"]
    assert all_stored() == before


EVENTS = [
    ({"kind": "lost"}, "kind", "lost is not one of the available choices"),
    ({"kind": "sent"}, "kind", "sent is not one of the available choices"),
    ({"kind": "note", "note": "x" * 501}, "note", "at most 500 characters (it has 501)"),
]


@pytest.mark.parametrize(("body", "path", "said"), EVENTS, ids=str)
def test_an_event_that_cannot_be_noted_is_refused_on_every_road(body: dict[str, str], path: str, said: str) -> None:
    order = sent()
    before = all_stored()
    page = signed_in("ravi").post(reverse("order-event", args=[order.public_id]), body, follow=True)
    assert said in text_of(page)
    told = faults(caller().post(reverse("api-order-events", args=[order.public_id]), body))
    assert (list(told), said in told[path]) == ([path], True)
    assert all_stored() == before


def test_a_lab_notes_no_more_than_its_own_part() -> None:
    order = sent()
    before = all_stored()
    client = APIClient()
    token = issue_lab_token(lab=there(order.lab), actor=person("ines"))
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    address = reverse("api-lab-order-events", args=[order.public_id])
    assert "received is not one of the available choices" in faults(client.post(address, {"kind": "received"}))["kind"]
    assert "501" in faults(client.post(address, {"kind": "query", "note": "x" * 501}))["note"]
    assert all_stored() == before


@pytest.mark.parametrize(
    ("reason", "said"),
    [("x" * 301, "The reason has 301 characters; at most 300 are allowed."), (" ", "Say why this order")],
)
def test_a_reason_that_cannot_go_with_an_order_is_refused_on_both_roads(reason: str, said: str) -> None:
    patient, frame = shop.patient(), shop.frame(a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    order = shop.draft(frame=frame, fitting=shop.fitting(patient, frame, height_mm_right=25, height_mm_left=25))
    before = all_stored()
    assert said in text_of(settle(order, "blank-size", "right", reason=reason))
    asked = {"rule": "blank-size", "eye": "right", "reason": reason}
    told = faults(caller().post(reverse("api-order-settle", args=[order.public_id]), asked, headers=based_on(1)))
    assert said in told["reason"]
    assert (all_stored(), Order.objects.get(pk=order.pk).version) == (before, 1)
