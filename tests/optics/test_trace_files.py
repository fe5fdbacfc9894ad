"""Trace files: what a tracer writes comes back as the shape, and anything that does not add up is refused in words."""

from __future__ import annotations

import numpy as np
import pytest

from dispensing.optics.boxing import LensShape
from dispensing.optics.errors import OpticsError
from dispensing.optics.outline import area_of
from dispensing.optics.shape_families import assumed_shape
from dispensing.optics.trace_files import import_trace
from dispensing.optics.trace_records import LARGEST_FILE_BYTES, read_records

ELLIPSE_START = [2600, 2573, 2501, 2401, 2294, 2194, 2111, 2050, 2012, 2000]


def ellipse_radii() -> list[int]:
    """A 52 × 40 ellipse in 36 radii of 1/100 mm."""
    quarter = ELLIPSE_START
    half = quarter + quarter[-2::-1]
    return half[:-1] + half[:-1]


def trace(radii: list[int], side: str = "R", source: str = "F", spacing: str = "E", a_line: int = 8) -> str:
    lines = [f"TRCFMT=1;{len(radii)};{spacing};{side};{source}"]
    lines += ["R=" + ";".join(map(str, radii[i : i + a_line])) for i in range(0, len(radii), a_line)]
    return "\r\n".join(lines) + "\r\n"


def hundredths(shape: LensShape) -> list[int]:
    return [round(100 * radius) for radius in shape.radii]


def test_an_ellipse_of_36_radii_has_its_box_and_its_length() -> None:
    found = import_trace(trace(ellipse_radii()).encode())
    assert (found.right.a_mm, found.right.b_mm) == pytest.approx((52.0, 40.0), abs=1e-9)
    assert found.right.circumference_mm == pytest.approx(144.91, abs=0.01)
    assert found.traced_from == "frame"


def test_the_side_that_was_not_traced_is_the_mirror_image_and_said_to_be() -> None:
    found = import_trace(trace(ellipse_radii(), side="L").encode())
    assert found.derived == "right"
    assert np.allclose(found.right.mirrored().radii, found.left.radii)


def test_both_sides_of_a_pilot_frame_come_back_as_traced() -> None:
    shape = assumed_shape(56.0, 47.0, family="pilot", count=400)
    both = trace(hundredths(shape)) + trace(hundredths(shape.mirrored()), side="L")
    found = import_trace(both.encode())
    assert found.derived is None
    assert found.warnings == ()
    assert np.allclose(found.right.radii, shape.radii, atol=0.02)
    assert np.allclose(found.left.radii, shape.mirrored().radii, atol=0.02)


def test_a_trace_from_an_origin_off_the_centre_is_recentred() -> None:
    angles = np.radians(np.arange(400) * 0.9)
    radii = 0.14 * np.cos(angles) + np.sqrt(24.0**2 - (0.14 * np.sin(angles)) ** 2)
    found = import_trace(trace([round(100 * r) for r in radii]).encode())
    assert found.right.off_centre_in_up_mm == pytest.approx((0.0, 0.0), abs=1e-6)
    assert found.right.ed_mm == pytest.approx(48.0, abs=0.02)


def test_unequally_spaced_radii_are_read_at_their_own_angles() -> None:
    angles = [round(100 * a) for a in np.linspace(0.0, 359.0, 300) ** 1.02 / 359.0**0.02]
    turn = np.radians(np.array(angles) / 100.0)
    radii = [round(100 / np.hypot(np.cos(t) / 26, np.sin(t) / 20)) for t in turn]
    text = trace(radii, spacing="U") + "A=" + ";".join(map(str, angles)) + "\r\n"
    found = import_trace(text.encode())
    assert (found.right.a_mm, found.right.b_mm) == pytest.approx((52.0, 40.0), abs=0.02)
    assert area_of(found.right.points()) == pytest.approx(np.pi * 26 * 20, rel=1e-3)


@pytest.mark.parametrize("ends", ["\r\n", "\n", "\r"])
def test_lines_may_end_in_any_of_three_ways(ends: str) -> None:
    text = trace(ellipse_radii()).replace("\r\n", ends)
    assert import_trace(text.encode()).right.a_mm == pytest.approx(52.0)


