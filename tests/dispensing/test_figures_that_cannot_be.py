"""What a field of the prescription or the fitting accepts at its limits, and how it refuses anything beyond them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from dispensing.forms.fields import FigureField
from dispensing.forms.figures import ReadingsField, SizeField
from dispensing.forms.power_fields import AddField, AxisField, PowerField, PrismField
from dispensing.forms.prescriptions import EyeForm, PrescribedEyeForm

POWER, ADD = PowerField(label="Sphere"), AddField(label="Add")
AXIS, PRISM = AxisField(label="Axis"), PrismField(label="H prism")
WIDTH = SizeField(words="A lens width", unit="mm", possible=(20, 90))
READINGS = ReadingsField(words="the PD", unit="mm")
VERTEX = FigureField(unit="mm", low=5, high=25, required=False, max_digits=4, decimal_places=1)


@pytest.mark.parametrize(
    ("field", "typed", "value"),
    [
        (POWER, "-3.25", Decimal("-3.25")),
        (POWER, "+0.25", Decimal("0.25")),
        (POWER, "plano", Decimal("0.00")),
        (POWER, "", None),
        (ADD, "2.00", Decimal("2.00")),
        (ADD, "+2.00", Decimal("2.00")),
        (ADD, "0", None),
        (AXIS, "1", 1),
        (AXIS, "180", 180),
        (AXIS, "090", 90),
        (PRISM, "0", None),
        (PRISM, "0.00", None),
        (PRISM, "0.25", Decimal("0.25")),
        (PRISM, "1,5 Δ", Decimal("1.50")),
        (PRISM, "40", Decimal("40.00")),
        (WIDTH, "20", Decimal("20")),
        (WIDTH, "90 mm", Decimal("90")),
        (VERTEX, "5", Decimal("5")),
        (VERTEX, "25", Decimal("25")),
        (VERTEX, "12,5 mm", Decimal("12.5")),
        (READINGS, "", ()),
        (READINGS, "31,5", (31.5,)),
        (READINGS, "31, 32", (31.0, 32.0)),
        (READINGS, "31.5 32 mm; 31.5/32", (31.5, 32.0, 31.5, 32.0)),
        (READINGS, "1 2 3 4 5 6 7 8", (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0)),
    ],
)
def test_what_can_be_is_taken_as_typed(field: Any, typed: str, value: Any) -> None:
    assert field.clean(typed) == value


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        (POWER, "3.25", "3.25: the sign is missing. Write +3.25 or -3.25."),
        (POWER, "-325", "-325: is the decimal point missing? Write it as in -3.25."),
        (POWER, "+2.00 in", "+2.00 in cannot be read. Write a signed power, as in -3.25, or plano."),
        (POWER, "-3.25 -1.00", "-3.25 -1.00 cannot be read. Write a signed power, as in -3.25, or plano."),
        (ADD, "-2.00", "-2.00 cannot be read. Write a plus power."),
        (ADD, "+2.00 in", "+2.00 in cannot be read. Write a power, as in 2.00."),
        (AXIS, "181", "An axis of 181 is not possible: write a whole number from 1 to 180."),
        (AXIS, "17.5", "An axis of 17.5 is not possible: write a whole number from 1 to 180."),
        (AXIS, "-10", "An axis of -10 is not possible: write a whole number from 1 to 180."),
        (PRISM, "45", "A prism of 45 is not possible: 0 to 40 Δ without sign, its base beside it."),
        (PRISM, "40.01", "A prism of 40.01 is not possible: 0 to 40 Δ without sign, its base beside it."),
        (PRISM, "-1", "A prism of -1 is not possible: 0 to 40 Δ without sign, its base beside it."),
        (PRISM, "2 in", "2 in cannot be read. Write an amount, as in 1.50."),
        (WIDTH, "19.99", "A lens width of 19.99 mm is not possible: 20 to 90 mm is possible."),
        (WIDTH, "90.01", "A lens width of 90.01 mm is not possible: 20 to 90 mm is possible."),
        (
            WIDTH,
            "520",
            "A lens width of 520 mm is not possible: 20 to 90 mm is possible. Is it in mm? Did you mean 52.0?",
        ),
        (
            WIDTH,
            "5.2",
            "A lens width of 5.2 mm is not possible: 20 to 90 mm is possible. Is it in mm? Did you mean 52.0?",
        ),
        (WIDTH, "wide", "wide is not a number. Write it as in 31.5."),
        (VERTEX, "4.9", "4.9 mm cannot be right: 5 to 25 mm is possible."),
        (VERTEX, "25.1", "25.1 mm cannot be right: 5 to 25 mm is possible."),
        (READINGS, "1 2 3 4 5 6 7 8 9", "9 readings; 8 at most are kept."),
        (
            READINGS,
            "31.5 wide",
            "“wide” is not a reading. Type the PD in mm, several readings with a space between, as in 31.5 32 31.5.",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_what_can(field: Any, typed: str, message: str) -> None:
    with pytest.raises(ValidationError) as refused:
        field.clean(typed)
    assert refused.value.messages == [message]


@pytest.mark.parametrize(
    ("low", "high", "typed", "message"),
    [
        (5, None, "4.9", "4.9 mm is too small: at least 5 mm."),
        (None, 25, "25.1", "25.1 mm is too large: at most 25 mm."),
    ],
)
def test_a_figure_with_one_bound_names_that_bound(low: Any, high: Any, typed: str, message: str) -> None:
    field = FigureField(unit="mm", low=low, high=high, required=False)
    with pytest.raises(ValidationError) as refused:
        field.clean(typed)
    assert refused.value.messages == [message]
    assert field.clean(str(low or high)) == Decimal(low or high)


WRITTEN = {"sphere": "-2.00", "cylinder": "-0.50", "axis": "90", "add": "2.00", "acuity": "6/6"}


@pytest.mark.parametrize(
    ("changes", "faults"),
    [
        ({}, {}),
        ({"sphere": ""}, {"sphere": "The sphere is missing. Write 0.00 or plano where there is none."}),
        ({"axis": ""}, {"axis": "A cylinder needs its axis: a whole number from 1 to 180."}),
        (
            {"cylinder": ""},
            {"cylinder": "An axis is written but no cylinder. Write the cylinder, or clear the axis."},
        ),
        ({"prism_horizontal": "1.00"}, {"prism_horizontal_base": "A prism needs its base: in or out."}),
        ({"prism_vertical": "1.00"}, {"prism_vertical_base": "A prism needs its base: up or down."}),
        (
            {"prism_horizontal_base": "in"},
            {"prism_horizontal": "A base is chosen but no prism. Write the amount, or clear the base."},
        ),
        (
            {"prism_vertical": "0", "prism_vertical_base": "up"},
            {"prism_vertical": "A base is chosen but no prism. Write the amount, or clear the base."},
        ),
        ({"prism_horizontal": "1.00", "prism_horizontal_base": "out"}, {}),
        ({"cylinder": "", "axis": ""}, {}),
    ],
)
@pytest.mark.parametrize("eye", ["right", "left"])
def test_what_belongs_together_is_asked_for_together(eye: str, changes: dict[str, str], faults: dict[str, str]) -> None:
    typed = {f"{eye}-{name}": value for name, value in (WRITTEN | changes).items()}
    form = EyeForm(typed, prefix=eye)
    form.is_valid()
    assert {name: messages[0] for name, messages in form.errors.items()} == faults


def test_a_cylinder_of_nought_takes_its_axis_with_it() -> None:
    form = EyeForm(WRITTEN | {"cylinder": "0.00"})
    assert form.is_valid()
    assert (form.cleaned_data["cylinder"], form.cleaned_data["axis"]) == (None, None)


@pytest.mark.parametrize(
    ("typed", "needs"),
    [
        ({}, False),
        ({"add": "2.00"}, False),
        ({"sphere": "-2.00"}, False),
        ({"cylinder": "-1.00", "axis": "90"}, True),
        ({"prism_vertical": "1", "prism_vertical_base": "up"}, True),
    ],
)
def test_a_balance_lens_needs_a_sphere_only_beside_what_makes_no_sense_without(
    typed: dict[str, str], needs: bool
) -> None:
    form = PrescribedEyeForm(typed | {"balance": "on"})
    form.is_valid()
    assert ("sphere" in form.errors) is needs
    assert not form.is_empty


def test_an_eye_with_nothing_in_it_is_empty_and_one_with_anything_is_not() -> None:
    for typed, is_empty in (({}, True), ({"acuity": "6/6", "sphere": "plano"}, False), ({"sphere": "plano"}, False)):
        form = PrescribedEyeForm(typed)
        assert form.is_valid()
        assert form.is_empty is is_empty
