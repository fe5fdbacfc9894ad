"""What is made is what the pair is for, from the desk to the lab's paper, and the practice may carry a power itself."""

from __future__ import annotations

import json
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from orders.documents.fhir import fhir_bundle
from orders.documents.lens_order import parse_order
from orders.documents.order_report import OrderReport
from orders.documents.records import records
from orders.models import Order, OrderDocument
from orders.printing.content.lab_order import lab_order_content
from orders.rules import check
from orders.rules.command import plain
from orders.services.judging import NO_CATALOGUE, judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from tests.dispensing.api.callers import based_on, caller
from tests.orders import shop
from tests.orders.views.desk import HTMX, change, page_of, stored, text_of
from tests.people import signed_in

pytestmark = pytest.mark.django_db

READER: dict[str, Any] = {
    "right": {"sphere": 1.75, "cylinder": -0.5, "axis": 90, "add": 2.5},
    "left": {"sphere": 1.25, "add": 2.5},
}


def reader(**fields: Any) -> Order:
    """A draft in single vision for somebody of 66, +1.75 −0.50 × 90 and +1.25 with an add of +2.50, used to both."""
    person = shop.patient("P-90066", born_on="1960-04-02")
    written = shop.prescription(person, **READER, use="distance_and_near")
    frame = shop.frame()
    fitting = shop.fitting(person, frame, near_pd_mm_right=29.5, near_pd_mm_left=29.0)
    return shop.draft(patient=person, prescription=written, frame=frame, fitting=fitting, **fields)


def sent(order: Order) -> OrderDocument:
    """Sent, with every question confirmed."""
    for part in judge(order).open_findings:
        lift(order=order, actor=shop.dispenser(), version=order.version, rule=part.rule, eye=part.eye, reason="Told")
        order.refresh_from_db()
    return send_order(order=order, actor=shop.dispenser(), version=order.version)


def text_in(rows: str, cell: str) -> bool:
    return f"<td>{cell}</td>" in rows or f"<td><strong>{cell}</strong></td>" in rows


def powers_on(html: str) -> str:
    start = html.index('id="powers-title"')
    return html[start : html.index("</section>", start)]


def test_choosing_the_use_changes_the_power_that_is_made_and_the_pd_it_is_centred_by() -> None:
    order, bystander = reader(), shop.draft()
    before = page_of(order)
    assert "As the prescription: distance and near" in before
    assert text_in(powers_on(before), "+1.75 −0.50 × 90")

    answer = text_of(change(order, use="near"))

    assert stored(order).use == "near"
    assert stored(bystander).use == ""
    ordered = powers_on(answer)
    assert text_in(ordered, "+1.75 −0.50 × 90, add +2.50")
    assert text_in(ordered, "+4.25 −0.50 × 90")
    assert text_in(ordered, "+3.75")
    assert text_in(ordered, "with the add")
    assert text_in(ordered, "29.5 mm, near")
    assert text_in(ordered, "29.0 mm, near")
    assert "For near. Back vertex powers for the test&#x27;s vertex distance (12.0 mm)" in ordered


def test_the_sent_order_says_in_every_form_what_is_made() -> None:
    document = sent(reader(use="near"))
    order = parse_order(document.text)

    right = json.loads(document.text)["lenses"]["right"]
    assert right["power"] == {"sphere": 4.25, "cylinder": -0.5, "axis": 90, "prism": []}
    assert (order.use, order.power_basis, order.prescription.right.sphere) == ("near", "as_prescribed", 1.75)

    report = OrderReport.model_validate_json(document.report)
    assert report.computed.right.pd_used_mm == 29.5
    table = lab_order_content(order, report, document.sha256).tables[0]
    assert table.title == "To be made"
    assert table.rows[0][:7] == ("R", "+4.25", "-0.50", "90", "–", "–", "29.5 near")
    assert table.rows[1][:2] == ("L", "+3.75")
    assert table.note.startswith(
        "For near. Back vertex powers for the test's vertex distance (12.0 mm), not compensated"
    )

    lines = records(order).decode().split("\r\n")
    assert {"SPH=4.25;3.75", "IPD=29.50;29.00"} <= set(lines)
    assert not any(line.startswith("ADD=") for line in lines)

    (specification, _) = fhir_bundle(order)["entry"][1]["resource"]["lensSpecification"]
    assert specification["sphere"] == Decimal("1.75")
    notes = [note["text"] for note in specification["note"]]
    assert any(
        note.startswith("To be made: +4.25 -0.50 axis 90, centred for a PD of 29.5 mm. For near.") for note in notes
    )

    assert text_in(powers_on(page_of(stored(document.order))), "+4.25 −0.50 × 90")


