"""The verdict as a whole: what is compared with what, what has to be read, and what looks like a slip."""

from __future__ import annotations

import json
from typing import Any

import pytest

from dispensing.documents import of_values
from dispensing.trade.tolerances import tolerance_set
from orders.documents.finished_pair import FinishedReadings, FinishedVerdict
from orders.documents.lens_catalogue import LensCatalogue, parse_catalogue
from orders.documents.lens_order import LensOrder
from orders.verification import verify
from tests.orders.verification.pairs import as_ordered, eye, item, order, readings, said

ISO, ANSI = "iso-21987-2017", "ansi-z80.1-2015"
RIGHT, LEFT = eye(-3.25, -1.0, 170.0, 2.0), eye(-2.0, -0.5, 10.0, 2.0)
PAIR = order(RIGHT, LEFT, "progressive")


def _slips(verdict: FinishedVerdict) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = (verdict.extra or {})["slips"]
    return found


def _not_read(verdict: FinishedVerdict) -> list[tuple[str, str]]:
    return [(one["eye"], one["quantity"]) for one in (verdict.extra or {})["not_read"]]


def _read(**sides: Any) -> FinishedReadings:
    return of_values(FinishedReadings, {**as_ordered(PAIR), **sides})


def test_a_pair_exactly_as_ordered_is_accepted() -> None:
    for standard in (ISO, ANSI):
        verdict = verify(PAIR, _read(), standard)
        assert verdict.verdict == "accept"
        assert verdict.number == "T-00042"
        assert {one.result for one in verdict.items} == {"pass"}
        assert _slips(verdict) == []
        assert _not_read(verdict) == []


def test_each_standard_judges_a_power_in_its_own_way() -> None:
    by_iso, by_ansi = verify(PAIR, _read(), ISO), verify(PAIR, _read(), ANSI)
    assert item(by_iso, "meridian_high").ordered == -4.25
    assert item(by_iso, "meridian_low").ordered == -3.25
    assert item(by_ansi, "meridian_high").ordered == -4.25
    assert not [one for one in by_ansi.items if one.quantity == "meridian_low"]
    assert item(by_ansi, "cylinder").ordered == -1.0


def test_a_mixed_cylinder_compares_each_meridian_with_its_own() -> None:
    made = order(eye(1.0, -2.0, 90.0), eye(1.0))
    # The weaker of two meridians of almost the same size must not be compared with the other one's power.
    verdict = verify(made, readings(as_ordered(made), sphere=0.98, cylinder=-2.0), ISO)
    high, low = item(verdict, "meridian_high"), item(verdict, "meridian_low")
    assert {high.ordered, low.ordered} == {1.0, -1.0}
    assert {high.found, low.found} == {0.98, -1.02}
    assert (high.result, low.result) == ("pass", "pass")


def test_one_figure_that_fails_returns_the_pair_and_one_that_is_borderline_asks_for_another_reading() -> None:
    exact = as_ordered(PAIR)
    borderline = verify(PAIR, readings(exact, axis=173.0), ANSI)
    assert (item(borderline, "axis").result, borderline.verdict) == ("borderline", "measure_again")
    failed = verify(PAIR, readings(exact, axis=176.0), ANSI)
    assert (item(failed, "axis").result, failed.verdict) == ("fail", "return")
    assert said(item(failed, "axis"), "error") == 6.0
    both = verify(PAIR, readings(exact, axis=176.0, height_mm=22.0), ANSI)
    assert both.verdict == "return"


def test_a_cylinder_and_its_axis_are_given_in_the_form_of_the_order() -> None:
    plus = verify(PAIR, readings(as_ordered(PAIR), sphere=-4.25, cylinder=1.0, axis=82.0), ISO)
    assert (item(plus, "cylinder").found, item(plus, "axis").found) == (-1.0, 172.0)
    assert item(plus, "axis").result == "pass"


def test_the_power_stated_by_the_lab_takes_the_place_of_the_ordered_one() -> None:
    stated = {"sphere": -3.05, "cylinder": -1.1, "axis": 168.0, "add": 1.9, "prism_up": 0.5}
    off = readings(as_ordered(PAIR), sphere=-3.05, cylinder=-1.1, axis=168.0, add=1.9, prism_up=0.5)
    assert verify(PAIR, off, ANSI).verdict != "accept"
    lab = of_values(FinishedReadings, {**off.model_dump(mode="json"), "compensated": {"right": stated}})
    verdict = verify(PAIR, lab, ANSI)
    assert verdict.verdict == "accept"
    assert item(verdict, "meridian_high").ordered == -4.15
    assert item(verdict, "add").ordered == 1.9
    assert item(verdict, "prism_vertical", "both").ordered == 0.5
    assert item(verdict, "meridian_high", "left").ordered == -2.5, "Nothing is stated for the left lens."


