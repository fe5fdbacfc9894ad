"""The FHIR export: read by an independent FHIR library, and checked for what that library does not notice."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle

from orders.documents.fhir import fhir_bundle, fhir_json
from orders.documents.lens_order import parse_order
from tests.orders.orders_on_paper import order


def resources(**changes: Any) -> dict[str, Any]:
    text = fhir_json(fhir_bundle(order(**changes)))
    Bundle.model_validate_json(text)
    return {entry["resource"]["resourceType"]: entry["resource"] for entry in json.loads(text)["entry"]}


def lenses(**changes: Any) -> Any:
    return resources(**changes)["VisionPrescription"]["lensSpecification"]


def test_right_and_left_always_come_as_two_items_right_first() -> None:
    made: list[dict[str, Any]] = [{}, {"lenses__left": None}, {"prescription__right": {}}]
    for changes in made:
        assert [lens["eye"] for lens in lenses(**changes)] == ["right", "left"]


def test_powers_are_as_written_with_two_places() -> None:
    text = fhir_json(fhir_bundle(order()))
    assert '"sphere": -3.25' in text
    assert '"cylinder": -1.00' in text
    assert '"add": 2.00' in text
    right, left = lenses()
    assert (right["sphere"], right["cylinder"], right["axis"], right["add"]) == (-3.25, -1.0, 170, 2.0)
    assert isinstance(right["axis"], int)
    assert left["prism"] == [{"amount": 1.0, "base": "in"}, {"amount": 0.5, "base": "down"}]


def test_the_tint_and_an_instruction_are_kept_for_the_eye_that_they_are_for() -> None:
    right, left = lenses(lenses__right__colour="Brown 75 %", lenses__left__instruction="balance")
    assert right["color"] == "Brown 75 %"
    assert "tint Brown 75 %." in json.dumps(right["note"])
    assert "color" not in left
    assert {"text": "Balance lens."} in left["note"]
    assert "tint" not in json.dumps(left["note"])
    assert "prescribed" not in json.dumps(left["note"])
    right, left = lenses(prescription__left__extra={"balance": True})
    assert {"text": "A balance lens is prescribed."} in left["note"]
    assert "balance" not in json.dumps(right)
    assert "color" not in lenses(lenses__right__colour=" ")[0]


@pytest.mark.parametrize("zero", [0.0, -0.0, -0.001, 0])
def test_a_power_of_nothing_is_never_written_with_a_minus(zero: float) -> None:
    text = fhir_json(fhir_bundle(order(prescription__right={"sphere": zero, "cylinder": zero, "axis": 90})))
    assert '"sphere": 0.00' in text
    assert not re.search(r"-0\.00\b", text)


def test_an_axis_never_goes_without_its_cylinder_nor_the_cylinder_without_its_axis() -> None:
    for right in ({"sphere": 1.0, "axis": 90}, {"sphere": 1.0, "cylinder": 0, "axis": 90}):
        assert "axis" not in lenses(prescription__right=right)[0]
    alone = lenses(prescription__right={"sphere": 1.0, "cylinder": -1.0})[0]
    assert "cylinder" not in alone
    assert "Cylinder -1.00" in json.dumps(alone["note"])


@pytest.mark.parametrize(("axis", "told"), [(17.5, "17.5"), (181, "181"), (-5, "-5"), (1e300, "1e+300")])
def test_an_axis_that_fhir_or_the_trade_does_not_know_is_told_and_not_changed(axis: float, told: str) -> None:
    lens = lenses(prescription__right={"sphere": 1.0, "cylinder": -1.0, "axis": axis})[0]
    assert "axis" not in lens
    assert "cylinder" not in lens
    assert told in json.dumps(lens["note"])


def test_a_power_that_cannot_be_is_written_all_the_same() -> None:
    assert lenses(prescription__right={"sphere": 1e300})[0]["sphere"] == 1e300


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ([("in", 2), ("in", 1)], [{"amount": 3.0, "base": "in"}]),
        ([("in", 1), ("out", 3)], [{"amount": 2.0, "base": "out"}]),
        ([("up", 1), ("down", 1)], None),
        ([("down", 1.5), ("out", 2)], [{"amount": 2.0, "base": "out"}, {"amount": 1.5, "base": "down"}]),
    ],
)
def test_prism_is_one_horizontal_and_one_vertical_part(parts: Any, expected: list[dict[str, Any]] | None) -> None:
    prism = [{"amount": amount, "base": base} for base, amount in parts]
    for eye, place in (("right", 0), ("left", 1)):
        changes = {f"prescription__{eye}": {"sphere": 0.0, "prism": prism}}
        assert lenses(**changes)[place].get("prism") == expected


def test_codes_are_those_that_fhir_requires() -> None:
    """The library accepts any word here; FHIR's bindings do not."""
    found = resources()
    assert found["VisionPrescription"]["status"] == "active"
    assert found["Observation"]["status"] == "final"
    for lens in found["VisionPrescription"]["lensSpecification"]:
        assert lens["eye"] in ("right", "left")
        assert lens["product"]["coding"][0]["code"] == "lens"
        assert all(part["base"] in ("up", "down", "in", "out") for part in lens.get("prism", ()))


def test_the_position_of_wear_names_eye_unit_and_value() -> None:
    components = resources()["Observation"]["component"]
    found = {c["code"]["coding"][0]["code"]: c["valueQuantity"] for c in components}
    assert found["right-pd-mm"]["value"] == 31.0
    assert found["left-height-mm"]["value"] == 21.5
    assert (found["pantoscopic-deg"]["value"], found["pantoscopic-deg"]["code"]) == (9.0, "deg")
    assert "right-near-pd-mm" not in found


def test_what_was_not_measured_makes_no_observation() -> None:
    assert "Observation" not in resources(fitting={})


def test_an_empty_order_is_still_valid_and_says_that_dates_are_unknown() -> None:
    text = fhir_json(fhir_bundle(parse_order('{"format": "lens-order/1"}')))
    Bundle.model_validate_json(text)
    prescription = json.loads(text)["entry"][1]["resource"]
    assert prescription["_dateWritten"]["extension"][0]["valueCode"] == "unknown"
    assert "dateWritten" not in prescription


def test_the_patient_is_a_reference_and_nothing_more() -> None:
    assert set(resources()["Patient"]) == {"resourceType", "identifier"}


def test_the_same_order_gives_the_same_text() -> None:
    assert fhir_json(fhir_bundle(order())) == fhir_json(fhir_bundle(order()))