def test_a_sent_order_states_the_use_of_its_prescription_and_the_basis_it_was_ordered_on() -> None:
    plain_order = parse_order(sent(shop.draft()).text)
    assert (plain_order.use, plain_order.power_basis) == ("distance", "as_prescribed")

    powers = {"right": {"sphere": -2.25}, "left": {"sphere": -2.0}}
    carried = parse_order(sent(shop.draft(power_basis="carried_to_vertex", powers=powers)).text)
    assert carried.power_basis == "carried_to_vertex"


def test_a_question_confirmed_for_one_use_is_open_again_for_another() -> None:
    order = shop.draft(needed_on=timezone.localdate() + timedelta(days=1))
    assert {part.rule for part in judge(order).open_findings} == {"promise-date"}
    lift(order=order, actor=shop.dispenser(), version=1, rule="promise-date", eye=None, reason="Rung")
    assert judge(stored(order)).open_findings == ()

    change(order, use="distance")
    assert {part.rule for part in judge(stored(order)).open_findings} == {"promise-date"}


def test_the_stored_report_is_what_anybody_finds_who_checks_the_sent_document() -> None:
    document = sent(reader(use="near"))
    order = parse_order(document.text)
    again = check(order, judge(document.order).catalogue or NO_CATALOGUE)
    assert json.loads(document.report) == plain(again)


def test_the_power_carried_to_the_worn_distance_is_ordered_with_one_press_and_taken_back_with_another() -> None:
    person = shop.patient()
    written = shop.prescription(person, right={"sphere": -9}, left={"sphere": -8.5})
    frame = shop.frame()
    fitting = shop.fitting(person, frame, vertex_mm_right=15.0, vertex_mm_left=12.0)
    order = shop.draft(patient=person, prescription=written, frame=frame, fitting=fitting)
    page = page_of(order)
    assert "Carry to the worn vertex" in page

    # −9 / (1 + 0.003 × −9) = −9.25; the left lens is worn where it was tested.
    powers = {"lenses.right.power": {"sphere": -9.25}, "lenses.left.power": {"sphere": -8.5}}
    answer = press(order, {**powers, "power_basis": "carried_to_vertex"})
    assert "carried to the vertex distance as worn" in text_of(answer).replace("carried by the practice", "carried")
    kept = stored(order)
    assert (kept.power_basis, kept.powers) == (
        "carried_to_vertex",
        {"right": {"sphere": -9.25}, "left": {"sphere": -8.5}},
    )
    rules = {part.rule for part in judge(kept).report.findings}
    assert not rules & {"vertex-effect", "ordered-power"}
    shown = powers_on(page_of(kept))
    assert "carried by the practice to the vertex distance as worn (right 15.0 mm, left 12.0 mm)" in shown

    press(kept, {"lenses.right.power": None, "lenses.left.power": None, "power_basis": "as_prescribed"})
    assert (stored(order).power_basis, stored(order).powers) == ("as_prescribed", {})


def press(order: Order, values: dict[str, Any]) -> Any:
    """The button as the page has it: it sends its change and the version on the page."""
    data = {"change": json.dumps(values), "version": stored(order).version}
    return signed_in("ravi").post(reverse("order-apply", args=[order.public_id]), data, headers=HTMX)


def test_a_button_says_what_it_lacks_instead_of_working_out_half() -> None:
    person = shop.patient()
    written = shop.prescription(person, vertex_mm=None)
    page = page_of(shop.draft(patient=person, prescription=written))
    assert (
        "Carry to the worn vertex: Carried to the vertex distance as worn needs the vertex distance of the test."
        in page
    )


def test_a_later_change_of_the_prescription_asks_about_the_powers_worked_out_before() -> None:
    order = reader(
        use="near", power_basis="as_prescribed", powers={"right": {"sphere": 1.75, "cylinder": -0.5, "axis": 90}}
    )
    asked = {part.rule: part.message for part in judge(order).report.findings}
    assert "as prescribed for near it is +4.25/−0.50×90" in asked["ordered-power"]


