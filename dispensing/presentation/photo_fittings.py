"""What the marking page says while marks move: figures with their ±, what makes the ±, doubts, and the drawing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from dispensing.fitting.documents import EyeFitting, Figure, Fitting, Unlikely
from dispensing.fitting.retake import LEVERS
from dispensing.models import Frame, Practice
from dispensing.optics.conventions import EYES
from dispensing.pictures.eyes_from_above import Depths, EyeFromAbove, Known, eyes_from_above

SMALLEST_SHARE = 0.03
"""A source of less than this part of the variance is not worth a line."""

SIZES_AGREE_MM = 1.0
"""How far a size that is engraved may lie from one that is measured (common practice)."""

MOST_HIDDEN_BY_TILT = 0.05
"""The part of B that a tilt of 18°, the most that is worn, hides from a camera straight ahead."""

EYE_LINES = (
    ("PD", "pd_mm", "mm"),
    ("Near PD", "near_pd_mm", "mm"),
    ("Height", "height_mm", "mm"),
    ("A, as boxed", "a_mm", "mm"),
    ("B, as boxed", "b_mm", "mm"),
    ("B along the lens", "b_along_lens_mm", "mm"),
)
PAIR_LINES = (
    ("Binocular PD", "binocular_pd_mm", "mm"),
    ("DBL, as boxed", "dbl_mm", "mm"),
    ("Pantoscopic tilt", "pantoscopic_deg", "°"),
    ("Camera distance", "camera_distance_mm", "mm"),
    ("Head turned to the wearer's left", "head_turn_deg", "°"),
    ("Frame leaning in the photo", "roll_deg", "°"),
)


@dataclass(frozen=True)
class ResultLine:
    """One line of figures: both eyes, or one for the pair; ``decimals`` as far as the ± makes sense."""

    label: str
    unit: str
    figures: tuple[Figure | None, ...]

    @property
    def decimals(self) -> int:
        return 0 if self.label == "Camera distance" else 1


@dataclass(frozen=True)
class Cause:
    """A source of uncertainty: its part of the ± in per cent, and what makes it smaller."""

    source: str
    percent: int
    remedy: str


@dataclass(frozen=True)
class Causes:
    """``heading``: the figure. The causes, largest first; the parts that are too small are left out."""

    heading: str
    plus_minus: float
    unit: str
    causes: tuple[Cause, ...]


@dataclass(frozen=True)
class Doubt:
    """Unlikely figures that one mark would explain: what to do first, the mark's name, and the figures in words."""

    advice: str
    look_at: str | None
    figures: tuple[str, ...]


def doubts_by_mark(unlikely: Iterable[Unlikely]) -> list[Doubt]:
    """The unlikely figures put together by the mark to look at first; those that no mark explains come last."""
    by_mark: dict[str | None, list[Unlikely]] = {}
    for one in unlikely:
        by_mark.setdefault(one.look_at, []).append(one)
    ordered = sorted(by_mark.items(), key=lambda item: (item[0] is None, -len(item[1])))
    return [Doubt(told[0].advice, mark, tuple(one.says for one in told)) for mark, told in ordered]


def unlike_the_record(fitting: Fitting, frame: Frame) -> list[Doubt]:
    """Boxed sizes that differ from those recorded of the frame by more than their ± and a millimetre: another frame?

    Without a side photo B is shown as much too short as the lens is tilted, and that is allowed for.
    """
    found = []
    for label, name, recorded in (
        ("A", "a_mm", frame.a_mm),
        ("B", "b_mm", frame.b_mm),
        ("DBL", "dbl_mm", frame.dbl_mm),
    ):
        sizes = _sizes(fitting, name)
        if not sizes or recorded is None:
            continue
        size = sum(one.value for one in sizes) / len(sizes)
        room = max(one.plus_minus for one in sizes) + SIZES_AGREE_MM
        short = MOST_HIDDEN_BY_TILT * float(recorded) if name == "b_mm" and not _along(fitting) else 0.0
        if not float(recorded) - room - short <= size <= float(recorded) + room:
            found.append(f"{label} comes out as {size:.1f} mm; recorded is {float(recorded):g} mm")
    return (
        [Doubt("look whether this is the frame, and its sizes are recorded rightly", None, tuple(found))]
        if found
        else []
    )


def _along(fitting: Fitting) -> list[Figure]:
    """B of both lenses along the tilted lens, as it is engraved; empty without a side photo."""
    return [one for one in (fitting.right.b_along_lens_mm, fitting.left.b_along_lens_mm) if one is not None]


