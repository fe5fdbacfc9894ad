"""What would clear a finding: offered only once the check agrees, with the smallest change first."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from orders.documents.lens_order import FramePart, LensOrder, parse_order
from orders.documents.order_report import OrderReport
from orders.options import FindingKey, Remedy, changed, finding_key, frame_proposals, lens_proposals, remedies
from orders.options.by_rule import PROPOSERS, WITH_ANOTHER_FRAME
from orders.options.change import NoSuchKey
from orders.rules import PracticeLimits, check
from orders.rules.case import Case
from orders.rules.examples import Example, all_examples, clean_order, example_catalogue
from orders.rules.registry import all_rules
from tests.known import there

CATALOGUE = example_catalogue()
STOCK = tuple(
    FramePart(model=model, mount="full_rim", a_mm=a, b_mm=b, dbl_mm=dbl, ed_mm=ed, front_curve_d=5.0)
    for model, a, b, dbl, ed in (
        ("Small", 46.0, 34.0, 17.0, 49.0),
        ("Middle", 50.0, 38.0, 17.0, 53.0),
        ("Deep", 51.0, 42.0, 18.0, 56.0),
        ("Shallow", 51.0, 26.0, 17.0, 53.0),
    )
)


def order(change: dict[str, Any] | None = None) -> LensOrder:
    return changed(clean_order(), change or {})


def ways(of: LensOrder, rule: str, eye: str | None = "right", frames: Any = STOCK, **kwargs: Any) -> tuple[Remedy, ...]:
    found = remedies(of, CATALOGUE, check(of, CATALOGUE), frames, **kwargs)
    return next((value for key, value in found.items() if key[:2] == (rule, eye)), ())


def both(key: str, value: object) -> dict[str, Any]:
    return {f"lenses.{eye}.{key}": value for eye in ("right", "left")}


def texts(found: Sequence[Remedy]) -> list[str]:
    return [remedy.text for remedy in found]


WITH_WAYS = [
    example
    for example in all_examples()
    if example.kind == "trips" and (example.rule in PROPOSERS or example.rule == "in-range")
]


def stops(report: OrderReport) -> set[FindingKey]:
    return {finding_key(part) for part in report.findings if part.level == "stop"}


@pytest.mark.parametrize("example", WITH_WAYS, ids=lambda example: f"{example.rule}: {example.says}")
def test_every_remedy_offered_clears_its_finding_and_brings_no_new_stop(example: Example) -> None:
    given, catalogue, others = example.order(), example.lens_catalogue(), example.other_orders()
    report = check(given, catalogue, others)
    for key, offered in remedies(given, catalogue, report, STOCK, others=others, only=[example.rule]).items():
        assert 1 <= len(offered) <= 3
        assert len(set(texts(offered))) == len(offered)
        for remedy in offered:
            after = check(changed(given, remedy.change), catalogue, others)
            assert key not in {finding_key(part) for part in after.findings}, remedy.text
            assert stops(after) <= stops(report), remedy.text


@pytest.mark.parametrize("example", WITH_WAYS, ids=lambda example: f"{example.rule}: {example.says}")
def test_a_remedy_is_one_plain_sentence_and_its_change_travels_as_json(example: Example) -> None:
    given, catalogue = example.order(), example.lens_catalogue()
    for offered in remedies(given, catalogue, check(given, catalogue), STOCK, only=[example.rule]).values():
        for remedy in offered:
            assert remedy.text.endswith(".")
            assert "None" not in remedy.text
            assert "_" not in remedy.text
            assert changed(given, json.loads(json.dumps(dict(remedy.change)))) == changed(given, remedy.change)


def test_a_clean_order_needs_no_remedy() -> None:
    assert remedies(order(), CATALOGUE, check(order(), CATALOGUE), STOCK) == {}


WIDER = {"frame.a_mm": 54.0, "frame.ed_mm": 57.0}
"""In this box the clean order needs blanks of 68.4 and 67.1 mm: 65 is too small, 70 and 75 are listed."""


def test_a_blank_too_small_is_cured_by_the_next_larger_one() -> None:
    first, *rest = ways(order({**WIDER, **both("blank_mm", 65.0)}), "blank-size")
    assert first.text == "Order the 70 mm blank for both lenses."
    assert first.change == both("blank_mm", 70.0)
    assert first.is_applicable
    assert rest


def test_one_blank_too_small_is_cured_in_that_lens_alone() -> None:
    first = ways(order({**WIDER, "lenses.right.blank_mm": 65.0}), "blank-size")[0]
    assert first.text == "Order the 70 mm blank for the right lens."
    assert first.change == {"lenses.right.blank_mm": 70.0}


def test_a_height_too_low_for_the_corridor_offers_the_shorter_one_for_both_lenses() -> None:
    low = order({"fitting.right.height_mm": 16.0, "fitting.left.height_mm": 16.0})
    first = ways(low, "minimum-height")[0]
    assert first.text == "Order the 11 mm corridor for both lenses."
    assert first.change == both("corridor_mm", 11.0)


def test_a_corridor_is_not_offered_where_the_height_is_too_low_for_it_as_well() -> None:
    low = order({"fitting.right.height_mm": 14.0, "fitting.left.height_mm": 14.0})
    assert all("corridor for both" not in text for text in texts(ways(low, "minimum-height")))


def test_moving_the_frame_on_the_face_is_advice_and_never_a_measured_height() -> None:
    low = order({"fitting.right.height_mm": 17.0, "fitting.left.height_mm": 17.0})
    moved = next(remedy for remedy in ways(low, "minimum-height") if remedy.kind == "height")
    assert moved.text == "Adjust the frame to sit 1 mm lower, and measure again."
    assert not moved.is_applicable


def test_a_frame_too_wide_offers_stock_frames_and_says_that_they_must_be_measured_in() -> None:
    wide = order({"frame.a_mm": 58.0, "frame.ed_mm": 61.0})
    found = [remedy for remedy in ways(wide, "decentration") if remedy.kind == "frame"]
    assert texts(found)[0] == "Choose the frame Deep (51□18, 42 deep) and measure in it."
    assert not found[0].is_applicable
    assert found[0].outcome == "decentration 3 mm, now 6.5 mm"


def test_without_stock_no_frame_is_offered() -> None:
    wide = order({"frame.a_mm": 58.0, "frame.ed_mm": 61.0})
    assert ways(wide, "decentration", frames=()) == ()


def test_a_thick_edge_is_cured_by_a_higher_index_with_the_figure() -> None:
    strong = {f"prescription.{eye}.sphere": -9.0 for eye in ("right", "left")}
    thick = order({**strong, **both("material", "m150"), **both("blank_mm", None)})
    found = [remedy for remedy in ways(thick, "edge-thick") if remedy.kind == "material"]
    assert found[0].outcome.startswith("edge up to ")
    then, now = (float(part.split()[-2]) for part in found[0].outcome.split(","))
    assert then <= 8.0 < now


def test_a_remedy_that_raises_another_question_says_which() -> None:
    strong = {f"prescription.{eye}.sphere": -5.0 for eye in ("right", "left")}
    given = order({**strong, **both("material", "m150")})
    assert {remedy.text: remedy.raises for remedy in ways(given, "index-for-power")} == {
        "Order 1.60 for both lenses.": (),
        "Order Tough 1.59 for both lenses.": ("Strong power in a material that spreads colours little",),
    }


def test_a_high_index_is_left_only_where_no_other_question_would_follow() -> None:
    strong = {f"prescription.{eye}.sphere": -5.0 for eye in ("right", "left")}
    large = {"frame.a_mm": 60.0, "frame.b_mm": 46.0, "frame.ed_mm": 64.0}
    in_small, in_large = (order({**strong, **size, **both("material", "m167")}) for size in ({}, large))
    [other] = [remedy for remedy in ways(in_small, "low-abbe") if "1.60" in remedy.text]
    assert other.raises == ()
    assert ways(in_large, "low-abbe") == ()


def test_a_new_material_keeps_the_treatments_it_takes_and_says_which_it_loses() -> None:
    given = order(
        {**both("material", "m150"), **both("treatments", ["hard", "tint-dark"]), "patient.born_on": "2012-01-01"}
    )
    tough = next(remedy for remedy in ways(given, "impact-need") if remedy.kind == "material")
    assert tough.text == "Order Tough 1.59 for both lenses, with Light tint, without Sun tint."
    assert tough.change["lenses.right.treatments"] == ["hard", "tint-light"]


def test_large_prism_is_shared_with_the_same_effect_on_the_pair() -> None:
    given = order({"prescription.right.prism": [{"amount": 5.0, "base": "up"}]})
    shared = ways(given, "prism-split")[0]
    assert shared.change == {
        "prescription.right.prism": [{"amount": 2.5, "base": "up"}],
        "prescription.left.prism": [{"amount": 2.5, "base": "down"}],
    }
    assert not shared.is_applicable


def test_a_promise_too_early_offers_the_first_day_that_will_do() -> None:
    early = order({"needed_on": "2026-11-27"})
    (day,) = ways(early, "promise-date", None)
    assert day.change == {"needed_on": "2026-12-04"}
    assert check(changed(early, {"needed_on": "2026-12-03"}), CATALOGUE).verdict == "ask"


def test_a_missing_pd_has_no_computed_way_out() -> None:
    given = order({"fitting.right.pd_mm": None})
    assert all(key[0] != "monocular-pd-needed" for key in remedies(given, CATALOGUE, check(given, CATALOGUE), STOCK))


def test_what_somebody_settled_already_needs_no_remedy() -> None:
    given = order(
        {**both("blank_mm", 65.0), "lifted": [{"rule": "blank-size", "eye": "both", "by": "A", "reason": "B"}]}
    )
    assert ways(given, "blank-size") == ()


def test_the_practices_own_limits_hold_for_remedies_too() -> None:
    wide = order({"frame.a_mm": 58.0, "frame.ed_mm": 61.0})
    strict = PracticeLimits({"decentration": {"in_max_mm": 2.0}})
    found = remedies(wide, CATALOGUE, check(wide, CATALOGUE, (), strict), STOCK, practice_limits=strict)
    offered = found.get(("decentration", "right", "frame.a_mm"), ())
    assert all("Deep" not in remedy.text for remedy in offered)


def test_a_single_eye_order_is_changed_in_its_own_lens_only() -> None:
    given = order({**WIDER, "lenses.left": None, "lenses.right.blank_mm": 65.0})
    assert ways(given, "blank-size")[0].change == {"lenses.right.blank_mm": 70.0}


def test_a_change_of_what_is_not_there_names_the_key() -> None:
    with pytest.raises(NoSuchKey, match=r"lenses.right.shine"):
        changed(order(), {"lenses.right.shine": 1})
    with pytest.raises(NoSuchKey, match=r"lenses.left.blank_mm"):
        changed(order(), {"lenses.left.blank_mm": "large"})
    with pytest.raises(NoSuchKey, match=r"lenses.left.blank_mm"):
        changed(order({"lenses.left": None}), {"lenses.left.blank_mm": 70.0})


def test_a_change_leaves_the_order_it_came_from_alone() -> None:
    given = order()
    changed(given, both("corridor_mm", 11.0))
    assert given == parse_order(given.model_dump_json())
    assert there(given.lenses.right).corridor_mm == 14


def test_every_rule_with_ways_out_is_a_rule() -> None:
    assert set(PROPOSERS) | WITH_ANOTHER_FRAME <= {rule.id for rule in all_rules()}


def test_a_remedy_of_a_lens_is_applied_and_one_of_a_record_is_not() -> None:
    remedy = Remedy("blank", "x", {"lenses.right.blank_mm": 70.0})
    assert remedy.is_applicable
    assert not replace(remedy, change={"lenses.right.blank_mm": 70.0, "fitting.right.height_mm": 18.0}).is_applicable


def test_an_optical_centre_at_the_pupil_of_a_tilted_strong_lens_is_lowered_by_all_that_the_tilt_asks() -> None:
    strong = {
        **both("design", "single"),
        **both("corridor_mm", None),
        "prescription.right.sphere": -6.0,
        "prescription.left.sphere": -6.0,
        "prescription.use": "distance",
        "fitting.right.height_mm": 22.0,
        "fitting.left.height_mm": 22.5,
    }
    # 9 degrees at 13 mm: 26.5 sin 9° is 4.1 mm, said to half a millimetre.
    first = ways(order(strong), "optical-centre-drop")[0]
    assert first.text == "Lower the optical centres for the tilt: right 18 mm and left 18.5 mm high."
    assert first.change == {"fitting.right.height_mm": 18.0, "fitting.left.height_mm": 18.5}


def test_a_lens_that_lists_no_materials_is_offered_in_all_of_the_catalogue() -> None:
    anything = [one.model_copy(update={"materials": ()}) for one in CATALOGUE.designs]
    catalogue = CATALOGUE.model_copy(update={"designs": tuple(anything)})
    drilled = order({"frame.mount": "drilled", **both("material", "m150")})
    found = remedies(drilled, catalogue, check(drilled, catalogue), STOCK, only=["drill-material"])
    assert "Order 1.60 for both lenses." in [text for offered in found.values() for text in texts(offered)]


STRONG = {
    "prescription.right.sphere": -9.0,
    "prescription.right.cylinder": -1.0,
    "fitting.right.vertex_mm": 15.0,
    "fitting.left.vertex_mm": 12.0,
}


def test_the_power_carried_to_the_worn_distance_is_worked_out_and_ordered() -> None:
    basic = order({**STRONG, **both("design", "progressive-basic"), **both("corridor_mm", 13)})

    # −9.00 from 12 to 15 mm: −9 / (1 + 0.003 × −9) = −9.25; −10 / (1 + 0.003 × −10) = −10.31, in eighths.
    carried = ways(basic, "vertex-effect")[0]
    assert carried.change == {
        "power_basis": "carried_to_vertex",
        "lenses.right.power": {"sphere": -9.25, "cylinder": -1.0, "axis": 170.0},
        "lenses.left.power": {"sphere": -1.75, "cylinder": -0.5, "axis": 15.0},
    }
    assert carried.is_applicable
    assert "right −9.25/−1.00×170, left −1.75/−0.50×15" in carried.text


def test_a_lens_that_compensates_itself_is_never_ordered_carried() -> None:
    assert [part.rule for part in check(order(STRONG), CATALOGUE).findings if part.eye == "right"] != []
    assert ways(order(STRONG), "vertex-effect") == ()


def test_a_progressive_for_near_may_be_said_to_be_for_both() -> None:
    assert [way.change for way in ways(order({"use": "near"}), "use-and-design", None)] == [
        {"use": "distance_and_near"}
    ]


def test_for_a_wrap_only_wraps_are_offered_and_for_another_front_none() -> None:
    steep = tuple(frame.model_copy(update={"model": f"Steep {frame.model}", "front_curve_d": 8.0}) for frame in STOCK)
    minus = {f"prescription.{eye}.sphere": -4.5 for eye in ("right", "left")}
    large = {**minus, **both("blank_mm", None), **both("base_curve_d", 8.0), "frame.a_mm": 60.0, "frame.ed_mm": 63.0}
    for wrap in ({"frame.front_curve_d": 8.0}, {"frame.front_curve_d": None, "fitting.face_form_deg": 16.0}):
        offered = ways(order({**large, **wrap}), "edge-thick", frames=STOCK + steep)
        frames = [remedy.text for remedy in offered if remedy.kind == "frame"]
        assert frames
        assert all(text.startswith("Choose the frame Steep ") for text in frames)
    strong = {f"prescription.{eye}.sphere": -5.0 for eye in ("right", "left")}
    dress = order({**large, **strong, **both("base_curve_d", 4.0)})
    frames = [remedy.text for remedy in ways(dress, "edge-thick", frames=STOCK + steep) if remedy.kind == "frame"]
    assert frames
    assert not any("Steep" in text for text in frames)


def test_another_design_of_the_same_kind_is_proposed_with_a_material_and_a_corridor_it_has() -> None:
    case = Case(order({**both("design", "progressive-basic"), **both("material", "m150")}), CATALOGUE)
    [one] = lens_proposals.designs(case, case.right)
    assert one.text.startswith("Order Progressive One with the ")
    assert one.text.endswith(" corridor for both lenses.")
    assert (one.change["lenses.right.design"], one.change["lenses.left.design"]) == ("progressive", "progressive")
    dear = Case(order({**both("design", "progressive"), **both("material", "m167")}), CATALOGUE)
    [other] = lens_proposals.designs(dear, dear.right)
    assert other.text.startswith("Order Progressive Basic")
    assert ", in 1.60" in other.text
    assert other.change["lenses.right.material"] == "m160"


@pytest.mark.parametrize(("wider", "proposed"), [(0.0, False), (0.049, False), (0.051, True)])
def test_a_frame_of_the_same_size_is_no_other_frame(wider: float, proposed: bool) -> None:
    now = clean_order().frame
    other = now.model_copy(update={"model": "Other", "a_mm": there(now.a_mm) + wider})
    assert bool(frame_proposals._nearest(now, [other])) is proposed
