"""What must not change a verdict, over any pair: how a power is written, which eye it is, and stricter limits."""

from __future__ import annotations

from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st

from dispensing.trade.facts import STANDARDS
from dispensing.trade.tolerances import tolerance_set
from orders.documents.finished_pair import FinishedReadings, FinishedVerdict
from orders.documents.lens_order import LensOrder
from orders.verification import verify
from tests.orders.verification.pairs import as_ordered, eye, order, readings

SEVERITY = {"pass": 0, "borderline": 1, "fail": 2}
VERDICTS = {"accept": 0, "measure_again": 1, "return": 2}
MIRRORED = {"right": "left", "left": "right", "both": "both"}

quarter = st.integers(-40, 40).map(lambda steps: steps / 4.0)
cylinders = st.integers(-24, 24).map(lambda steps: steps / 4.0)
axes = st.integers(1, 180).map(float)
small = st.integers(-60, 60).map(lambda hundredths: hundredths / 100.0)
kinds = st.sampled_from(["single_vision", "multifocal", "progressive"])
standards = st.sampled_from(STANDARDS)


@st.composite
def eyes(draw: st.DrawFn) -> dict[str, Any]:
    prism = draw(st.sampled_from([(), ((1.5, "in"),), ((3.0, "up"), (1.0, "out"))]))
    return eye(draw(quarter), draw(cylinders), draw(axes), draw(st.sampled_from([1.0, 2.0, 2.5])), prism)


@st.composite
def pairs(draw: st.DrawFn) -> tuple[LensOrder, dict[str, Any]]:
    """An order of a pair, and readings of it that are off here and there."""
    made = order(draw(eyes()), draw(eyes()), draw(kinds))
    read = as_ordered(made)
    for side in ("right", "left"):
        off = {name: value + draw(small) for name, value in read[side].items() if value is not None}
        if read[side]["axis"] is not None:
            off["axis"] = (read[side]["axis"] + draw(st.integers(-6, 6))) % 180.0
        read[side] = {**read[side], **off}
    return made, read


def _other_form(power: dict[str, Any]) -> dict[str, Any]:
    if not power["cylinder"] or power["axis"] is None:
        return power
    turned = power["axis"] - 90.0 if power["axis"] > 90.0 else power["axis"] + 90.0
    return {**power, "sphere": power["sphere"] + power["cylinder"], "cylinder": -power["cylinder"], "axis": turned}


def _results(verdict: FinishedVerdict) -> list[tuple[Any, Any, str]]:
    return [(one.eye, one.quantity, one.result) for one in verdict.items]


@given(pairs(), standards, st.sampled_from([("right",), ("left",), ("right", "left")]))
def test_the_cylinder_form_of_a_reading_changes_nothing(
    pair: tuple[LensOrder, dict[str, Any]], standard: str, sides: tuple[str, ...]
) -> None:
    made, read = pair
    turned = {**read, **{side: _other_form(read[side]) for side in sides}}
    before, after = verify(made, readings(read), standard), verify(made, readings(turned), standard)
    assert (before.verdict, _results(before)) == (after.verdict, _results(after))


@given(pairs(), standards)
def test_the_cylinder_form_of_the_order_changes_nothing(pair: tuple[LensOrder, dict[str, Any]], standard: str) -> None:
    made, read = pair
    written = made.prescription.model_dump(mode="json")
    values = {side: _other_form(written[side]) for side in ("right", "left")}
    other = order(values["right"], values["left"], _kind(made))
    before, after = verify(made, readings(read), standard), verify(other, readings(read), standard)
    assert (before.verdict, _results(before)) == (after.verdict, _results(after))


def _kind(made: LensOrder) -> str:
    assert made.lenses.right is not None
    kind = (made.lenses.right.extra or {})["design_kind"]
    return "multifocal" if kind == "bifocal" else str(kind)


@given(pairs(), standards)
def test_an_axis_of_nought_is_one_of_180(pair: tuple[LensOrder, dict[str, Any]], standard: str) -> None:
    made, read = pair
    assume(read["right"]["axis"] is not None)
    nought, half_turn = (readings(read, axis=axis) for axis in (0.0, 180.0))
    assert _results(verify(made, nought, standard)) == _results(verify(made, half_turn, standard))


@given(pairs(), standards, st.data())
def test_stricter_limits_never_make_a_verdict_milder(
    pair: tuple[LensOrder, dict[str, Any]], standard: str, data: st.DataObject
) -> None:
    made, read = pair
    limits = tolerance_set(standard)
    names = data.draw(st.sets(st.sampled_from([row.limit.name for row in limits.rows]), max_size=40))
    own = {name: limits.named(name).value * data.draw(st.floats(0.0, 1.5)) for name in sorted(names)}
    by_standard = verify(made, readings(read), limits)
    by_practice = verify(made, readings(read), limits.tightened(own))
    assert VERDICTS[by_practice.verdict] >= VERDICTS[by_standard.verdict]
    for theirs, ours in zip(by_standard.items, by_practice.items, strict=True):
        assert (theirs.eye, theirs.quantity) == (ours.eye, ours.quantity)
        assert SEVERITY[ours.result] >= SEVERITY[theirs.result]


@given(pairs(), standards)
def test_exchanging_both_eyes_exchanges_the_verdict(pair: tuple[LensOrder, dict[str, Any]], standard: str) -> None:
    made, read = pair
    other_order = _exchanged_order(made)
    other_read = {**read, "right": read["left"], "left": read["right"]}
    before, after = verify(made, readings(read), standard), verify(other_order, readings(other_read), standard)
    assert before.verdict == after.verdict
    mirrored = sorted((MIRRORED[str(eye)], str(quantity), result) for eye, quantity, result in _results(after))
    assert sorted((str(eye), str(quantity), result) for eye, quantity, result in _results(before)) == mirrored


def _exchanged_order(made: LensOrder) -> LensOrder:
    def swapped(part: Any) -> Any:
        return part.model_copy(update={"right": part.left, "left": part.right})

    parts = {name: swapped(getattr(made, name)) for name in ("prescription", "fitting", "lenses")}
    return made.model_copy(update=parts)


@given(
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from(sorted(as_ordered(order(eye(1.0), eye(1.0)))["right"])),
)
def test_no_reading_breaks_the_verdict(value: float, field: str) -> None:
    made = order(eye(-2.0, -1.0, 90.0, 2.0), eye(-2.0, -1.0, 90.0, 2.0), "progressive")
    read: FinishedReadings = readings(as_ordered(made), **{field: value})
    assert verify(made, read, "iso-21987-2017").verdict in VERDICTS
