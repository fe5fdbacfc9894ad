"""Frames that suit, for a patient before any frame is chosen and for a draft: each row as the order page says it."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import AuditEvent, Frame, Patient
from orders.documents.said_once import said_once
from orders.models import Order
from orders.presentation.frames.rows import FrameShown
from orders.rules import check
from orders.services.catalogues import import_catalogue
from orders.services.drafts import save_draft
from orders.services.judging import judge
from tests.orders import shop
from tests.people import Answer, person, signed_in

pytestmark = pytest.mark.django_db


def in_stock(model: str, a: float = 48, **fields: Any) -> Frame:
    return Frame.objects.get(pk=shop.frame(model=model, a_mm=a, in_stock=2, **fields).pk)


SMALL_BLANK = {"right": {**shop.LENS, "blank_mm": 65.0}, "left": {**shop.LENS, "blank_mm": 65.0}}


def of_patient(patient: Patient, who: str = "ravi", **typed: Any) -> Answer:
    address = reverse("patient-frames", args=[patient.public_id])
    return signed_in(who).post(address, typed) if typed else signed_in(who).get(address)


def of_draft(order: Order, who: str = "ravi", **asked: Any) -> Answer:
    return signed_in(who).get(reverse("order-frames", args=[order.public_id]), asked)


def shown(answer: Answer) -> dict[str, FrameShown]:
    assert answer.status_code == 200
    return {one.frame.model: one for one in answer.context["page"].shown}


def a_patient_to_fit(**prescribed: Any) -> Patient:
    patient = shop.patient()
    shop.prescription(patient, **prescribed)
    shop.lab()
    return patient


def test_each_frame_in_stock_of_the_practices_own_is_compared_and_no_other() -> None:
    patient = a_patient_to_fit()
    in_stock("Narrow", 44)
    in_stock("Wide", 56)
    shop.frame(model="Sold out", in_stock=0)
    in_stock("Withdrawn", withdrawn=True)
    in_stock("Somebody's own", owner=shop.patient("P-90002"))
    assert set(shown(of_patient(patient))) == {"Narrow", "Wide"}


def test_a_row_says_what_the_order_page_says_once_that_frame_is_chosen_and_so_measured() -> None:
    order = shop.draft(frame=in_stock("Now"))
    other = in_stock("Other", 54, b_mm=42, ed_mm=57)
    row = shown(of_draft(order))["Other"].lenses[0].row
    assert order.fitting is not None
    fitting = shop.fitting(order.patient, other, height_mm_right=22.0, height_mm_left=22.0)
    judged = save_draft(
        order=order, actor=person("ravi"), version=order.version, fields={"frame": other, "fitting": fitting}
    )
    assert (row.offer.heights.right, row.offer.heights.left) == (22.0, 22.0)
    assert row.computed.model_dump_json() == judged.report.computed.model_dump_json()


def test_the_draft_of_a_row_is_judged_like_the_draft_itself() -> None:
    order = shop.draft(frame=in_stock("Now"))
    one = shown(of_draft(order))["Now"]
    assert one.is_present
    report = judge(order).report
    assert one.lenses[0].row.computed.model_dump_json() == report.computed.model_dump_json()
    assert one.lenses[0].off_centre == f"{abs(report.computed.left.decentration_in_mm or 0):.1f} mm in"


def test_what_speaks_against_a_frame_is_said_in_the_checks_own_words_and_only_there() -> None:
    order = shop.draft(frame=in_stock("Now"), lenses=SMALL_BLANK)
    in_stock("Wide", 60, ed_mm=63)
    rows = shown(of_draft(order))
    wide = rows["Wide"].lenses[0]
    assert (wide.level, wide.says, rows["Now"].lenses[0].says) == ("stop", "Does not suit", "Suits")
    asked = wide.lens.asked
    assert asked.catalogue is not None
    report = check(wide.row.order, asked.catalogue, asked.others, asked.limits)
    stops = [part for part in report.findings if part.level == "stop"]
    assert {part.rule for part in stops} == {"blank-size"}
    assert [said.says for said in wide.against if said in said_once(stops)] == [s.says for s in said_once(stops)]
    assert rows["Now"].lenses[0].against == []


def test_without_a_fitting_typed_pds_count_and_nothing_of_them_is_stored_or_in_an_address() -> None:
    patient = a_patient_to_fit()
    in_stock("Alder")
    before = AuditEvent.objects.count()
    empty = shown(of_patient(patient))["Alder"].lenses[0]
    assert (empty.off_centre, empty.blank, empty.thickest) == ("–", "–", "–")
    assert {why for _, why in empty.unknown} == {"A, DBL or the PD is missing."}
    typed = shown(of_patient(patient, pd_right="31", pd_left="30.5", sort="weight"))["Alder"].lenses[0]
    assert typed.off_centre == "3.0 mm in"  # (48 + 19)/2 − 30.5
    assert typed.row.order.fitting.right.pd_mm == 31.0
    assert (AuditEvent.objects.exclude(verb="patient.look").count(), patient.fittings.count()) == (before, 0)


def test_typed_pds_count_before_those_of_the_fitting_and_only_those_typed() -> None:
    patient = a_patient_to_fit()
    shop.fitting(patient, in_stock("Alder"))
    row = shown(of_patient(patient, pd_right="30"))["Alder"].lenses[0].row
    assert (row.order.fitting.right.pd_mm, row.order.fitting.left.pd_mm) == (30.0, 31.5)


def test_a_pd_that_cannot_be_is_told_beside_its_field_and_not_used() -> None:
    patient = a_patient_to_fit()
    in_stock("Alder")
    answer = of_patient(patient, pd_right="315", pd_left="31")
    assert "Not all of this was used. Put this right:" in answer.content.decode()
    assert "Did you mean 31.5?" in answer.context["form"].errors["pd_right"][0]
    assert shown(answer)["Alder"].lenses[0].row.order.fitting.right.pd_mm is None


def test_heights_are_said_to_be_assumed_and_from_where() -> None:
    patient = a_patient_to_fit(use="distance_and_near", right={"add": 2.0}, left={"add": 2.0})
    in_stock("Deep", 50, b_mm=44, ed_mm=54)
    text = of_patient(patient, pd_right="31", pd_left="31").content.decode()
    assert "Heights are assumed, since none was measured: a cross 4 mm above the middle of the lens" in text
    shop.fitting(patient, in_stock("Fitted", 48, b_mm=38), height_mm_right=21.0, height_mm_left=20.0)
    answer = of_patient(patient)
    assert "as far above the middle of the lens as it was measured in Fitted" in answer.content.decode()
    assert shown(answer)["Deep"].lenses[0].height == "24.0 / 23.0 mm"


def test_the_usual_lens_follows_the_prescription_and_up_to_three_can_be_compared() -> None:
    patient = a_patient_to_fit(use="distance_and_near", right={"add": 2.0}, left={"add": 2.0})
    shop.fitting(patient, in_stock("Alder"))
    answer = of_patient(patient)
    assert [lens.name for lens in shown(answer)["Alder"].lenses] == ["Progressive · 1.60"]
    keys = {lens.name: lens.key for lens in answer.context["form"].lenses}
    single = next(key for key, name in _offered(answer) if name == "Single vision · 1.60")
    both = of_patient(patient, lens_1=keys["Progressive · 1.60"], lens_2=single, lens_3=single)
    lenses = shown(both)["Alder"].lenses
    assert [lens.name for lens in lenses] == ["Progressive · 1.60", "Single vision · 1.60"]
    assert lenses[0].thickest != "–"
    assert lenses[1].room == []
    assert lenses[0].room[0] == "2.0 mm to spare"
    assert "Lens</th>" in both.content.decode()
    assert "Lens</th>" not in answer.content.decode()


def test_the_usual_lens_is_the_one_of_that_kind_that_the_practice_orders_most() -> None:
    catalogue = json.loads(json.dumps(shop.CATALOGUE))
    catalogue["materials"].append({**catalogue["materials"][0], "id": "m167", "name": "1.67", "index": 1.67})
    for design in catalogue["designs"]:
        design["materials"] = ["m160", "m167"]
    patient = a_patient_to_fit()
    import_catalogue(lab=shop.lab(), content=json.dumps(catalogue).encode(), actor=person("ines"))
    shop.fitting(patient, in_stock("Alder"))

    def usual() -> str:
        return shown(of_patient(patient))["Alder"].lenses[0].name

    assert usual() == "Single vision · 1.60"
    lens = {**shop.LENS, "material": "m167"}
    shop.draft(patient=shop.patient("P-90002"), lenses={"right": lens, "left": None})
    assert usual() == "Single vision · 1.67"
    shop.draft(patient=shop.patient("P-90002"))
    assert usual() == "Single vision · 1.60"


def _offered(answer: Answer) -> list[tuple[str, str]]:
    return [choice for _, group in answer.context["form"].fields["lens_1"].choices for choice in group]


def test_frames_are_put_in_order_and_unknown_ones_come_last_whatever_is_asked() -> None:
    order = shop.draft(frame=in_stock("Now"))
    in_stock("Larger", 52, ed_mm=54)
    in_stock("Smaller", 44, ed_mm=46)
    Frame.objects.create(model="Unmeasured", in_stock=1)
    for sort, first in (("thickest", "Smaller"), ("weight", "Smaller"), ("blank", "Smaller"), ("width", "Now")):
        models = list(shown(of_draft(order, sort=sort)))
        assert (sort, models[0], models[-1]) == (sort, first, "Unmeasured")
    deep = in_stock("Deep", 48, b_mm=44, ed_mm=54)
    lens = {"design": "prog", "material": "m160", "corridor_mm": 14.0, "blank_mm": None, "treatments": []}
    Order.objects.filter(pk=order.pk).update(lenses={"right": lens, "left": lens})
    models = list(shown(of_draft(order, sort="height")))
    assert (models[0], models[-1]) == (deep.model, "Unmeasured")
    page = of_draft(order, sort="nonsense", page="abc")
    assert (page.context["sort"], page.context["page"].page) == ("best", 1)


def test_a_frame_in_two_colours_is_one_row_that_names_both() -> None:
    order = shop.draft(frame=in_stock("Now"))
    for colour in ("Amber", "Moss"):
        in_stock("Alder", 46, colour=colour)
    in_stock("Alder", 50, colour="Amber")
    answer = of_draft(order)
    assert [[frame.colour for frame in one.frames] for one in answer.context["page"].shown if len(one.frames) > 1] == [
        ["Amber", "Moss"]
    ]
    assert len(answer.context["page"].shown) == 3


def test_the_width_is_compared_with_the_frame_fitted_last() -> None:
    order = shop.draft(frame=in_stock("Now", 48))
    in_stock("Wide", 51)
    in_stock("Narrow", 46)
    said = {model: one.against_worn for model, one in shown(of_draft(order)).items()}
    assert said == {
        "Now": "",
        "Wide": "6 mm wider than the frame fitted last",
        "Narrow": "4 mm narrower than the frame fitted last",
    }


def test_every_frame_of_a_page_is_drawn_in_a_field_of_one_size() -> None:
    order = shop.draft(frame=in_stock("Now"))
    in_stock("Wide", 60, ed_mm=63)
    drawings = [str(one.drawing) for one in shown(of_draft(order)).values()]
    boxes = {drawing.partition('viewBox="')[2].partition('"')[0] for drawing in drawings}
    assert len(drawings) == 2
    assert len(boxes) == 1
    assert "The right eye lies 32.0 mm from the middle of the bridge, 20.0 mm high." in drawings[0]


def test_a_draft_without_a_lens_and_a_sent_order_lead_back_with_a_word() -> None:
    bare = shop.draft(lenses={})
    answer = signed_in("ravi").get(reverse("order-frames", args=[bare.public_id]), follow=True)
    assert "Choose a lab and a lens on the draft first" in answer.content.decode()
    Order.objects.filter(pk=bare.pk).update(state="cancelled")
    answer = signed_in("ravi").get(reverse("order-frames", args=[bare.public_id]), follow=True)
    assert "no longer a draft" in answer.content.decode()


def test_without_a_catalogue_a_prescription_or_a_frame_the_page_says_what_is_missing() -> None:
    patient = shop.patient()
    assert "No lab has a catalogue yet" in of_patient(patient).content.decode()
    shop.lab()
    assert "No frame is in stock" in of_patient(patient).content.decode()
    in_stock("Alder")
    text = of_patient(patient).content.decode()
    assert "There is no prescription yet" in text
    assert "Nobody has measured this patient yet" in text


def test_the_patients_page_and_a_finding_about_the_frame_lead_there() -> None:
    order = shop.draft(frame=shop.frame(a_mm=54, ed_mm=56), lenses=SMALL_BLANK)
    in_stock("Alder 50", 50, dbl_mm=17, ed_mm=52)
    text = signed_in("ravi").get(reverse("patient-page", args=[order.patient.public_id])).content.decode()
    assert reverse("patient-frames", args=[order.patient.public_id]) in text
    desk = signed_in("dora").get(reverse("patient-page", args=[order.patient.public_id])).content.decode()
    assert reverse("patient-frames", args=[order.patient.public_id]) not in desk
    ways = signed_in("ravi").get(reverse("order-remedies", args=[order.public_id]), {"version": order.version})
    assert reverse("order-frames", args=[order.public_id]) in ways.content.decode()


def test_the_prescription_that_counts_is_the_latest() -> None:
    patient = a_patient_to_fit()
    shop.prescription(patient, right={"sphere": -6.0}, left={"sphere": -6.0}, tested_on=timezone.localdate())
    shop.prescription(patient, tested_on=timezone.localdate() - timedelta(days=400))
    shop.fitting(patient, in_stock("Alder"))
    assert shown(of_patient(patient))["Alder"].lenses[0].row.order.prescription.right.sphere == -6.0