def test_saving_the_page_keeps_the_basis_and_the_powers_that_have_no_field_on_it() -> None:
    order = reader(
        use="near", power_basis="as_prescribed", powers={"right": {"sphere": 4.0, "cylinder": -0.5, "axis": 90}}
    )
    change(order, remarks="Ring first")
    kept = stored(order)
    assert (kept.remarks, kept.power_basis, kept.powers["right"]["sphere"]) == ("Ring first", "as_prescribed", 4.0)


def test_two_pairs_are_begun_with_one_press_and_share_everything_but_what_they_are_for() -> None:
    person = shop.patient()
    written, fitting = shop.prescription(person), shop.fitting(person, shop.frame())
    shop.lab()
    answer = signed_in("ravi").post(reverse("order-start", args=[person.public_id]), {"pairs": "distance-and-near"})

    far, near = Order.objects.filter(patient=person).order_by("pk")
    assert answer.headers["Location"] == reverse("order-page", args=[far.public_id])
    assert [(row.use, row.other_pair) for row in (far, near)] == [("distance", True), ("near", True)]
    assert {(row.prescription, row.fitting) for row in (far, near)} == {(written, fitting)}
    assert far.number != near.number

    listed = text_of(signed_in("ravi").get(reverse("patient-page", args=[person.public_id])))
    for row, words in ((far, "for distance"), (near, "for near")):
        cell = listed[listed.index(f">{row.number}<") :]
        assert f", {words}</span>" in cell[: cell.index("</tr>")]

    signed_in("ravi").post(reverse("order-start", args=[person.public_id]), {"pairs": "progressive-and-office"})
    uses = [row.use for row in Order.objects.filter(patient=person).order_by("pk")]
    assert uses == ["distance", "near", "distance_and_near", "intermediate"]


def test_the_api_states_a_power_and_takes_it_back() -> None:
    order, client = reader(), caller()
    lens = {**shop.LENS, "power": {"sphere": 4.25, "cylinder": -0.5, "axis": 90}}
    at = reverse("api-order-detail", args=[order.public_id])
    made = client.patch(at, {"use": "near", "lenses": {"right": lens, "left": shop.LENS}}, headers=based_on(1))
    assert made.status_code == 200, made.json()
    assert made.json()["document"]["lenses"]["right"]["power"] == {"sphere": 4.25, "cylinder": -0.5, "axis": 90}
    assert made.json()["report"]["computed"]["left"]["power"]["sphere"] == 3.75

    # Lenses without a word about powers leave a stated one alone; null takes it back.
    client.patch(at, {"lenses": {"right": shop.LENS, "left": shop.LENS}}, headers=based_on(2))
    assert stored(order).powers == {"right": {"sphere": 4.25, "cylinder": -0.5, "axis": 90}}
    client.patch(at, {"lenses": {"right": {**shop.LENS, "power": None}, "left": shop.LENS}}, headers=based_on(3))
    assert stored(order).powers == {}


SLIPS = [
    ({"sphere": "4.25"}, "lenses.right.power.sphere", "the sign is missing"),
    ({"cylinder": -0.5, "axis": 90}, "lenses.right.power.sphere", "needs its sphere"),
    ({"sphere": 4.25, "cylinder": -0.5}, "lenses.right.power.axis", "needs its axis"),
    ({"sphere": 4.25, "cylinder": -0.5, "axis": 190}, "lenses.right.power.axis", "An axis of 190 is not possible"),
]


@pytest.mark.parametrize(("power", "path", "said"), SLIPS, ids=str)
def test_a_slip_in_a_stated_power_is_refused_by_its_path(power: dict[str, Any], path: str, said: str) -> None:
    order = reader()
    lenses = {"right": {**shop.LENS, "power": power}, "left": shop.LENS}
    at = reverse("api-order-detail", args=[order.public_id])
    answer = caller().patch(at, {"lenses": lenses}, headers=based_on(1))
    assert answer.status_code == 400
    assert path in answer.content.decode() or path.rsplit(".", 1)[-1] in answer.content.decode()
    assert said in answer.content.decode()
    assert stored(order).powers == {}
