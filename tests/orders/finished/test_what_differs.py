"""A pair beside the one worn before: what differs, by how much, and the most likely first."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dispensing.optics.magnification import power_factor, shape_factor
from dispensing.optics.power import SphereCylinder
from dispensing.optics.prism import Prism
from orders.documents.finished_pair import FinishedReadings
from orders.getting_used.differences import Difference, differences
from orders.getting_used.pair_facts import EyeFacts, PairFacts, of_readings

LENS = EyeFacts(
    power=SphereCylinder(-3.0, -1.0, 180),
    add_d=2.0,
    prism=Prism(),
    base_curve_d=4.0,
    centre_thickness_mm=1.5,
    index=1.6,
    corridor_mm=14.0,
    height_mm=20.0,
    pd_mm=31.5,
    vertex_mm=12.0,
    kind="progressive",
)
BEFORE = PairFacts("before", LENS, LENS, 9.0, 5.0)


def changed(**right: object) -> tuple[Difference, ...]:
    return differences(BEFORE, replace(BEFORE, right=replace(LENS, **right)))  # type: ignore[arg-type]  # by name


def only(found: tuple[Difference, ...], words: str) -> Difference:
    (one,) = [one for one in found if one.what == words]
    return one


def test_a_pair_that_is_alike_differs_in_nothing() -> None:
    assert differences(BEFORE, BEFORE) == ()


@pytest.mark.parametrize(
    ("field", "value", "words", "change", "likely"),
    [
        ("power", SphereCylinder(-2.5, -1.0, 180), "Mean power", 0.5, True),
        ("power", SphereCylinder(-2.51, -1.0, 180), "Mean power", 0.49, False),
        ("power", SphereCylinder(-2.75, -1.5, 180), "Cylinder and axis together", 0.25, True),
        ("power", SphereCylinder(-2.76, -1.48, 180), "Cylinder and axis together", 0.24, False),
        ("add_d", 2.5, "Add", 0.5, True),
        ("add_d", 2.25, "Add", 0.25, False),
        ("base_curve_d", 5.0, "Base curve", 1.0, True),
        ("base_curve_d", 4.5, "Base curve", 0.5, False),
        ("corridor_mm", 12.0, "Corridor", -2.0, True),
        ("corridor_mm", 13.0, "Corridor", -1.0, False),
        ("height_mm", 22.0, "Height of cross, segment or centre", 2.0, True),
        ("height_mm", 21.9, "Height of cross, segment or centre", 1.9, False),
        ("pd_mm", 33.0, "PD that the lens is centred by", 1.5, True),
        ("pd_mm", 32.9, "PD that the lens is centred by", 1.4, False),
    ],
)
def test_each_difference_has_its_size_and_is_likely_from_its_limit(
    field: str, value: object, words: str, change: float, likely: bool
) -> None:
    one = only(changed(**{field: value}), words)
    assert (one.eye, one.is_likely) == ("right", likely)
    assert one.change == pytest.approx(change)


def test_the_same_power_in_the_other_cylinder_form_is_no_difference() -> None:
    assert changed(power=SphereCylinder(-4.0, 1.0, 90)) == ()


def test_an_axis_turned_by_ten_degrees_counts_by_the_cylinder_that_it_leaves() -> None:
    """2 C sin θ is the residual cylinder (Bennett and Rabbetts); its half is the length of the difference."""
    one = only(changed(power=SphereCylinder(-3.0, -1.0, 170)), "Cylinder and axis together")
    assert one.change == pytest.approx(0.3473 / 2, abs=1e-4)
    assert not one.is_likely


def test_prism_counts_for_the_two_eyes_together_and_equal_vertical_prism_is_none() -> None:
    thinned = replace(BEFORE, right=replace(LENS, prism=Prism(0.0, -1.0)), left=replace(LENS, prism=Prism(0.0, -1.0)))
    assert differences(BEFORE, thinned) == ()
    one = only(changed(prism=Prism(1.0, 0.0)), "Prism across, base in")
    assert (one.eye, one.before, one.now, one.change) == ("both", 0.0, 1.0, 1.0)


def test_the_size_of_the_image_is_the_shape_factor_times_the_power_factor_at_the_entrance_pupil() -> None:
    found = changed(centre_thickness_mm=6.0, base_curve_d=9.0)
    front = [curve * 0.6 / 0.53 for curve in (4.0, 9.0)]
    shape = [shape_factor(power, thick, 1.6) for power, thick in zip(front, (1.5, 6.0), strict=True)]
    expected = 100.0 * (shape[1] / shape[0] - 1.0)
    assert only(found, "Size of the image").change == pytest.approx(expected)
    sizes = 100.0 * (shape[0] * power_factor(-3.5, 15.0) - 1.0)
    assert only(found, "Size of the image").before == pytest.approx(sizes)
    assert only(found, "Image of the right eye against the left").is_likely


def test_what_is_not_known_of_both_is_left_out() -> None:
    unknown = replace(BEFORE, right=EyeFacts(), left=EyeFacts(), tilt_deg=None, face_form_deg=None)
    assert differences(unknown, BEFORE) == ()
    assert differences(BEFORE, unknown) == ()


def test_heights_of_different_kinds_are_not_compared() -> None:
    assert changed(kind="bifocal", height_mm=15.0) == ()


def test_the_largest_by_its_own_limit_comes_first_and_trifles_are_left_out() -> None:
    found = changed(height_mm=24.0, corridor_mm=13.0, pd_mm=31.7)
    assert [one.what for one in found] == ["Height of cross, segment or centre", "Corridor"]
    assert [round(one.weight, 2) for one in found] == [2.0, 0.5]
    assert "chin goes down" in found[0].noticed


def test_less_of_something_is_noticed_as_something_else() -> None:
    more, less = (only(changed(height_mm=value), "Height of cross, segment or centre") for value in (23.0, 17.0))
    assert more.noticed != less.noticed


def test_a_first_add_is_the_change_itself() -> None:
    first = replace(BEFORE, right=replace(LENS, add_d=None), left=replace(LENS, add_d=None))
    one = only(tuple(one for one in differences(first, BEFORE) if one.eye == "right"), "Add")
    assert (one.change, one.is_likely) == (2.0, True)


def test_a_pair_that_was_read_otherwise_than_ordered_is_told_against_its_own_order() -> None:
    found = FinishedReadings.model_validate(
        {
            "format": "finished-readings/1",
            "right": {"sphere": -3.0, "cylinder": -1.0, "axis": 180, "add": 2.0, "height_mm": 23.0},
            "left": {"sphere": -2.0, "cylinder": -1.0, "axis": 90, "prism_up": 1.0},
        }
    )
    told = [
        (one.eye, one.what, round(one.change, 2)) for one in differences(BEFORE, of_readings("read", found, BEFORE))
    ]
    assert told == [
        ("left", "Cylinder and axis together", 1.0),
        ("left", "Mean power", 1.0),
        ("right", "Height of cross, segment or centre", 3.0),
    ]