def test_a_near_pair_is_judged_by_the_power_to_be_made() -> None:
    values = order(RIGHT, LEFT).model_dump(mode="json") | {"use": "near"}
    near = of_values(LensOrder, {**values, "fitting": {"right": {"near_pd_mm": 30.0}, "left": {"near_pd_mm": 30.5}}})
    read = of_values(
        FinishedReadings,
        {
            "format": "finished-readings/1",
            "right": {"sphere": -1.25, "cylinder": -1.0, "axis": 170.0, "pd_mm": 30.0},
            "left": {"sphere": 0.0, "cylinder": -0.5, "axis": 10.0, "pd_mm": 30.5},
        },
    )
    verdict = verify(near, read, ISO)
    assert verdict.verdict == "accept"
    assert item(verdict, "pd", "both").ordered == 60.5
    assert not [one for one in verdict.items if one.quantity == "add"]


def test_what_is_needed_and_not_read_cannot_be_accepted_and_is_named() -> None:
    for field, named in (
        ("sphere", ("right", "meridian_high")),
        ("axis", ("right", "axis")),
        ("add", ("right", "add")),
        ("pd_mm", ("right", "pd")),
        ("height_mm", ("right", "height")),
    ):
        verdict = verify(PAIR, readings(as_ordered(PAIR), **{field: None}), ISO)
        assert (verdict.verdict, _not_read(verdict)) == ("measure_again", [named])
    assert verify(PAIR, _read(right=None), ISO).verdict == "measure_again"


def test_prism_has_to_be_read_only_where_it_is_prescribed() -> None:
    assert verify(PAIR, readings(as_ordered(PAIR), prism_in=None, prism_up=None), ISO).verdict == "accept"
    made = order(eye(-1.0, prism=[(2.0, "up")]), eye(-1.0))
    verdict = verify(made, readings(as_ordered(made), prism_up=None, prism_in=None), ISO)
    assert (verdict.verdict, _not_read(verdict)) == ("measure_again", [("both", "prism_vertical")])


def test_prism_read_of_the_pair_as_a_whole_counts_before_that_of_each_lens() -> None:
    read = readings(as_ordered(PAIR), prism_up=2.0)
    assert item(verify(PAIR, read, ISO), "prism_vertical", "both").result == "fail"
    whole = of_values(FinishedReadings, {**as_ordered(PAIR), "pair": {"bracketed_prism_v": 0.1}})
    found = item(verify(PAIR, whole, ISO), "prism_vertical", "both")
    assert (found.found, found.result) == (0.1, "pass")


def test_the_pd_of_a_weak_pair_is_held_to_the_prism_that_it_brings_and_of_a_strong_one_to_its_length() -> None:
    # 0.67 Δ by 2.00 D is 3.35 mm (Prentice); above 2.75 D the limit is 2.5 mm.
    for power, limit in ((-2.0, 3.35), (-6.0, 2.5)):
        made = order(eye(power), eye(power))
        for error, result in ((limit - 0.51, "pass"), (limit, "borderline"), (limit + 0.51, "fail")):
            found = item(verify(made, readings(as_ordered(made), pd_mm=31.5 + error), ANSI), "pd", "both")
            assert found.tolerance == pytest.approx(limit)
            assert found.result == result
    plano = order(eye(0.0), eye(0.0))
    verdict = verify(plano, readings(as_ordered(plano), pd_mm=40.0), ANSI)
    assert not [one for one in verdict.items if one.quantity == "pd"], "A lens without power has no centre."


def test_the_heights_of_single_vision_centres_are_held_against_each_other_only() -> None:
    made = order(eye(-5.0), eye(-5.0))
    verdict = verify(made, readings(as_ordered(made), height_mm=23.0), ANSI)
    found = item(verdict, "heights_pair", "both")
    assert (found.ordered, found.found, found.tolerance, found.result) == (-0.5, 1.5, 1.0, "fail")
    assert not [one for one in verdict.items if one.quantity == "height"]


def test_a_lens_by_itself_is_judged_without_the_other() -> None:
    values = PAIR.model_dump(mode="json")
    one = of_values(LensOrder, {**values, "lenses": {"right": values["lenses"]["right"], "left": None}})
    verdict = verify(one, _read(left=None), ISO)
    assert verdict.verdict == "accept"
    assert {found.eye for found in verdict.items} == {"right"}


