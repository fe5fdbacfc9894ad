"""A prescriber who has prescribed before is picked from a list, whoever did so last first."""

from __future__ import annotations

import pytest
from django.urls import reverse

from dispensing.models import Prescription
from dispensing.queries.prescriptions import known_prescribers
from tests.orders import shop
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def test_each_prescriber_is_named_once_and_the_last_one_first() -> None:
    patient = shop.patient()
    for name in ("A. First", "B. Second", "A. First", "C. Third", "B. Second"):
        shop.prescription(patient, prescriber=name)
    assert known_prescribers() == ["B. Second", "C. Third", "A. First"]
    Prescription.objects.filter(prescriber="C. Third").update(prescriber="")
    assert known_prescribers() == ["B. Second", "A. First"]


def test_the_page_of_a_new_prescription_offers_them() -> None:
    shop.prescription(shop.patient(), prescriber="D'Arcy <Eyes>")
    page = signed_in("dora").get(reverse("prescription-new", args=[shop.patient("P-90077").public_id])).content.decode()
    assert '<datalist id="known-prescribers"><option value="D&#x27;Arcy &lt;Eyes&gt;"></option></datalist>' in page
    assert 'list="known-prescribers"' in page
