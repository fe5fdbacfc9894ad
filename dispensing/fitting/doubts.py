"""What a person should check before believing figures from photos: marks, and whether this is the right frame.

It reads the measured figures and what is recorded about the frame; it must never measure, and never know a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from dispensing.fitting.documents import EYES, Figure, Fitting, Unlikely
from dispensing.fitting.on_record import FrameFacts
from dispensing.trade import figure

SIZES_AGREE_MM = figure("photo-figures", "apart_mm")
"""How far an engraved size may differ from a measured one."""

MOST_HIDDEN_BY_TILT = 0.05
"""The part of B that a tilt of 18°, the most that is worn, hides from a camera straight ahead."""

ANOTHER_FRAME = "look whether this is the frame, and its sizes are recorded rightly"


@dataclass(frozen=True)
class Doubt:
    """Unlikely figures that one cause would explain: what to do first, the mark's name, and the figures in words."""

    advice: str
    look_at: str | None
    figures: tuple[str, ...]


def doubts_by_mark(unlikely: Iterable[Unlikely]) -> list[Doubt]:
    """The unlikely figures, grouped by the mark to look at first; those that no mark explains come last."""
    by_mark: dict[str | None, list[Unlikely]] = {}
    for one in unlikely:
        by_mark.setdefault(one.look_at, []).append(one)
    ordered = sorted(by_mark.items(), key=lambda item: (item[0] is None, -len(item[1])))
    return [Doubt(told[0].advice, mark, tuple(one.says for one in told)) for mark, told in ordered]


def unlike_the_record(fitting: Fitting, frame: FrameFacts) -> list[Doubt]:
    """Boxed sizes that differ from those recorded of the frame by more than their ± and a millimetre: another frame?"""
    found = tuple(_other_sizes(fitting, frame))
    return [Doubt(ANOTHER_FRAME, None, found)] if found else []


def _other_sizes(fitting: Fitting, frame: FrameFacts) -> Iterator[str]:
    for label, name in (("A", "a_mm"), ("B", "b_mm"), ("DBL", "dbl_mm")):
        sizes, recorded = _sizes(fitting, name), getattr(frame, name)
        if not sizes or recorded is None:
            continue
        size = sum(one.value for one in sizes) / len(sizes)
        room = max(one.plus_minus for one in sizes) + SIZES_AGREE_MM
        # Without a side photo, B comes out too short by as much as the tilt hides.
        short = MOST_HIDDEN_BY_TILT * recorded if name == "b_mm" and not _along(fitting) else 0.0
        if not recorded - room - short <= size <= recorded + room:
            yield f"{label} comes out as {size:.1f} mm; recorded is {recorded:g} mm"


def _along(fitting: Fitting) -> list[Figure]:
    """B of both lenses along the tilted lens, as engraved; empty without a side photo."""
    return [one for one in (fitting.right.b_along_lens_mm, fitting.left.b_along_lens_mm) if one is not None]


def _sizes(fitting: Fitting, name: str) -> list[Figure]:
    if name == "dbl_mm":
        return [] if fitting.dbl_mm is None else [fitting.dbl_mm]
    eyes = [getattr(fitting.eye(eye), name) for eye in EYES]
    return (_along(fitting) if name == "b_mm" else []) or [one for one in eyes if one is not None]
