"""The pair worn now on its pages: read, shown with the patient, corrected, and never somebody else's."""

from __future__ import annotations

from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import AuditEvent, Patient, WornPair
from dispensing.queries.worn_pairs import worn_now
from dispensing.services.worn_pairs import correct_worn_pair
from tests.builders import a_patient
from tests.orders import shop
from tests.people import person, signed_in

pytestmark = pytest.mark.django_db

TYPED = {
    "read_on": "30.10.2026",
    "use": "distance_and_near",
    "kind": "progressive",
    "age_years": "3,5",
    "likes": "Light",
    "dislikes": "Swims on the stairs",
    "tasks": "Two screens and the piano",
    "distances": "screen 70 cm, music 60 cm",
    "right-sphere": "-1.25",
    "right-cylinder": "-0.50",
    "right-axis": "90",
    "right-add": "1.50",
    "right-prism_horizontal": "1.00",
    "right-prism_horizontal_base": "in",
    "right-height_mm": "19.5",
    "right-base_curve_d": "4.25",
    "left-sphere": "plano",
}


def send(patient: Patient, **changes: Any) -> Any:
    return signed_in("dora").post(reverse("worn-pair-new", args=[patient.public_id]), {**TYPED, **changes})


def test_what_the_lensmeter_reads_is_recorded_and_shown_with_its_patient_alone() -> None:
    patient, other = a_patient(), a_patient(family_name="Okonkwo")
    answer = send(patient)
    assert answer.headers["Location"] == reverse("patient-page", args=[patient.public_id])
    pair = WornPair.objects.get()
    assert (pair.patient, pair.use, pair.kind, float(pair.age_years or 0)) == (
        patient,
        "distance_and_near",
        "progressive",
        3.5,
    )
    right, left = pair.right, pair.left
    assert right is not None
    assert left is not None
    assert (float(right.sphere or 0), float(right.cylinder or 0), right.axis) == (-1.25, -0.5, 90)
    assert (float(right.height_mm or 0), float(right.base_curve_d or 0)) == (19.5, 4.25)
    assert right.prism_horizontal_base == "in"
    assert left.sphere == 0
    assert left.height_mm is None
    page = unescape(signed_in("dora").get(reverse("patient-page", args=[patient.public_id])).content.decode())
    for text in ("Read 30 October 2026", "−1.25", "right height 19.5 mm", "Swims on the stairs", "music 60 cm"):
        assert text in page
    assert "No pair read yet" in signed_in("dora").get(reverse("patient-page", args=[other.public_id])).content.decode()
    assert AuditEvent.objects.filter(verb="worn-pair.record", patient=patient).count() == 1


def test_nothing_is_recorded_without_a_reading_and_what_was_typed_stays() -> None:
    patient = a_patient()
    empty = {name: "" for name in TYPED if name.startswith(("right-", "left-"))}
    page = unescape(send(patient, **empty).content.decode())
    assert "Write what the lensmeter reads for at least one eye." in page
    assert 'value="Swims on the stairs"' in page
    assert not WornPair.objects.exists()


def test_a_correction_changes_what_differs_and_tells_the_second_of_two_people() -> None:
    pair = shop.worn_pair(a_patient(), left={"sphere": -1.0})
    bystander = shop.worn_pair(a_patient())
    address = reverse("worn-pair-correct", args=[pair.public_id])
    page = signed_in("dora").get(address).content.decode()
    assert 'name="right-sphere" value="-2.25"' in page
    typed = {"read_on": pair.read_on.isoformat(), "use": "distance", "right-sphere": "-2.50", "left-sphere": "-1.00"}
    answer = signed_in("dora").post(address, {**typed, "version": "1"})
    assert answer.headers["Location"] == reverse("patient-page", args=[pair.patient.public_id])
    stored = WornPair.objects.get(pk=pair.pk)
    assert [float(row.sphere or 0) for row in stored.eyes.all()] == [-2.5, -1.0]
    assert AuditEvent.objects.get(verb="worn-pair.correct").changes == {"right.sphere": ["-2.25", "-2.50"]}
    correct_worn_pair(actor=person("ravi"), pair=stored, facts={"use": "near"}, eyes={"right": {"sphere": -3}})
    refused = signed_in("dora").post(address, {**typed, "right-sphere": "-2.75", "version": "2"})
    assert "changed this pair" in unescape(refused.content.decode())
    assert [float(row.sphere or 0) for row in WornPair.objects.get(pk=bystander.pk).eyes.all()] == [-2.25, -2.0]


@pytest.mark.parametrize(("days", "counts"), [(365, True), (366, False)])
def test_a_pair_read_long_ago_is_not_the_one_worn_now(days: int, counts: bool) -> None:
    pair = shop.worn_pair(a_patient(), read_on=timezone.localdate() - timedelta(days=days))
    assert (worn_now(pair.patient, "distance", timezone.localdate()) == pair) is counts
