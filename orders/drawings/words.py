"""The order drawing in words, for people who cannot see it."""

from __future__ import annotations

from orders.documents.names import HEIGHT_POINTS
from orders.drawings.layout import EyeLayout, PairLayout


def described(layout: PairLayout) -> str:
    """Sentences that say what the picture shows: sizes, centring, the blank, and what is missing."""
    sizes = [
        f"{name} {value:.1f} mm"
        for name, value in (("A", layout.a_mm), ("B", layout.b_mm), ("DBL", layout.dbl_mm))
        if value is not None
    ]
    frame = f"Frame seen from the front: {', '.join(sizes)}." if sizes else "No frame sizes are known."
    return " ".join([frame, *(_eye(eye) for eye in layout.eyes)])


def _eye(eye: EyeLayout) -> str:
    name = f"{eye.eye.capitalize()} lens"
    if not eye.is_ordered:
        return f"{name}: none ordered."
    parts = [part for part in (_centring(eye), _near(eye), _blank(eye), _thickest(eye)) if part]
    return f"{name}: {'; '.join(parts) if parts else 'not enough is known to place it'}."


def _centring(eye: EyeLayout) -> str:
    inwards, upwards = eye.facts.figures.centre_in_mm, eye.facts.figures.decentration_up_mm
    if eye.reference is None or inwards is None or upwards is None:
        return ""
    across, above = ("in" if inwards >= 0.0 else "out"), ("up" if upwards >= 0.0 else "down")
    point = HEIGHT_POINTS[eye.facts.kind or "progressive"]
    return f"{point} {abs(inwards):.1f} mm {across} and {abs(upwards):.1f} mm {above} of the boxed centre"


def _near(eye: EyeLayout) -> str:
    zone = eye.facts.figures.near_circle
    if zone is None:
        return ""
    return "near circle whole" if zone.whole else f"near circle cut by the frame, {zone.cut_share:.0%} of it missing"


def _blank(eye: EyeLayout) -> str:
    if eye.fit is None:
        return ""
    words = f"blank {eye.fit.blank.diameter_mm:.0f} mm, {eye.fit.needed_mm:.1f} mm needed"
    return f"{words}, cuts out" if eye.fit.fits else f"{words}, {eye.fit.shortfall_mm:.1f} mm short"


def _thickest(eye: EyeLayout) -> str:
    return "" if eye.thickest is None else f"thickest {eye.thickest.mm:.1f} mm {eye.thickest.where}"
