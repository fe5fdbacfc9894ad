"""Eighths that were stored cut to two decimals become whole eighths again; every other power stays as it is."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

BEFORE = [("dispensing", "0007_practice_rules"), ("orders", "0006_practice_rules_to_the_record")]
FIGURES = ("sphere", "cylinder", "axis", "add", "intermediate_add")


def lines(apps):
    rows = apps.get_model("dispensing", "PrescribedEye").objects.order_by("eye")
    return [tuple(row) for row in rows.values_list(*FIGURES)]


def test_only_cut_eighths_change_and_they_can_be_cut_again(migrated):
    old = migrated(BEFORE)
    patient = old.get_model("dispensing", "Patient").objects.create(
        reference="P-1", family_name="Sand", given_names="Ida", born_on=date(1960, 1, 1)
    )
    prescription = old.get_model("dispensing", "Prescription").objects.create(
        patient=patient, tested_on=date(2026, 11, 1), prescriber="B. Prescriber", use="distance"
    )
    eyes = old.get_model("dispensing", "PrescribedEye").objects
    cut = ("-3.37", "-0.62", 10, "2.12", "1.87")
    whole = ("3.25", "-0.50", 170, "2.00", None)
    for eye, row in (("left", cut), ("right", whole)):
        values = dict(zip(FIGURES, row))
        eyes.create(prescription=prescription, eye=eye, **values)

    found = lines(migrated())
    assert found[0] == (Decimal("-3.375"), Decimal("-0.625"), 10, Decimal("2.125"), Decimal("1.875"))
    assert found[1] == (Decimal("3.25"), Decimal("-0.5"), 170, Decimal("2"), None)

    again = lines(migrated(BEFORE))
    assert again[0] == (Decimal("-3.37"), Decimal("-0.62"), 10, Decimal("2.12"), Decimal("1.87"))
    assert again[1] == found[1]