def test_nobody_looks_through_an_occluder() -> None:
    values = PAIR.model_dump(mode="json")
    lenses = {**values["lenses"], "left": {**values["lenses"]["left"], "instruction": "occluder"}}
    verdict = verify(of_values(LensOrder, {**values, "lenses": lenses}), _read(left=None), ISO)
    assert (verdict.verdict, {found.eye for found in verdict.items}) == ("accept", {"right"})


def test_the_kind_of_a_lens_is_that_of_the_catalogue_else_of_the_order_else_of_corridor_and_add() -> None:
    values = PAIR.model_dump(mode="json")

    def limit(catalogue: LensCatalogue | None = None, **lens: Any) -> float | None:
        plain = {"design": "x", **lens}
        made = of_values(LensOrder, {**values, "lenses": {"right": plain, "left": plain}})
        return item(verify(made, _read(), ANSI, catalogue), "meridian_high").tolerance

    designs = [{"id": "x", "name": "X", "kind": "progressive", "materials": []}]
    catalogue = parse_catalogue(json.dumps({"format": "lens-catalogue/1", "lab": "Test Lab", "designs": designs}))
    assert limit() == 0.13
    assert limit(corridor_mm=14.0) == 0.16
    assert limit(extra={"design_kind": "office"}) == 0.16
    assert limit(catalogue) == 0.16


def test_a_practice_s_own_limit_is_used_and_named_and_a_looser_one_is_not() -> None:
    own = tolerance_set(ANSI).tightened({"axis_to_15_deg": 2.0, "add_to_4_d": 0.5})
    verdict = verify(PAIR, readings(as_ordered(PAIR), axis=173.5, add=2.2), own)
    axis, add = item(verdict, "axis"), item(verdict, "add")
    assert (axis.tolerance, axis.result) == (2.0, "fail")
    assert said(axis, "own_limit") == {"here": "2°", "standard": "3°"}
    assert (add.tolerance, said(add, "own_limit")) == (0.12, None)


# Slips of whoever reads the pair


def test_eyes_exchanged_are_offered_where_that_fits_and_only_there() -> None:
    exact = as_ordered(PAIR)
    verdict = verify(PAIR, _read(right=exact["left"], left=exact["right"]), ANSI)
    assert verdict.verdict == "return"
    assert [(slip["kind"], slip["eye"]) for slip in _slips(verdict)] == [("eyes-exchanged", None)]
    off = {**exact["right"], "sphere": -5.0}
    assert _slips(verify(PAIR, _read(right=exact["left"], left=off), ANSI)) == []


def test_the_sign_of_a_cylinder_is_asked_about_where_the_other_one_fits() -> None:
    exact = as_ordered(PAIR)
    verdict = verify(PAIR, readings(exact, cylinder=1.0), ANSI)
    kinds = {slip["kind"]: slip for slip in _slips(verdict)}
    assert kinds["cylinder-sign"]["field"] == "cylinder"
    assert kinds["cylinder-sign"]["eye"] == "right"
    assert "−1.00" in kinds["cylinder-sign"]["message"] or "-1.00" in kinds["cylinder-sign"]["message"]
    assert "cylinder-forms-mixed" in kinds


def test_an_axis_for_a_sphere_and_one_that_cannot_be_are_named_beside_the_axis() -> None:
    made = order(eye(-2.0), eye(-2.0))
    for_a_sphere = verify(made, readings(as_ordered(made), axis=90.0), ANSI)
    assert [(s["kind"], s["eye"], s["field"]) for s in _slips(for_a_sphere)] == [("axis-for-a-sphere", "right", "axis")]
    assert for_a_sphere.verdict == "accept"
    beyond = verify(PAIR, readings(as_ordered(PAIR), axis=197.0), ANSI)
    assert [slip["kind"] for slip in _slips(beyond)] == ["axis-not-possible"]
    assert (beyond.verdict, _not_read(beyond)) == ("measure_again", [("right", "axis")])


def test_an_add_read_as_the_near_power_is_named_with_the_add_that_it_is() -> None:
    verdict = verify(PAIR, readings(as_ordered(PAIR), add=-1.25), ANSI)
    (slip,) = _slips(verdict)
    assert (slip["kind"], slip["eye"], slip["field"]) == ("add-as-near-power", "right", "add")
    assert "2.00" in slip["message"]
    assert item(verdict, "add").result == "fail", "The figure stands as it was typed."


