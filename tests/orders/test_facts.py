"""From rows to the document: every fact in the words of the format, and nothing that should not leave the practice."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from dispensing.models import Measurement, Practice
from orders.documents.canonical import plain
from orders.facts import order_document
from orders.models import Order
from orders.presentation.places import place_of
from orders.queries import for_page
from orders.services.drafts import start_draft
from orders.services.judging import judge
from tests.known import there
from tests.orders import shop

pytestmark = pytest.mark.django_db


def facts(order: Order) -> dict[str, Any]:
    return plain(order_document(for_page().get(pk=order.pk)))


def test_the_whole_record_is_said_in_the_words_of_the_format() -> None:
    practice = Practice.current()
    practice.name, practice.country, practice.cylinder_form = "Harbour Lane", "GB", "plus"
    practice.save()
    order = shop.draft(remarks="Mind the bridge", supply="edged")
    said = facts(order)
    assert (said["format"], said["number"], said["revision"]) == ("lens-order/1", order.number, 1)
    assert said["ordered_on"] == timezone.localdate().isoformat()
    assert said["practice"]["name"] == "Harbour Lane"
    assert said["practice"]["account"] == "4711"
    assert said["practice"]["extra"]["cylinder_form"] == "plus"
    assert said["lab"] == {"name": "Quay Street Lab"}
    assert said["prescription"]["right"]["sphere"] == -2.25
    assert said["frame"]["a_mm"] == 48.0
    assert said["frame"]["source"] == "enclosed"
    assert said["fitting"]["left"] == {"pd_mm": 31.5, "near_pd_mm": None, "height_mm": 20.0, "vertex_mm": 12.0}
    assert (said["fitting"]["readings"], said["fitting"]["measured_in_this_frame"]) == (2, True)
    assert said["lenses"]["right"]["extra"]["treatment_names"] == ["Anti-reflection"]
    assert (said["supply"], said["remarks"]) == ("edged", "Mind the bridge")


@pytest.mark.parametrize(("step", "pd", "height"), [("0.5", 31.5, 21.5), ("0.1", 31.7, 21.3)])
def test_figures_are_ordered_to_the_practices_step_and_kept_unrounded(step: str, pd: float, height: float) -> None:
    Practice.current()
    Practice.objects.update(rounding_mm=step)
    order = shop.draft()
    for quantity, mean in (("pd_mm", "31.67"), ("height_mm", "21.25")):
        Measurement.objects.filter(fitting=order.fitting, eye="right", quantity=quantity).update(value=mean)
    right = facts(order)["fitting"]["right"]
    assert (right["pd_mm"], right["height_mm"]) == (pd, height)
    kept = Measurement.objects.get(fitting=order.fitting, eye="right", quantity="pd_mm")
    assert str(kept.value) == "31.67"


def test_each_eye_has_its_own_lens_and_one_that_is_not_ordered_is_null() -> None:
    left = {**shop.LENS, "treatments": [], "blank_mm": 70}
    said = facts(shop.draft(lenses={"right": shop.LENS, "left": left}))["lenses"]
    assert (said["right"]["treatments"], "blank_mm" in said["right"]) == (["ar"], False)
    assert (said["left"]["treatments"], said["left"]["blank_mm"]) == ([], 70.0)
    kept = {"material": "m160", "treatments": ["ar"]}
    alone = facts(shop.draft(lenses={"right": None, "left": left}, kept_lens=kept))
    assert (alone["lenses"]["right"], alone["lenses"]["left"]["blank_mm"]) == (None, 70.0)
    named = alone["kept_lens"].pop("extra")
    assert alone["kept_lens"] == kept
    assert (named["material_name"], named["treatment_names"]) == ("1.60", ["Anti-reflection"])


def test_the_patient_is_a_reference_a_birth_date_and_what_the_law_asks() -> None:
    person = shop.patient("P-90009", family_name="Secret", guardian="A Secret", notes="private", sight_impaired=True)
    said = facts(start_draft(patient=person, actor=shop.dispenser()))
    assert said["patient"] == {"reference": "P-90009", "born_on": "1985-04-02", "driver": False, "protected": True}
    for word in ("Secret", "private"):
        assert word not in str(said)


def test_an_order_with_nothing_chosen_yet_is_a_document_all_the_same() -> None:
    said = facts(start_draft(patient=shop.patient(), actor=shop.dispenser()))
    assert said["frame"] == {"source": None}
    assert said["lenses"] == {"right": None, "left": None}
    assert said["previous_prescription"] is None


def test_each_eyes_prism_is_a_list_of_amounts_with_their_bases_and_a_balance_lens_is_said() -> None:
    person = shop.patient()
    right = {
        "prism_horizontal": 2,
        "prism_horizontal_base": "out",
        "prism_vertical": 1.5,
        "prism_vertical_base": "up",
    }
    said = facts(shop.draft(prescription=shop.prescription(person, right=right, left={"balance": True})))
    assert said["prescription"]["right"]["prism"] == [{"amount": 2.0, "base": "out"}, {"amount": 1.5, "base": "up"}]
    assert said["prescription"]["left"]["prism"] == []
    assert [said["prescription"][eye].get("extra") for eye in ("right", "left")] == [None, {"balance": True}]


def test_the_previous_prescription_is_the_latest_earlier_one_for_the_same_distance() -> None:
    person, today = shop.patient(), timezone.localdate()
    for days, use, sphere in ((900, "distance", -1.0), (400, "distance_and_near", -1.5), (200, "near", 1.0)):
        shop.prescription(person, right={"sphere": sphere}, use=use, tested_on=today - timedelta(days=days))
    shop.prescription(person, right={"sphere": -9}, tested_on=today)
    other = shop.patient("P-90010")
    shop.prescription(other, right={"sphere": -8}, tested_on=today - timedelta(days=100))
    said = facts(shop.draft(prescription=shop.prescription(person)))
    assert said["previous_prescription"]["right"]["sphere"] == -1.5


def test_a_frame_whose_sizes_changed_after_the_fitting_is_told() -> None:
    order = shop.draft()
    there(order.frame).a_mm = 50
    there(order.frame).save()
    assert facts(order)["fitting"]["measured_in_this_frame"] is False


def test_the_readings_are_those_of_the_figure_taken_least_often() -> None:
    order = shop.draft()
    Measurement.objects.filter(fitting=order.fitting, eye="left", quantity="height_mm").update(readings=[])
    assert facts(order)["fitting"]["readings"] == 1


def test_a_shape_goes_out_as_the_right_lens_counter_clockwise() -> None:
    radii = [25.0] * 36
    said = facts(shop.draft(frame=shop.frame(radii_mm=radii, shape_origin="radii")))
    assert said["frame"]["shape"] == {"side": "right", "radii_mm": radii}


def test_the_day_of_the_order_can_be_given() -> None:
    document = order_document(Order.objects.get(pk=shop.draft().pk), on=date(2026, 1, 2))
    assert document.ordered_on == date(2026, 1, 2)


def test_a_page_reads_the_document_in_a_fixed_number_of_queries(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    order = shop.draft()
    Practice.current()
    with django_assert_max_num_queries(12):
        order_document(for_page().get(pk=order.pk))


def test_the_rules_of_the_practice_s_state_hold_for_its_orders() -> None:
    order = shop.draft(
        prescription=shop.prescription(
            shop.patient(), tested_on=timezone.localdate() - timedelta(days=1000), expires_on=None
        )
    )
    Practice.objects.update(country="US", state="CA")
    of_california = {part.rule: part.level for part in judge(order).report.findings}
    Practice.objects.update(country="US", state="NH")
    of_new_hampshire = {part.rule: part.level for part in judge(order).report.findings}

    assert "prescription-in-date" not in of_california
    assert of_new_hampshire["prescription-in-date"] == "stop"


def test_a_danger_at_work_or_play_goes_along_and_no_more_of_the_patients_life() -> None:
    order = shop.draft()
    order.patient.occupation, order.patient.recreation = "Welder at Nine Elms, pier 4", "Sings; squash"
    order.patient.save()
    said = facts(order)
    assert said["patient"]["extra"] == {"hazards": ["Welder", "squash"]}
    assert not [word for word in ("Elms", "pier", "Sings") if word in str(said)]


def test_a_harmless_life_stays_out_of_the_order() -> None:
    teacher = shop.patient("P-90008", occupation="Teacher", recreation="Chess, retired welder")
    assert "extra" not in facts(shop.draft(patient=teacher))["patient"]


@pytest.mark.parametrize(("source", "outside"), [("written", True), ("sent by prescriber", True), ("own test", False)])
def test_a_prescription_from_outside_says_whether_its_paper_has_an_address(source: str, outside: bool) -> None:
    prescription = shop.prescription(shop.patient(), source=source, prescriber_address="4 Quay Street", signed=None)
    order = shop.draft(prescription=prescription)
    paper = facts(order)["prescription"].get("extra")
    assert paper == ({"from_outside": True, "address_given": True} if outside else None)
    assert "Quay Street" not in str(facts(order)["prescription"])
    asked = [part for part in judge(order).report.findings if part.rule == "prescriber-and-signature"]
    told = ["The prescription comes from outside, and nothing says whether it is signed."] if outside else []
    assert [part.says for part in asked] == told


def test_a_danger_on_record_leads_to_the_occupation_and_one_in_the_remarks_to_the_remarks() -> None:
    order = shop.draft(patient=shop.patient("P-90007", occupation="Welder"), remarks="uses a chainsaw")
    places = {part.found: place_of(part.field, order) for part in judge(order).report.findings if part.rule == HAZARD}
    assert there(places["chainsaw"]).href == "#id_remarks"
    assert there(places["Welder"]).href.endswith("#id_occupation")


HAZARD = "eye-hazard"
