"""The order drawing, measured as with a ruler: places are read back from the SVG and compared with the order, in mm."""

from __future__ import annotations

import math
import re
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from dispensing.optics.boxing import LensShape
from orders.documents.lens_order import parse_order
from orders.drawings import order_drawing, shape_drawing, thickness_drawing
from orders.rules import check
from tests.known import there
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, PROGRESSIVE, order, traced

NS = "{http://www.w3.org/2000/svg}"


class Drawn:
    """The parts of a drawing by kind, y turned up again."""

    def __init__(self, svg: str) -> None:
        self.root = ET.fromstring(svg)
        self.title = self.root.findtext(f"{NS}title")
        self.desc = self.root.findtext(f"{NS}desc")
        self.texts = [element.text for element in self.root.iter(f"{NS}text")]

    def of(self, kind: str) -> list[Any]:
        return [element for element in self.root.iter() if element.get("class") == f"drawing-{kind}"]

    def circles(self, kind: str) -> list[Any]:
        return [tuple(float(e.get(k)) * s for k, s in (("cx", 1), ("cy", -1), ("r", 1))) for e in self.of(kind)]

    def points(self, kind: str) -> list[Any]:
        pairs = [e.get("points").split() for e in self.of(kind) if e.get("points")]
        return [[(float(p.split(",")[0]), -float(p.split(",")[1])) for p in pair] for pair in pairs]

    def lines(self, kind: str) -> list[Any]:
        names = (("x1", 1), ("y1", -1), ("x2", 1), ("y2", -1))
        return [tuple(float(e.get(k)) * s for k, s in names) for e in self.of(kind) if e.tag == f"{NS}line"]


def pupil_mm(pd_mm: float) -> float:
    """From the middle of an 18 mm bridge: beyond it the lens, turned by 5° of face form, is longer than the PD."""
    return 9.0 + (pd_mm - 9.0) / math.cos(math.radians(5.0))


def drawn(**changes: Any) -> Drawn:
    return Drawn(order_drawing(order(**changes), CATALOGUE_DOCUMENT))


def box(points: list[tuple[float, float]]) -> tuple[Any, ...]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), max(xs), min(ys), max(ys)


def test_the_wearers_right_lens_is_on_the_left_and_the_boxes_stand_apart_by_dbl() -> None:
    right, left = (box(points) for points in drawn().points("shape"))
    assert right == pytest.approx((-59, -9, -20, 20), abs=0.01)
    assert left == pytest.approx((9, 59, -20, 20), abs=0.01)


def test_a_traced_shape_is_drawn_as_traced_and_the_left_one_is_its_mirror_image() -> None:
    shape = traced()
    right, left = drawn(frame__shape=shape).points("shape")
    expected = LensShape(shape["radii_mm"], "right").points()
    assert [(x + 34, y) for x, y in right] == [pytest.approx(tuple(point), abs=0.002) for point in expected]
    mirrored = sorted((-x, y) for x, y in left)
    for one, other in zip(sorted(right), mirrored, strict=True):
        assert one == pytest.approx(other, abs=0.003)


def test_each_cross_stands_at_its_own_pd_and_height() -> None:
    upright = [line for line in drawn().lines("cross") if line[0] == line[2]]
    (right, left) = [(x, (y1 + y2) / 2) for x, y1, _, y2 in upright]
    assert right == pytest.approx((-pupil_mm(31.0), 22.0 - 20.0), abs=0.01)
    assert left == pytest.approx((pupil_mm(32.5), 21.5 - 20.0), abs=0.01)


def test_the_blank_of_a_single_vision_lens_is_centred_on_the_optical_centre() -> None:
    right, left = drawn().circles("blank")
    assert right == pytest.approx((-pupil_mm(31.0), 2.0, 32.5), abs=0.01)
    assert left == pytest.approx((pupil_mm(32.5), 1.5, 32.5), abs=0.01)


def test_a_progressive_blank_hangs_below_the_cross_and_the_near_circle_is_nasal() -> None:
    picture = drawn(lenses__right=PROGRESSIVE, lenses__left=PROGRESSIVE)
    right, left = picture.circles("blank")
    assert right == pytest.approx((-pupil_mm(31.0), 2.0 - 4.0, 35.0), abs=0.01)
    near_right, near_left = picture.circles("near-circle")
    assert near_right == pytest.approx((2.5 - pupil_mm(31.0), 2.0 - 14.0, 4.0), abs=0.01)
    assert near_left == pytest.approx((pupil_mm(32.5) - 2.5, 1.5 - 14.0, 4.0), abs=0.01)
    assert left[0] == pytest.approx(pupil_mm(32.5), abs=0.01)


