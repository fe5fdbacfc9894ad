"""Random lenses and positions for property tests: as varied as spectacles get, and a little beyond."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from dispensing.optics.power import SphereCylinder

eyes = st.sampled_from(["right", "left"])
axes = st.integers(1, 180).map(float) | st.floats(0.5, 180.0)
quarters = st.integers(-80, 80).map(lambda n: n / 4)
spheres = quarters | st.floats(-20.0, 20.0)
cylinders = st.integers(-24, 24).map(lambda n: n / 4) | st.floats(-6.0, 6.0)
powers = st.builds(SphereCylinder, spheres, cylinders, axes)
weaker_powers = st.builds(SphereCylinder, st.floats(-12.0, 10.0), st.floats(-6.0, 4.0), axes)


@st.composite
def thin_positions(draw: st.DrawFn) -> dict[str, Any]:
    """Keyword arguments of worn_power for a thin lens, vertex distances included."""
    return {
        "eye": draw(eyes),
        "index": draw(st.floats(1.45, 1.95)),
        "pantoscopic_deg": draw(st.floats(-5.0, 25.0)),
        "face_form_deg": draw(st.floats(-5.0, 30.0)),
        "tested_vertex_mm": draw(st.floats(8.0, 18.0)),
        "worn_vertex_mm": draw(st.floats(8.0, 18.0)),
    }


@st.composite
def thick_positions(draw: st.DrawFn) -> dict[str, Any]:
    """The same for a thick lens."""
    return draw(thin_positions()) | {
        "base_curve_d": draw(st.floats(0.0, 9.0)),
        "centre_thickness_mm": draw(st.floats(1.0, 9.0)),
    }


def mirrored_position(position: dict[str, Any]) -> dict[str, Any]:
    """The fellow eye's position: only the eye changes, angles are counted from the nose."""
    return position | {"eye": "left" if position["eye"] == "right" else "right"}