def _sizes(fitting: Fitting, name: str) -> list[Figure]:
    if name == "dbl_mm":
        return [] if fitting.dbl_mm is None else [fitting.dbl_mm]
    eyes = [getattr(_eye(fitting, eye), name) for eye in EYES]
    return (_along(fitting) if name == "b_mm" else []) or [one for one in eyes if one is not None]


def result_lines(fitting: Fitting) -> list[ResultLine]:
    return [line for line in _lines(fitting) if any(line.figures)]


def summary_of(fitting: Fitting) -> str:
    """The figures one marks for, in one line: ``PD 31.6 ± 0.4 | 31.4 ± 0.4 · height 22.0 ± 1.1 | 21.8 ± 1.1 mm``."""
    parts = []
    for words, name in (("PD", "pd_mm"), ("height", "height_mm")):
        eyes = [getattr(_eye(fitting, eye), name) for eye in EYES]
        if any(eyes):
            parts.append(f"{words} {' | '.join(_brief(figure) for figure in eyes)}")
    if not parts:
        pairs = (("vertex", _vertex(fitting), "mm"), ("tilt", fitting.pantoscopic_deg, "°"))
        return " · ".join(f"{words} {_brief(figure)} {unit}" for words, figure, unit in pairs if figure is not None)
    return f"{' · '.join(parts)} mm"


def _brief(figure: Figure | None) -> str:
    return "–" if figure is None else f"{figure.value:.1f} ± {figure.plus_minus:.1f}"


def _lines(fitting: Fitting) -> Iterator[ResultLine]:
    for label, name, unit in EYE_LINES:
        yield ResultLine(label, unit, (getattr(fitting.right, name), getattr(fitting.left, name)))
    yield ResultLine("Vertex distance", "mm", (_vertex(fitting),))
    for label, name, unit in PAIR_LINES:
        yield ResultLine(label, unit, (getattr(fitting, name),))


def _vertex(fitting: Fitting) -> Figure | None:
    return fitting.right.vertex_mm or fitting.left.vertex_mm


def causes_of_doubt(fitting: Fitting) -> list[Causes]:
    """For PD and height the eye with the larger ±, for a side photo vertex distance and tilt: what to improve first."""
    found = []
    for words, name in (("PD", "pd_mm"), ("height", "height_mm")):
        eyes = [(eye, figure) for eye in EYES if (figure := getattr(_eye(fitting, eye), name)) is not None]
        if eyes:
            eye, figure = max(eyes, key=lambda pair: pair[1].plus_minus)
            found.append(_causes(f"{eye.capitalize()} {words}", figure, "mm", fitting.shares.get(f"{eye}.{name}", {})))
    for words, name, unit, figure in (
        ("Vertex distance", "vertex_mm", "mm", _vertex(fitting)),
        ("Pantoscopic tilt", "pantoscopic_deg", "°", fitting.pantoscopic_deg),
    ):
        if figure is not None:
            found.append(_causes(words, figure, unit, fitting.shares.get(name, {})))
    return [causes for causes in found if causes.causes]


def _causes(heading: str, figure: Figure, unit: str, shares: dict[str, float]) -> Causes:
    causes = tuple(
        Cause(source, round(100 * part), LEVERS.get(source, ""))
        for source, part in sorted(shares.items(), key=lambda item: -item[1])
        if part >= SMALLEST_SHARE
    )
    return Causes(heading, figure.plus_minus, unit, causes)


def drawing_from_above(fitting: Fitting, practice: Practice, face_form_deg: float) -> SafeString | str:
    """The eyes behind the lenses; empty while no PD is known."""
    if fitting.right.pd_mm is None and fitting.left.pd_mm is None:
        return ""
    eyes = {
        eye: EyeFromAbove(
            pd_mm=_known(_eye(fitting, eye).pd_mm),
            near_pd_mm=_known(_eye(fitting, eye).near_pd_mm),
            a_mm=_value(_eye(fitting, eye).a_mm),
        )
        for eye in EYES
    }
    depths = Depths(_known(_vertex(fitting)), _value(fitting.dbl_mm), face_form_deg)
    drawing = eyes_from_above(eyes, depths, headings=(practice.right_heading, practice.left_heading))
    # Written by ElementTree, which escapes every text and attribute.
    return mark_safe(drawing)  # noqa: S308


def _eye(fitting: Fitting, eye: str) -> EyeFitting:
    return fitting.right if eye == "right" else fitting.left


def _known(figure: Figure | None) -> Known | None:
    return None if figure is None else Known(figure.value, figure.plus_minus)


def _value(figure: Figure | None) -> float | None:
    return None if figure is None else figure.value
