"""For every row of the standards, a pair that it judges, and the tolerance that its source gives.

The figures of powers and axes are read from the published rows; the others stand here as their sources have them, so
that no figure is compared with itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from orders.documents.lens_order import LensOrder
from tests.orders.verification.pairs import eye, order
from tests.published.rows import PublishedCase, by_id

ISO, ANSI, ANSI_2020 = "iso-21987-2017", "ansi-z80.1-2015", "ansi-z80.1-2020"
SOURCES = (
    *("A-SV-S", "A-SV-C", "A-PAL-S", "A-PAL-C", "A-AX", "A-ADD", "A-PRP", "A-VI", "A-HI", "A-HI-PAL", "A-SEG", "A-FC"),
    *("A-GEO", "I-THK", "I-P1", "I-P2", "I-AX", "I-ADD", "I-PR04", "I-PR", "I-IMB"),
)
PUBLISHED: dict[str, PublishedCase] = {case.id: case for case in by_id(*SOURCES)}
OUR_MEMORY = "not in the published rows: from memory, or taken over from the other standard"


@dataclass(frozen=True)
class Trial:
    """A pair of two alike lenses. field: what is read off in the right lens; tolerance: in the unit of the quantity."""

    standard: str
    row: str
    quantity: str
    kind: str
    right: dict[str, Any]
    field: str
    tolerance: float
    source: str
    of: str = "right"
    lens: tuple[tuple[str, Any], ...] = ()
    is_uncut: bool = False

    def __str__(self) -> str:
        return f"{self.standard} {self.row} {self.quantity}"

    @property
    def order(self) -> LensOrder:
        made = order(self.right, self.right, self.kind, **dict(self.lens))
        return made.model_copy(update={"supply": "uncut"}) if self.is_uncut else made


@cache
def trials() -> tuple[Trial, ...]:
    return (*_ansi(ANSI), *_ansi(ANSI_2020), *_iso())


def _name(bound: float | None) -> str:
    return "strong" if bound is None else f"to_{bound:g}".replace(".", "")


def _bands(source: str) -> list[tuple[float, Any]]:
    """Upper bound, or one well beyond the last, and the tolerance of each published band."""
    rows = PUBLISHED[source].bands["rows"]
    return [(row["upper"], row["tol"]) for row in rows]


def _within(upper: float | None, beyond: float) -> float:
    return beyond if upper is None else upper


def _share(tolerance: Any, of: float) -> float:
    """A tolerance as published: a figure, or a percentage."""
    return float(tolerance.rstrip("%")) * of / 100.0 if isinstance(tolerance, str) else float(tolerance)


def _ansi(standard: str) -> Iterator[Trial]:
    for kind, sphere_source, cylinder_source in (
        ("single_vision", "A-SV-S", "A-SV-C"),
        ("multifocal", "A-SV-S", "A-SV-C"),
        ("progressive", "A-PAL-S", "A-PAL-C"),
    ):
        add = None if kind == "single_vision" else 2.0
        short = "progressive" if kind == "progressive" else "single"
        for upper, tolerance in _bands(sphere_source):
            power = _within(upper, 10.0)
            row = f"meridian_{short}_{_name(upper)}_{'percent' if upper is None else 'd'}"
            yield Trial(
                standard,
                row,
                "meridian_high",
                kind,
                eye(-power, add=add),
                "sphere",
                _share(tolerance, power),
                sphere_source,
            )
        for upper, tolerance in _bands(cylinder_source):
            cylinder = _within(upper, 5.0)
            row = f"cylinder_{short}_{_name(upper)}_{'percent' if upper is None else 'd'}"
            made = eye(-7.0, cylinder, 35.0, add)
            yield Trial(standard, row, "cylinder", kind, made, "cylinder", _share(tolerance, cylinder), cylinder_source)
    yield from _axes(standard, "A-AX")
    yield from _adds(standard, "A-ADD")
    for kind, short, horizontal, vertical in (
        ("single_vision", "single", "A-HI", "A-VI"),
        ("multifocal", "single", "A-HI", "A-VI"),
        ("progressive", "progressive", "A-HI-PAL", OUR_MEMORY),
    ):
        add = None if kind == "single_vision" else 2.0
        weak, strong_mm = (2.75, 2.5) if short == "single" else (3.375, 2.0)
        for row, power, tolerance in (
            (f"horizontal_{short}_to_{'275' if short == 'single' else '3375'}_pd", weak, 0.67),
            (f"horizontal_{short}_strong_mm", 5.0, strong_mm * 0.5),
        ):
            yield _prism(standard, row, "prism_horizontal", kind, eye(power, add=add), tolerance, horizontal)
        for row, power, tolerance in (
            (f"vertical_{short}_to_3375_pd", 3.375, 0.33),
            (f"vertical_{short}_strong_mm", 5.0, 0.5),
        ):
            yield _prism(standard, row, "prism_vertical", kind, eye(power, add=add), tolerance, vertical)
    for way in ("horizontal", "vertical"):
        for power, tolerance in ((-2.0, 0.33), (-8.0, 0.8)):
            yield _uncut(standard, f"{way}_unmounted_pd", f"prism_{way}", eye(power), tolerance, "A-PRP")
    yield from _places(standard, "A-SEG", "A-FC", "A-FC")
    yield from _bodies(standard, "A-GEO", "A-GEO")


def _iso() -> Iterator[Trial]:
    for kind, source in (("single_vision", "I-P1"), ("multifocal", "I-P1"), ("progressive", "I-P2")):
        add = None if kind == "single_vision" else 2.0
        short = "progressive" if kind == "progressive" else "single"
        for upper, tolerances in _bands(source):
            power = _within(upper, 22.0)
            row = f"meridian_{short}_{_name(upper)}_d"
            for quantity in ("meridian_high", "meridian_low"):
                yield Trial(ISO, row, quantity, kind, eye(power, add=add), "sphere", tolerances[0], source)
            for cylinder, tolerance in zip((0.75, 4.0, 6.0, 8.0), tolerances[1:], strict=True):
                if cylinder > 2.0 * power:
                    continue  # no such lens: one meridian would be stronger
                bound = None if cylinder > 6.0 else cylinder
                row = f"cylinder_{short}_{_name(bound)}_power_{_name(upper)}_d"
                made = eye(power, -min(cylinder, 2.0 * power), 35.0, add)
                yield Trial(ISO, row, "cylinder", kind, made, "cylinder", tolerance, source)
    yield from _axes(ISO, "I-AX")
    yield from _adds(ISO, "I-ADD")
    for way, weak_d, first, strong_mm, wider in (
        ("horizontal", 3.25, 0.67, 2.0, (("to_10", 6.0, 1.0, 0.33), ("over_10", 12.0, 1.25, 0.58))),
        ("vertical", 5.0, 0.5, 1.0, (("to_10", 6.0, 0.75, 0.25), ("over_10", 12.0, 1.0, 0.5))),
    ):
        quantity, base = f"prism_{way}", "in" if way == "horizontal" else "up"
        yield _prism(ISO, f"{way}_to_2_weak_pd", quantity, "single_vision", eye(weak_d), first, "I-IMB")
        yield _prism(ISO, f"{way}_to_2_strong_mm", quantity, "progressive", eye(8.0, add=2.0), strong_mm * 0.8, "I-IMB")
        for name, prism, weak, plus in wider:
            made = eye(weak_d, prism=[(prism, base)])
            yield _prism(ISO, f"{way}_{name}_weak_pd", quantity, "single_vision", made, weak, OUR_MEMORY)
            made = eye(8.0, prism=[(prism, base)])
            shift = strong_mm * 0.8
            yield _prism(ISO, f"{way}_{name}_strong_mm", quantity, "single_vision", made, plus + shift, OUR_MEMORY)
        per_d = 0.1 if way == "horizontal" else 0.05
        for name, prism, plain in (("to_2", 2.0, 0.25), ("to_10", 10.0, 0.37), ("over_10", 11.0, 0.5)):
            made = eye(-4.0, prism=[(prism, base)])
            yield _uncut(ISO, f"{way}_unmounted_{name}_pd", quantity, made, plain + 4.0 * per_d, "I-PR")
    yield from _places(ISO, OUR_MEMORY, OUR_MEMORY, OUR_MEMORY)
    yield from _bodies(ISO, "I-THK", OUR_MEMORY)


def _axes(standard: str, source: str) -> Iterator[Trial]:
    for upper, degrees in _bands(source):
        cylinder = _within(upper, 3.0)
        row = "axis_strong_deg" if upper is None else f"axis_{_name(upper)}_deg"
        for kind in ("single_vision", "multifocal", "progressive"):
            add = None if kind == "single_vision" else 2.0
            yield Trial(standard, row, "axis", kind, eye(-7.0, cylinder, 90.0, add), "axis", degrees, source)


def _adds(standard: str, source: str) -> Iterator[Trial]:
    for upper, tolerance in _bands(source):
        row = "add_strong_d" if upper is None else "add_to_4_d"
        for kind in ("multifocal", "progressive"):
            made = eye(1.0, add=_within(upper, 5.0))
            yield Trial(standard, row, "add", kind, made, "add", tolerance, source)


def _prism(
    standard: str, row: str, quantity: str, kind: str, made: dict[str, Any], tolerance: float, source: str
) -> Trial:
    field = "prism_in" if quantity == "prism_horizontal" else "prism_up"
    return Trial(standard, row, quantity, kind, made, field, tolerance, source, of="both")


def _uncut(standard: str, row: str, quantity: str, made: dict[str, Any], tolerance: float, source: str) -> Trial:
    field = "prism_in" if quantity == "prism_horizontal" else "prism_up"
    return Trial(standard, row, quantity, "single_vision", made, field, tolerance, source, is_uncut=True)


def _places(standard: str, segment: str, cross: str, pd: str) -> Iterator[Trial]:
    for kind, name, source in (("multifocal", "segment", segment), ("progressive", "cross", cross)):
        made = eye(2.0, add=2.0)
        yield Trial(standard, f"height_{name}_mm", "height", kind, made, "height_mm", 1.0, source)
        yield Trial(standard, f"heights_{name}_mm", "heights_pair", kind, made, "height_mm", 1.0, source, of="both")
    yield Trial(standard, "pd_cross_mm", "pd", "progressive", eye(2.0, add=2.0), "pd_mm", 1.0, pd)


def _bodies(standard: str, thickness: str, curve: str) -> Iterator[Trial]:
    for kind in ("single_vision", "multifocal", "progressive"):
        add = None if kind == "single_vision" else 2.0
        lens = (("centre_thickness_mm", 2.0), ("base_curve_d", 5.0))
        made = eye(2.0, add=add)
        yield Trial(
            standard,
            "centre_thickness_mm",
            "centre_thickness",
            kind,
            made,
            "centre_thickness_mm",
            0.3,
            thickness,
            lens=lens,
        )
        yield Trial(standard, "base_curve_d", "base_curve", kind, made, "base_curve_d", 0.75, curve, lens=lens)
