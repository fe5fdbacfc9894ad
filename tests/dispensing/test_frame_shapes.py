"""Frame shapes as people supply them: radii in every usual notation, and tracers' files."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from dispensing.optics.boxing import LensShape
from dispensing.optics.outline import radii_at_equal_angles
from dispensing.optics.shape_families import assumed_shape
from dispensing.services.frame_shapes import ShapeFault, lens_shape_of, shape_from_text, shape_from_trace
from tests.builders import a_frame
from tests.dispensing.traces import trace_file
from tests.known import there

PANTO = [round(float(radius), 2) for radius in assumed_shape(50, 42, 52, "panto", count=72).radii]

WRITINGS = [
    " ".join(map(str, PANTO)),
    "; ".join(map(str, PANTO)),
    "\n".join(str(radius).replace(".", ",") for radius in PANTO),
    ",".join(map(str, PANTO)),
    str(PANTO),
    ", ".join(f"{radius} mm" for radius in PANTO),
]


@pytest.mark.parametrize("text", WRITINGS)
def test_radii_are_read_in_every_usual_writing(text: Any) -> None:
    shape = shape_from_text(text)
    assert shape.radii_mm == pytest.approx(PANTO, abs=0.05)
    assert shape.lens.a_mm == pytest.approx(50, abs=0.05)


FAULTS = [
    ("26 26 26", "3 radii were found; a shape needs at least 36"),
    ("26 " * 35 + "wide", "Radius 36 reads “wide”"),
    ("26 " * 35 + "-26", "Radius 36 reads “-26”"),
    ("2600 " * 36, "hundredths of a millimetre"),
    ("26 " * 35 + "180", "radius 36"),
    ("26 " * 35 + "0", "radius 36"),
]


@pytest.mark.parametrize(("text", "words"), FAULTS)
def test_what_cannot_be_a_shape_is_said_in_words(text: str, words: str) -> None:
    with pytest.raises(ShapeFault, match=words):
        shape_from_text(text)


def test_radii_taken_beside_the_boxed_centre_are_brought_to_it_and_that_is_said() -> None:
    points = LensShape(PANTO, "right").points() + np.array([1.0, 0.0])
    shape = shape_from_text(" ".join(f"{radius:.3f}" for radius in radii_at_equal_angles(points, 72)))
    # Reading the outline at new angles cuts a hair off its sides.
    assert "0.99 mm sideways" in shape.notes[0]
    assert shape.lens.off_centre_in_up_mm == pytest.approx((0, 0), abs=1e-6)


def test_a_trace_of_both_lenses_gives_the_right_one() -> None:
    shape = shape_from_trace(trace_file(PANTO))
    assert shape.radii_mm == pytest.approx(PANTO, abs=0.05)
    assert (shape.origin, shape.notes) == ("trace", ())


def test_a_trace_of_the_left_lens_alone_is_mirrored_and_that_is_said() -> None:
    left = [float(radius) for radius in LensShape(PANTO, "right").mirrored().radii]
    shape = shape_from_trace(trace_file(left, sides="L"))
    assert shape.radii_mm == pytest.approx(PANTO, abs=0.05)
    assert "Only the left lens was traced" in shape.notes[0]


@pytest.mark.parametrize(
    "data", [b"%PDF-1.7", b"a,b,c\n1,2,3\n", b"\x00\x01", b"TRCFMT=4;36;E;R;F\r\nR=1\r\n", b"", b"<svg/>"]
)
def test_a_file_of_another_format_is_refused_with_the_way_on(data: bytes) -> None:
    with pytest.raises(ShapeFault, match=r"cannot be used as a trace.*Choose the tracer's ASCII file"):
        shape_from_trace(data)


@pytest.mark.django_db
def test_a_frame_without_a_shape_gets_one_from_its_sizes() -> None:
    shape = there(lens_shape_of(a_frame()))
    assert (shape.a_mm, shape.b_mm) == pytest.approx((52, 38))
    assert shape.ed_mm == pytest.approx(55, abs=0.01)


@pytest.mark.django_db
def test_sizes_that_no_lens_can_have_draw_nothing() -> None:
    assert lens_shape_of(a_frame(ed_mm=90)) is None
    assert lens_shape_of(a_frame(a_mm=None)) is None