def test_a_long_record_may_go_on_in_the_next_line_without_a_label() -> None:
    radii = ellipse_radii()
    text = f"TRCFMT=1;36;E;R;P\nR={';'.join(map(str, radii[:20]))};\n{';'.join(map(str, radii[20:]))}\n"
    found = import_trace(text.encode())
    assert found.right.b_mm == pytest.approx(40.0)
    assert found.traced_from == "pattern"


def test_framing_characters_and_the_checksum_of_a_serial_line_are_passed_over() -> None:
    text = "\x1c" + trace(ellipse_radii()) + "\x1eCRC=12739\r\n\x1d"
    assert import_trace(text.encode()).other == {}


def test_bridge_and_frame_curve_are_read_and_other_records_kept_as_text() -> None:
    text = "JOB=A-000123\nDBL=18.00\nFCRV=5.25;?\n_OWN=x;y\n" + trace(ellipse_radii())
    found = import_trace(text.encode())
    assert found.dbl_mm == 18.0
    assert found.front_curve_d == {"right": 5.25, "left": None}
    assert found.other == {"JOB": "A-000123", "_OWN": "x;y"}


def test_a_stated_box_that_the_radii_do_not_bear_out_is_a_warning_in_plain_words() -> None:
    text = "HBOX=52.00;52.00\nVBOX=40.30;40.00\nCIRC=146.00;?\n" + trace(ellipse_radii())
    warnings = import_trace(text.encode()).warnings
    assert len(warnings) == 2
    assert "box height of 40.30 mm" in warnings[0]
    assert "circumference of 146.00 mm" in warnings[1]


def test_sides_that_do_not_mirror_each_other_are_a_warning() -> None:
    wider = [radius + (80 if 3 < place < 9 else 0) for place, radius in enumerate(ellipse_radii())]
    both = trace(ellipse_radii()) + trace(wider, side="L")
    assert "differ by up to" in import_trace(both.encode()).warnings[0]


def spoilt(old: str, new: str) -> str:
    return trace(ellipse_radii()).replace(old, new, 1)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "size of the trace file is 0 bytes"),
        ("x" * 200_001, "size of the trace file"),
        ("JOB=1\n\0", "text; save the trace again"),
        ("hello\n", "trace file, line 1"),
        ("JOB=1\n", "number of traces in the file is 0"),
        ("R=2600\n", "after a TRCFMT record"),
        (spoilt("TRCFMT=1;36;E;R;F", "TRCFMT=4;36;E;R;F"), "trace format in line 1 is 4"),
        (spoilt("TRCFMT=1;36;E;R;F", "TRCFMT=1;36;E;B;F"), "E or U; R or L; F, P or D"),
        (spoilt("TRCFMT=1;36;E;R;F", "TRCFMT=1;36;E;R"), "five fields"),
        (spoilt("TRCFMT=1;36;E;R;F", "TRCFMT=1;37;E;R;F"), "allowed: 37, as announced"),
        (spoilt("TRCFMT=1;36;E;R;F", "TRCFMT=1;30;E;R;F"), "number of radii in line 1 is 30"),
        (spoilt("TRCFMT=1;36;E;R;F", "TRCFMT=1;36;U;R;F"), "one for every radius"),
        (spoilt("2573", "25.73"), "whole numbers"),
        (spoilt("2573", "25é3"), "plain ASCII"),
        (spoilt("2573", "5573"), "radius 2 of the right trace is 55.73 mm"),
        (spoilt("2573", "2823"), "largest step of the right trace is"),
        (trace(ellipse_radii()) * 2, "number of traces of the right side is 2"),
        (trace(ellipse_radii()) + "A=0;1000\n", "none, since the trace is equally spaced"),
        (trace(ellipse_radii(), spacing="U") + "A=" + ";".join(["100"] * 36), "36 angles that grow"),
        ("DBL=wide\n" + trace(ellipse_radii()), "a decimal number"),
    ],
)
def test_a_trace_that_does_not_add_up_is_refused_in_words(text: str, words: str) -> None:
    with pytest.raises(OpticsError, match=words):
        import_trace(text.encode("latin-1"))


def test_a_file_is_read_up_to_its_largest_size_and_not_beyond() -> None:
    assert read_records(b"\n") == []
    assert read_records(b" " * LARGEST_FILE_BYTES) == []
    for size in (0, LARGEST_FILE_BYTES + 1):
        with pytest.raises(OpticsError, match=f"size of the trace file is {size} bytes"):
            read_records(b" " * size)