def test_nothing_is_hatched_when_the_lens_cuts_out() -> None:
    assert not drawn().of("hatch")


def test_what_the_blank_misses_is_hatched_and_lies_in_the_shape_and_beyond_the_blank() -> None:
    picture = drawn(fitting__right__pd_mm=24.0)
    assert {(x1 < 0) for x1, *_ in picture.lines("hatch")} == {True}, "only the right lens is short"
    (part,) = picture.points("missing")
    centre_x, centre_y, radius = picture.circles("blank")[0]
    usable = radius - 1.0
    for x, y in part:
        assert math.hypot(x - centre_x, y - centre_y) >= usable - 0.01
    for x1, y1, x2, y2 in picture.lines("hatch"):
        middle = ((x1 + x2) / 2, (y1 + y2) / 2)
        assert math.hypot(middle[0] - centre_x, middle[1] - centre_y) >= usable - 0.02
    shape = picture.points("shape")[0]
    assert box(part)[0] >= box(shape)[0] - 0.01


def test_drawing_and_check_say_the_same_about_the_blank() -> None:
    short = order(fitting__right__pd_mm=24.0)
    report = check(short, CATALOGUE_DOCUMENT)
    found = next(f.found for f in report.findings if (f.rule, f.eye) == ("blank-size", "right"))
    texts = Drawn(order_drawing(short, CATALOGUE_DOCUMENT)).texts
    assert sum("short" in there(text) for text in texts) == 1
    assert any(f"needs {found:.1f} mm" in there(text) for text in texts)


def test_the_decentration_arrow_runs_from_the_boxed_centre_to_the_cross() -> None:
    right, left = drawn().lines("arrow")
    assert right == pytest.approx((-34.0, 0.0, -pupil_mm(31.0), 2.0), abs=0.01)
    assert left == pytest.approx((34.0, 0.0, pupil_mm(32.5), 1.5), abs=0.01)


def test_the_scale_bar_is_fifty_millimetres_and_life_size_on_paper() -> None:
    svg = order_drawing(order(), CATALOGUE_DOCUMENT)
    picture = Drawn(svg)
    x1, _, x2, _ = picture.lines("scale")[0]
    assert x2 - x1 == pytest.approx(50.0)
    width = float(there(picture.root.get("width")).removesuffix("mm"))
    assert width == pytest.approx(float(there(picture.root.get("viewBox")).split()[2]), abs=0.001)
    half = Drawn(order_drawing(order(), CATALOGUE_DOCUMENT, scale=0.5))
    assert float(there(half.root.get("width")).removesuffix("mm")) == pytest.approx(width / 2, abs=0.001)


def test_sizes_and_centring_are_written_beside_their_lines() -> None:
    texts = drawn().texts
    for figure in ("A 50.0", "B 40.0", "DBL 18.0", "PD 31.0", "PD 32.5", "h 22.0", "h 21.5", "R", "L", "50 mm"):
        assert figure in texts


def test_a_reader_who_does_not_see_it_is_told_what_it_shows() -> None:
    picture = drawn(fitting__right__pd_mm=24.0)
    assert picture.title == "Drawing of order D-00042"
    assert "A 50.0 mm, B 40.0 mm, DBL 18.0 mm" in there(picture.desc)
    assert "Right lens: optical centre 9.9 mm in and 2.0 mm up of the boxed centre" in there(picture.desc)
    assert re.search(r"mm needed, \d+\.\d mm short", there(picture.desc))
    assert picture.root.get("role") == "img"


def test_the_thickest_place_of_each_lens_is_marked_where_the_report_says_how_thick_it_is() -> None:
    picture = drawn()
    report = check(order(), CATALOGUE_DOCUMENT).computed
    dots = picture.circles("thickest")
    outlines = picture.points("shape")
    for dot, outline, eye in zip(dots, outlines, (report.right, report.left), strict=True):
        assert min(math.dist(dot[:2], corner) for corner in outline) < 0.01
        assert f"thickest {there(eye.edge_max_mm):.1f}" in picture.texts
    assert f"thickest {there(report.right.edge_max_mm):.1f} mm at the bottom near the temple" in there(picture.desc)


def test_a_plus_lens_is_thickest_in_its_middle() -> None:
    plus = {f"prescription__{eye}__sphere": 4.0 for eye in ("right", "left")}
    picture = drawn(**plus)
    computed = check(order(**plus), CATALOGUE_DOCUMENT).computed
    assert f"thickest {there(computed.right.centre_thickness_mm):.1f} mm in the middle" in there(picture.desc)


