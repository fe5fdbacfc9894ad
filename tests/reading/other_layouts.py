"""Prescriptions on paper in layouts that the reader was never fitted to, each with the figures printed on it.

Made without a look at how a paper is understood, so that what is measured on them is what a practice will see on the
paper of a prescriber it has never had one from. All practices and persons are invented.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from html import escape

Figures = dict[str, float | None]


@dataclass(frozen=True)
class Paper:
    """One prescription as HTML, and what stands on it: ``right.sphere`` in dioptres, ``pd_mm`` in millimetres.

    A key with None is a figure that the paper does not give. ``tested_on`` and ``prescriber`` are text.
    """

    layout: str
    html: str
    figures: Figures
    tested_on: str
    prescriber: str


@dataclass(frozen=True)
class Eye:
    sphere: float
    cylinder: float | None
    axis: int | None
    add: float | None
    prism: tuple[float, str] | None  # the base as a word of "in", "out", "up", "down"


PRESCRIBERS = ("A. Lindenau", "M. Corvo", "J. Weatherby", "S. Halloran", "P. Dubreuil", "T. Osterveld")


def _eye(draw: random.Random, *, cylinder: int, with_add: bool, with_prism: bool) -> Eye:
    sphere = draw.choice([0.0, *(step / 4 for step in range(-32, 25))])
    has_cylinder = draw.random() < 0.75
    power = cylinder * draw.randint(1, 12) / 4 if has_cylinder else None
    return Eye(
        sphere=sphere,
        cylinder=power,
        axis=draw.randint(1, 180) if has_cylinder else None,
        add=draw.choice([1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5]) if with_add else None,
        prism=(draw.choice([0.5, 1.0, 1.5, 2.0]), draw.choice(["in", "out", "up", "down"])) if with_prism else None,
    )


def _signed(value: float, comma: bool = False) -> str:
    text = f"{value:+.2f}" if value else "0.00"
    return text.replace(".", ",") if comma else text


def _figures(right: Eye, left: Eye, **rest: float | None) -> Figures:
    found: Figures = dict(rest)
    for name, eye in (("right", right), ("left", left)):
        found |= {f"{name}.sphere": eye.sphere, f"{name}.cylinder": eye.cylinder, f"{name}.add": eye.add}
        found[f"{name}.axis"] = eye.axis
        found[f"{name}.prism"] = eye.prism[0] if eye.prism else None
    return found


def _page(font: str, body: str, size: str = "A5") -> str:
    style = f"@page{{size:{size};margin:14mm}} body{{font-family:{font};font-size:11pt}} td,th{{padding:2mm 3mm}}"
    return f"<html><head><style>{style}</style></head><body>{body}</body></html>"


def _row(*cells: str, tag: str = "td") -> str:
    return "<tr>" + "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in cells) + "</tr>"


def _day(draw: random.Random) -> tuple[int, int, int]:
    return draw.randint(13, 28), draw.randint(1, 11), 2026


def ruled_english(draw: random.Random) -> Paper:
    with_add, with_prism = draw.random() < 0.5, draw.random() < 0.3
    right, left = (_eye(draw, cylinder=-1, with_add=with_add, with_prism=with_prism) for _ in range(2))
    day, month, year = _day(draw)
    by, pd, vertex = draw.choice(PRESCRIBERS), draw.randint(56, 70), draw.choice([12, 13, 14])

    def cells(eye: Eye) -> list[str]:
        cylinder, axis = ("DS", "") if eye.cylinder is None else (_signed(eye.cylinder), str(eye.axis))
        prism, base = (f"{eye.prism[0]:g}", eye.prism[1].upper()) if eye.prism else ("", "")
        return [_signed(eye.sphere), cylinder, axis, prism, base, "" if eye.add is None else _signed(eye.add)]

    heads = ("", "Sphere", "Cylinder", "Axis", "Prism", "Base", "Near add")
    table = _row(*heads, tag="th") + _row("Right", *cells(right)) + _row("Left", *cells(left))
    html = (
        f"<h2>Halfpenny Lane Eye Practice</h2><p>Spectacle prescription for Rowan Thistle, born 03/04/1961</p>"
        f"<table border=1 cellspacing=0>{table}</table><p>Back vertex distance {vertex} mm &nbsp; PD {pd} mm</p>"
        f"<p>Date of examination: {day:02d}/{month:02d}/{year}</p><p>Optometrist: {by}</p>"
    )
    figures = _figures(right, left, pd_mm=pd, vertex_mm=vertex)
    return Paper("ruled_english", _page("DejaVu Sans", html), figures, f"{year}-{month:02d}-{day:02d}", by)


def lines_of_latin(draw: random.Random) -> Paper:
    with_add = draw.random() < 0.6
    right, left = (_eye(draw, cylinder=-1, with_add=with_add, with_prism=False) for _ in range(2))
    day, month, year = _day(draw)
    by, pd = draw.choice(PRESCRIBERS), draw.randint(56, 70)

    def line(name: str, eye: Eye) -> str:
        sphere = "Plano" if not eye.sphere else _signed(eye.sphere)
        text = f"{name}: {sphere}"
        text += " DS" if eye.cylinder is None else f" {_signed(eye.cylinder)} x {eye.axis:03d}"
        return text + (f"  ADD {_signed(eye.add)}" if eye.add else "")

    html = (
        f"<p style='text-align:right'>{year}-{month:02d}-{day:02d}</p><h3>Wren &amp; Partners</h3>"
        f"<p>Patient: Ida Sandgate</p><p style='font-size:14pt'>{line('OD', right)}</p>"
        f"<p style='font-size:14pt'>{line('OS', left)}</p><p>PD {pd}</p><p>Prescriber: {by}</p>"
    )
    page = _page("DejaVu Serif, serif", html)
    return Paper("lines_of_latin", page, _figures(right, left, pd_mm=pd), f"{year}-{month:02d}-{day:02d}", by)


def german_table(draw: random.Random) -> Paper:
    with_add, with_prism = draw.random() < 0.5, draw.random() < 0.3
    right, left = (_eye(draw, cylinder=-1, with_add=with_add, with_prism=with_prism) for _ in range(2))
    day, month, year = _day(draw)
    by, vertex = draw.choice(PRESCRIBERS), draw.choice([12, 14, 16])
    bases = {"in": "innen", "out": "außen", "up": "oben", "down": "unten"}

    def cells(eye: Eye) -> list[str]:
        figure = "" if eye.cylinder is None else _signed(eye.cylinder, comma=True)
        prism, base = (f"{eye.prism[0]:.1f}".replace(".", ","), bases[eye.prism[1]]) if eye.prism else ("", "")
        add = "" if eye.add is None else f"{eye.add:.2f}".replace(".", ",")
        axis = "" if eye.axis is None else f"{eye.axis}°"
        return [_signed(eye.sphere, comma=True), figure, axis, add, prism, base]

    heads = ("", "Sph", "Zyl", "Achse", "Add", "Prisma", "Basis")
    table = _row(*heads, tag="th") + _row("R", *cells(right)) + _row("L", *cells(left))
    html = (
        f"<h2>Augenpraxis am Beispielplatz</h2><h3>Brillenverordnung</h3><p>Frau Mia Tannhof, geb. 12.05.1958</p>"
        f"<table style='border-collapse:collapse' border=1>{table}</table><p>HSA: {vertex} mm</p>"
        f"<p>Untersucht am {day:02d}.{month:02d}.{year}</p><p>Verordner: {by}</p>"
    )
    figures = _figures(right, left, vertex_mm=vertex)
    return Paper("german_table", _page("DejaVu Sans", html), figures, f"{year}-{month:02d}-{day:02d}", by)


def french_brackets(draw: random.Random) -> Paper:
    with_add = draw.random() < 0.6
    right, left = (_eye(draw, cylinder=-1, with_add=with_add, with_prism=False) for _ in range(2))
    day, month, year = _day(draw)
    by = draw.choice(PRESCRIBERS)

    def line(name: str, eye: Eye) -> str:
        sphere = "Plan" if not eye.sphere else _signed(eye.sphere, comma=True)
        cylinder = "" if eye.cylinder is None else f" ({_signed(eye.cylinder, comma=True)} à {eye.axis}°)"
        add = f" Add {_signed(eye.add, comma=True)}" if eye.add else ""
        return f"{name} : {sphere}{cylinder}{add}"

    html = (
        f"<h3>Cabinet d'ophtalmologie de l'Exemple</h3><p>Le {day:02d}/{month:02d}/{year}</p><p>M. Paul Verdier</p>"
        f"<p>Verres correcteurs, vision de loin</p><p>{line('Œil droit', right)}</p><p>{line('Œil gauche', left)}</p>"
        f"<p>Dr {by}</p>"
    )
    page = _page("DejaVu Serif, serif", html)
    return Paper("french_brackets", page, _figures(right, left), f"{year}-{month:02d}-{day:02d}", by)


def spanish_turned(draw: random.Random) -> Paper:
    with_add = draw.random() < 0.6
    right, left = (_eye(draw, cylinder=-1, with_add=with_add, with_prism=False) for _ in range(2))
    day, month, year = _day(draw)
    by, pd = draw.choice(PRESCRIBERS), draw.randint(56, 70)

    def both(name: str, of: Callable[[Eye], str]) -> str:
        return _row(name, of(right), of(left))

    rows = _row("", "Ojo derecho", "Ojo izquierdo", tag="th")
    rows += both("Esfera", lambda eye: _signed(eye.sphere, comma=True))
    rows += both("Cilindro", lambda eye: "" if eye.cylinder is None else _signed(eye.cylinder, comma=True))
    rows += both("Eje", lambda eye: "" if eye.axis is None else f"{eye.axis}°")
    rows += both("Adición", lambda eye: "" if eye.add is None else _signed(eye.add, comma=True))
    html = (
        f"<h3>Óptica del Ejemplo</h3><p>Receta de gafas</p><p>Paciente: Elena Robledo</p>"
        f"<table border=1 cellspacing=0>{rows}</table><p>Distancia interpupilar: {pd} mm</p>"
        f"<p>Fecha: {day:02d}/{month:02d}/{year}</p><p>Óptico-optometrista: {by}</p>"
    )
    figures = _figures(right, left, pd_mm=pd)
    return Paper("spanish_turned", _page("DejaVu Sans", html), figures, f"{year}-{month:02d}-{day:02d}", by)


def italian_far_and_near(draw: random.Random) -> Paper:
    """Far and near each in full, without the addition in words: it is the difference of the spheres."""
    right, left = (_eye(draw, cylinder=-1, with_add=True, with_prism=False) for _ in range(2))
    day, month, year = _day(draw)
    by = draw.choice(PRESCRIBERS)

    def cells(eye: Eye, near: bool) -> list[str]:
        sphere = eye.sphere + (eye.add or 0) * near
        if eye.cylinder is None:
            return [_signed(sphere), "", ""]
        return [_signed(sphere), _signed(eye.cylinder), str(eye.axis)]

    rows = _row("", "", "Sfera", "Cilindro", "Asse", tag="th")
    rows += _row("Lontano", "OD", *cells(right, False)) + _row("", "OS", *cells(left, False))
    rows += _row("Vicino", "OD", *cells(right, True)) + _row("", "OS", *cells(left, True))
    html = (
        f"<h3>Studio oculistico Esempio</h3><p>Prescrizione occhiali per Livia Marchetto</p><table>{rows}</table>"
        f"<p>Data {day:02d}/{month:02d}/{year}</p><p>Dott. {by}</p>"
    )
    page = _page("DejaVu Sans", html)
    return Paper("italian_far_and_near", page, _figures(right, left), f"{year}-{month:02d}-{day:02d}", by)


def dutch_letters(draw: random.Random) -> Paper:
    with_add = draw.random() < 0.6
    right, left = (_eye(draw, cylinder=-1, with_add=with_add, with_prism=False) for _ in range(2))
    day, month, year = _day(draw)
    by, pd = draw.choice(PRESCRIBERS), draw.randint(56, 70)

    def line(name: str, eye: Eye) -> str:
        text = f"{name}  S {_signed(eye.sphere)}"
        text += "" if eye.cylinder is None else f"  C {_signed(eye.cylinder)}  as {eye.axis}"
        return text + (f"  add {_signed(eye.add)}" if eye.add else "")

    html = (
        f"<h3>Oogzorg Voorbeeld</h3><p>Brilrecept voor Joost Veldkamp</p><pre>{line('R', right)}\n\n"
        f"{line('L', left)}</pre><p>PD {pd} mm</p><p>Datum {day:02d}-{month:02d}-{year}</p><p>Optometrist {by}</p>"
    )
    page = _page("DejaVu Sans Mono", html)
    return Paper("dutch_letters", page, _figures(right, left, pd_mm=pd), f"{year}-{month:02d}-{day:02d}", by)


def two_boxes_plus_cylinder(draw: random.Random) -> Paper:
    with_add = draw.random() < 0.5
    right, left = (_eye(draw, cylinder=1, with_add=with_add, with_prism=False) for _ in range(2))
    day, month, year = _day(draw)
    by = draw.choice(PRESCRIBERS)

    def box(name: str, eye: Eye) -> str:
        rows = _row("Sph", _signed(eye.sphere))
        rows += _row("Cyl", "—" if eye.cylinder is None else _signed(eye.cylinder))
        rows += _row("Axis", "—" if eye.axis is None else str(eye.axis))
        rows += _row("Add", "—" if eye.add is None else _signed(eye.add))
        return f"<div style='float:left;width:45%;border:1px solid'><b>{name}</b><table>{rows}</table></div>"

    html = (
        f"<h3>Sample Street Clinic</h3><p>Name: Colm Ferris &nbsp; Date: {day:02d}/{month:02d}/{year}</p>"
        f"{box('RIGHT EYE', right)}{box('LEFT EYE', left)}<p style='clear:both;padding-top:5mm'>Signed {by}</p>"
    )
    page = _page("DejaVu Sans", html)
    return Paper("two_boxes_plus_cylinder", page, _figures(right, left), f"{year}-{month:02d}-{day:02d}", by)


LAYOUTS: tuple[Callable[[random.Random], Paper], ...] = (
    ruled_english,
    lines_of_latin,
    german_table,
    french_brackets,
    spanish_turned,
    italian_far_and_near,
    dutch_letters,
    two_boxes_plus_cylinder,
)
