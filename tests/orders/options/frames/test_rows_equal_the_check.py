"""A row of the comparison says what the check says of the order with that frame, to the last digit."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator, Sequence

import pytest

from dispensing.trade import PracticeLimits
from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import LensOrder, parse_order
from orders.options.change import changed
from orders.options.frame_proposals import stock_frames
from orders.options.frames.comparison import FrameRow, compare_frames
from orders.rules import check
from orders.rules.case import Case
from orders.rules.examples import clean_order, example_catalogue
from tests.orders.bad_orders import orders as bad
from tests.orders.corpus.clean_orders import catalogues
from tests.orders.corpus.clean_orders import clean_orders as drawn_orders
from tests.orders.options.frames.stock import drawn, odd

Drawn = tuple[str, LensOrder, LensCatalogue, Sequence[LensOrder]]
FRAMES = [*drawn(3, 6), *odd(4, 6)]


def bad_orders() -> Iterator[Drawn]:
    for written in [*bad.bad_orders()[5::17], *bad.clean_orders()[5::17]]:
        yield written.id, written.order, bad.catalogue(), written.beside


def drawn_from_the_corpus() -> Iterator[Drawn]:
    by_lab = {catalogue.lab: catalogue for catalogue in catalogues()}
    for one in drawn_orders(seed=57, count=10):
        order = parse_order(json.dumps(one.document))
        yield order.number or "", order, by_lab[order.lab.name or ""], ()


@pytest.mark.parametrize("drawn_cases", [bad_orders, drawn_from_the_corpus])
def test_rows_of_many_orders_equal_the_report_on_the_order_with_that_frame(
    drawn_cases: Callable[[], Iterator[Drawn]],
) -> None:
    seen = 0
    for name, order, catalogue, others in drawn_cases():
        for row in compare_frames(order, catalogue, FRAMES, others=others):
            equals_the_check(name, row, catalogue, others)
            seen += 1
    assert seen >= 100


def equals_the_check(
    name: str,
    row: FrameRow,
    catalogue: LensCatalogue,
    others: Sequence[LensOrder] = (),
    practice: PracticeLimits | None = None,
) -> None:
    order = parse_order(row.order.model_dump_json())
    report = check(order, catalogue, others, practice)
    said = [(part.rule, part.level, part.eye) for part in report.findings]
    assert [(part.rule, part.level, part.eye) for part in row.findings] == said, (name, row.frame.model)
    assert row.verdict == report.verdict, (name, row.frame.model)
    # As text, because 0.0 and −0.0 are equal and None is no figure.
    assert row.computed.model_dump_json() == report.computed.model_dump_json(), (name, row.frame.model)


def test_the_order_of_a_row_is_the_order_with_only_frame_and_heights_changed() -> None:
    order = clean_order()
    row = compare_frames(order, example_catalogue(), drawn(1, 1))[0]
    fitting = row.order.fitting
    assert row.order.frame.a_mm == drawn(1, 1)[0].a_mm
    assert row.order.frame.source == order.frame.source
    right, left = (
        fitting.eye(eye).model_copy(update={"height_mm": order.fitting.eye(eye).height_mm}) for eye in ("right", "left")
    )
    back = {"frame": order.frame, "fitting": fitting.model_copy(update={"right": right, "left": left})}
    assert row.order.model_copy(update=back) == order


def test_a_row_says_of_a_frame_what_its_remedy_was_judged_by() -> None:
    order, catalogue = clean_order(), example_catalogue()
    frames = drawn(9, 5)
    for proposal in stock_frames(Case(order, catalogue), frames):
        model = proposal.change["frame"]["model"]
        row = next(row for row in compare_frames(order, catalogue, frames) if row.frame.model == model)
        report = check(changed(order, proposal.change), catalogue)
        assert row.computed.model_dump_json() == report.computed.model_dump_json()
        assert row.verdict == report.verdict


def test_what_the_practice_tightened_or_silenced_holds_for_frames_too() -> None:
    practice = PracticeLimits({"edge-thick": {"rimmed_mm": 2.0}}, frozenset({"decentration"}))
    frames, order, catalogue = drawn(2, 12), clean_order(), example_catalogue()
    rows = compare_frames(order, catalogue, frames, practice_limits=practice)
    for row in rows:
        equals_the_check("practice", row, catalogue, practice=practice)
    own = Counter(finding.rule for row in rows for finding in row.findings)
    usual = Counter(finding.rule for row in compare_frames(order, catalogue, frames) for finding in row.findings)
    assert own["edge-thick"] > usual["edge-thick"]
    assert (own["decentration"], usual["decentration"] > 0) == (0, True)


@pytest.mark.parametrize("kind", ["single", "bifocal", "progressive"])
def test_every_kind_of_lens_and_a_single_one_can_be_compared(kind: str) -> None:
    document = json.loads(clean_order().model_dump_json())
    for eye in ("right", "left"):
        document["lenses"][eye] |= {"design": kind, "corridor_mm": None, "blank_mm": None}
    document["lenses"]["left"] = None
    rows = compare_frames(parse_order(json.dumps(document)), example_catalogue(), FRAMES)
    for row in rows:
        equals_the_check(kind, row, example_catalogue())
    assert {row.weight_pair_g for row in rows} == {None}
    assert all(row.computed.left.power is None for row in rows)


def test_two_lenses_that_differ_in_design_and_material_are_each_worked_out_as_they_are() -> None:
    catalogue = example_catalogue()
    now = clean_order().lenses.left
    other = next(material.id for material in catalogue.materials if now and material.id != now.material)
    change = {"lenses.left.design": "single", "lenses.left.material": other, "lenses.left.corridor_mm": None}
    order = changed(clean_order(), {**change, "fitting.left.height_mm": 17.5})
    rows = compare_frames(order, catalogue, FRAMES)
    for row in rows:
        equals_the_check("unlike", row, catalogue)
    assert any(row.weight_pair_g is not None for row in rows)


def test_without_a_frame_or_a_lens_there_are_no_rows() -> None:
    assert compare_frames(clean_order(), example_catalogue(), []) == ()
    bare = changed(clean_order(), {"lenses.right": None, "lenses.left": None})
    assert compare_frames(bare, example_catalogue(), FRAMES) == ()