def test_a_small_screen_gets_the_same_pair_without_the_sizes_round_it() -> None:
    whole, bare = drawn(), Drawn(order_drawing(order(), CATALOGUE_DOCUMENT, with_sizes=False))
    assert bare.texts == ["R", "L"]
    assert bare.points("shape") == whole.points("shape")
    assert bare.desc == whole.desc
    widths = [float(there(one.root.get("viewBox")).split()[2]) for one in (bare, whole)]
    assert widths[0] < widths[1]


def test_of_a_single_lens_the_other_side_is_only_indicated() -> None:
    picture = drawn(lenses__left=None)
    assert len(picture.circles("blank")) == 1
    assert len(picture.of("shape-kept")) == 1
    assert "Left lens: none ordered." in there(picture.desc)


@pytest.mark.parametrize(
    "changes",
    [
        {"frame": {}},
        {"fitting": {}},
        {"prescription": {}},
        {"lenses": {}},
        {"frame__dbl_mm": None},
        {"frame__a_mm": None},
        {"frame__b_mm": 380},
        {"frame__ed_mm": 12},
        {"frame__dbl_mm": -500},
        {"fitting__right__pd_mm": 3100.0},
        {"fitting__right__height_mm": None},
        {"lenses__right__design": "nobody-makes-it"},
        {"frame__shape": {"side": "right", "radii_mm": [0.0] * 36}},
    ],
    ids=str,
)
def test_what_is_missing_or_absurd_is_left_out_and_the_rest_is_drawn(changes: dict[str, Any]) -> None:
    picture = drawn(**changes)
    assert picture.desc
    view = [float(value) for value in there(picture.root.get("viewBox")).split()]
    assert all(math.isfinite(value) for value in view)
    assert view[2] < 400


def test_an_empty_order_says_that_nothing_is_known_yet() -> None:
    picture = Drawn(order_drawing(parse_order('{"format": "lens-order/1"}')))
    assert picture.texts == ["No frame sizes yet"]
    assert "No frame sizes are known." in there(picture.desc)


def test_no_element_carries_an_inline_style() -> None:
    assert "style=" not in order_drawing(order(), CATALOGUE_DOCUMENT)


def test_text_from_outside_cannot_become_markup() -> None:
    svg = order_drawing(order(number="<script>1</script>"), CATALOGUE_DOCUMENT, headings=("<b>", "&"))
    assert "<script>" not in svg
    assert "<b>" in Drawn(svg).texts


def test_the_cross_section_shows_the_thickness_of_both_lenses_to_scale() -> None:
    picture = Drawn(thickness_drawing(order(), CATALOGUE_DOCUMENT))
    right, left = picture.points("lens-section")
    assert right[0][0] < left[0][0]
    # Two millimetres above the middle the lens is as good as full width.
    assert box(right)[1] - box(right)[0] == pytest.approx(50.0, abs=0.3)
    computed = check(order(), CATALOGUE_DOCUMENT).computed
    assert f"Right lens {computed.right.centre_thickness_mm:.1f} mm at the centre" in there(picture.desc)


def test_the_cross_section_names_itself_and_its_sides_with_the_thickness_drawn_there() -> None:
    picture = Drawn(thickness_drawing(order(), CATALOGUE_DOCUMENT))
    assert picture.title == "Cross-sections along the horizontal through the prism reference point"
    sides = [(text.text, float(text.get("x"))) for text in picture.of("note")]
    assert [name for name, _ in sorted(sides, key=lambda side: side[1])] == ["temporal", "nasal", "nasal", "temporal"]
    right = picture.points("lens-section")[0]
    low, high, *_ = box(right)
    temple, nose = (
        max(y for x, y in right if abs(x - end) < 0.01) - min(y for x, y in right if abs(x - end) < 0.01)
        for end in (low, high)
    )
    assert f"{nose:.1f} mm at the nose and {temple:.1f} mm at the temple" in there(picture.desc)
    assert {f"{nose:.1f}", f"{temple:.1f}"} <= set(picture.texts)


def test_without_a_lens_there_is_no_cross_section() -> None:
    assert thickness_drawing(order(lenses={}), CATALOGUE_DOCUMENT) == ""


def test_a_lens_shape_alone_is_drawn_from_its_radii_or_its_box() -> None:
    given = Drawn(shape_drawing(a_mm=50, b_mm=40, radii_mm=traced()["radii_mm"]))
    assert box(given.points("shape")[0]) == pytest.approx((-25, 25, -20, 20), abs=0.01)
    assert "as traced" in there(given.desc)
    assert "assumed from the boxed sizes" in there(Drawn(shape_drawing(a_mm=50, b_mm=40, ed_mm=54)).desc)
    assert shape_drawing(a_mm=None, b_mm=None) == ""
