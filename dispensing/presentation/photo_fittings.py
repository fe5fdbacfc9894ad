"""What the marking page says while marks move: figures with their ±, what the ± comes from, doubts, and the drawing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from dispensing.fitting.documents import Figure, Fitting
from dispensing.fitting.retake import LEVERS
from dispensing.models import Practice
from dispensing.optics.conventions import EYES
from dispensing.pictures.eyes_from_above import Depths, EyeFromAbove, Known, eyes_from_above

SMALLEST_SHARE = 0.03
"""A source that contributes less than this share of the variance is not worth a line."""

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
    """One line of figures: both eyes, or one for the pair; ``decimals``: as many as the ± justifies."""

    label: str
    unit: str
    figures: tuple[Figure | None, ...]

    @property
    def decimals(self) -> int:
        return 0 if self.label == "Camera distance" else 1


@dataclass(frozen=True)
class Cause:
    """A source of uncertainty: its share of the ± in per cent, and what would reduce it."""

    source: str
    percent: int
    remedy: str


@dataclass(frozen=True)
class Causes:
    """``heading``: the figure. The causes are listed largest first; those too small to matter are left out."""

    heading: str
    plus_minus: float
    unit: str
    causes: tuple[Cause, ...]


@dataclass(frozen=True)
class ToldReason:
    """``level``: as of findings, ``ask`` or ``note``; ``label``: what is to be done about it."""

    level: str
    label: str
    text: str


def is_a_mark(name: str | None) -> bool:
    """Whether a suspect is a mark that the user can go to; a given length or the way the head was held is not."""
    return bool(name) and not str(name).endswith(("_mm", "_deg"))


def reasons_told(fitting: Fitting) -> list[ToldReason]:
    """Everything that is to be done before the figures can be used, then what is only worth knowing."""
    return [
        *(ToldReason("ask", "Take again", text) for text in fitting.take_again),
        *(ToldReason("ask", "Mark it", text) for text in fitting.told("to_mark")),
        *(ToldReason("ask", "Check", text) for text in fitting.told("to_check")),
        *(ToldReason("ask", "Turned eye", text) for text in fitting.told("turned_eye")),
        *(ToldReason("note", "Good to know", text) for text in fitting.told("notes")),
    ]


def result_lines(fitting: Fitting) -> list[ResultLine]:
    return [line for line in _lines(fitting) if any(line.figures)]


def summary_of(fitting: Fitting) -> str:
    """The main figures in one line: ``PD 31.6 ± 0.4 | 31.4 ± 0.4 · height 22.0 ± 1.1 | 21.8 ± 1.1 mm``."""
    parts = []
    for words, name in (("PD", "pd_mm"), ("height", "height_mm")):
        eyes = [getattr(fitting.eye(eye), name) for eye in EYES]
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
    """What to improve first: for PD and height the eye with the larger ±, for a side photo vertex distance and tilt."""
    found = []
    for words, name in (("PD", "pd_mm"), ("height", "height_mm")):
        eyes = [(eye, figure) for eye in EYES if (figure := getattr(fitting.eye(eye), name)) is not None]
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
            pd_mm=_known(fitting.eye(eye).pd_mm),
            near_pd_mm=_known(fitting.eye(eye).near_pd_mm),
            a_mm=_value(fitting.eye(eye).a_mm),
        )
        for eye in EYES
    }
    depths = Depths(_known(_vertex(fitting)), _value(fitting.dbl_mm), face_form_deg)
    drawing = eyes_from_above(eyes, depths, headings=(practice.right_heading, practice.left_heading))
    # Written by ElementTree, which escapes every text and attribute.
    return mark_safe(drawing)  # noqa: S308


def _known(figure: Figure | None) -> Known | None:
    return None if figure is None else Known(figure.value, figure.plus_minus)


def _value(figure: Figure | None) -> float | None:
    return None if figure is None else figure.value