def test_readings_of_a_lens_that_is_not_ordered_are_named() -> None:
    values = PAIR.model_dump(mode="json")
    one = of_values(LensOrder, {**values, "lenses": {"right": values["lenses"]["right"], "left": None}})
    verdict = verify(one, _read(), ISO)
    assert [(slip["kind"], slip["eye"]) for slip in _slips(verdict)] == [("lens-not-ordered", "left")]
    assert verdict.verdict == "accept"


# Two lenses that are not alike


def test_the_weaker_lens_of_an_unequal_pair_decides_the_limit_of_prism() -> None:
    made = order(eye(-6.0), eye(-1.0))
    found = item(verify(made, readings(as_ordered(made), prism_up=0.5), ANSI), "prism_vertical", "both")
    assert (found.tolerance, found.result) == (0.33, "fail")
    assert said(found, "limit_name") == "vertical_single_to_3375_pd"


def test_the_pd_of_an_unequal_weak_pair_goes_by_what_a_shift_of_the_stronger_lens_brings() -> None:
    made = order(eye(-2.0), eye(-1.0))
    found = item(verify(made, readings(as_ordered(made), pd_mm=35.5), ANSI), "pd", "both")
    assert found.tolerance == pytest.approx(3.35)
    assert found.result == "fail"


def test_the_larger_prescribed_prism_decides_how_wide_the_limit_is() -> None:
    made = order(eye(-2.0, prism=[(6.0, "in")]), eye(-2.0))
    found = item(verify(made, readings(as_ordered(made), prism_in=6.8), ISO), "prism_horizontal", "both")
    assert (found.tolerance, found.result, said(found, "limit_name")) == (1.0, "pass", "horizontal_to_10_weak_pd")


@pytest.mark.parametrize(
    ("power", "tolerance", "name"),
    [(-5.0, 1.0, "horizontal_progressive_strong_mm"), (-3.0, 0.67, "horizontal_progressive_to_3375_pd")],
)
def test_a_mixed_pair_has_to_meet_the_stricter_of_both_limits(power: float, tolerance: float, name: str) -> None:
    """At −5.00 shifts of 2.0 and 2.5 mm; at −3.00 a prism of 0.67 Δ and a shift of 2.5 mm, which brings 0.75 Δ."""
    values = order(eye(power), eye(power)).model_dump(mode="json")
    lenses = {**values["lenses"], "right": {"design": "p", "extra": {"design_kind": "progressive"}}}
    mixed = of_values(LensOrder, {**values, "lenses": lenses})
    found = item(verify(mixed, readings(as_ordered(mixed)), ANSI), "prism_horizontal", "both")
    assert (found.tolerance, said(found, "limit_name")) == (tolerance, name)


@pytest.mark.parametrize(("sphere", "cylinder", "found"), [(0.7, -1.7, 0.7), (1.0, -2.3, -1.3)])
def test_of_two_equally_strong_meridians_the_one_that_is_off_counts(
    sphere: float, cylinder: float, found: float
) -> None:
    made = order(eye(1.0, -2.0, 90.0), eye(1.0))
    high = item(verify(made, readings(as_ordered(made), sphere=sphere, cylinder=cylinder), ANSI), "meridian_high")
    assert (high.found, high.result) == (found, "fail")


def test_uncut_lenses_have_no_centres_to_be_read() -> None:
    uncut = PAIR.model_copy(update={"supply": "uncut"})
    bare = {"pd_mm": None, "height_mm": None, "prism_in": None, "prism_up": None}
    exact = as_ordered(PAIR)
    sides = {side: {**exact[side], **bare} for side in ("right", "left")}
    verdict = verify(uncut, _read(**sides), ISO)
    assert (verdict.verdict, _not_read(verdict)) == ("accept", [])
    assert verify(PAIR, _read(**sides), ISO).verdict == "measure_again"


def test_the_centration_of_single_vision_is_read_as_pds_or_as_prism() -> None:
    made = order(eye(-2.0), eye(-2.0))
    exact = as_ordered(made)
    sides = {side: {**exact[side], "pd_mm": None} for side in ("right", "left")}
    assert verify(made, _read(**sides), ISO).verdict == "accept", "No prism where the eyes look through: well centred."
    bare = {side: {**one, "prism_in": None, "prism_up": None} for side, one in sides.items()}
    verdict = verify(made, _read(**bare), ISO)
    assert (verdict.verdict, _not_read(verdict)) == ("measure_again", [("both", "pd")])
