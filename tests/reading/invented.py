# ruff: noqa: E501 - tables of words and of cells, a row a line
"""Prescriptions nobody has, as values, and the words that seven languages put on their paper."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

LANGUAGES = ("en", "de", "fr", "es", "it", "nl")

WORDS: dict[str, dict[str, str]] = {
    "en": {"right": "R", "left": "L", "right_long": "Right eye", "left_long": "Left eye", "sphere": "Sph", "cylinder": "Cyl",
           "axis": "Axis", "add": "Add", "prism": "Prism", "base": "Base", "acuity": "VA", "pd": "PD", "vertex": "BVD",
           "tested_on": "Date of test", "expires_on": "Valid until", "prescriber": "Optometrist", "patient": "Name",
           "born_on": "Date of birth", "distance": "Distance", "near": "Near", "old": "Previous", "new": "New",
           "int": "Int add", "title": "Prescription for spectacles", "sphere_long": "Sphere", "cylinder_long": "Cylinder"},
    "de": {"right": "R", "left": "L", "right_long": "Rechts", "left_long": "Links", "sphere": "Sph", "cylinder": "Zyl",
           "axis": "Achse", "add": "Add", "prism": "Prisma", "base": "Basis", "acuity": "Visus cc", "pd": "PD", "vertex": "HSA",
           "tested_on": "Refraktion vom", "expires_on": "Gültig bis", "prescriber": "Augenarzt", "patient": "Patient",
           "born_on": "geb.", "distance": "Ferne", "near": "Nähe", "old": "Alte Werte", "new": "Neue Werte",
           "int": "Zwischenaddition", "title": "Brillenverordnung", "sphere_long": "Sphäre", "cylinder_long": "Zylinder"},
    "fr": {"right": "OD", "left": "OG", "right_long": "Œil droit", "left_long": "Œil gauche", "sphere": "Sph", "cylinder": "Cyl",
           "axis": "Axe", "add": "Add", "prism": "Prisme", "base": "Base", "acuity": "AV", "pd": "EP", "vertex": "DV",
           "tested_on": "Date de l'examen", "expires_on": "Valable jusqu'au", "prescriber": "Ophtalmologiste", "patient": "Nom",
           "born_on": "Né(e) le", "distance": "Loin", "near": "Près", "old": "Ancienne correction", "new": "Nouvelle correction",
           "int": "Add int", "title": "Ordonnance de lunettes", "sphere_long": "Sphère", "cylinder_long": "Cylindre"},
    "es": {"right": "OD", "left": "OI", "right_long": "Ojo derecho", "left_long": "Ojo izquierdo", "sphere": "Esf", "cylinder": "Cil",
           "axis": "Eje", "add": "Adición", "prism": "Prisma", "base": "Base", "acuity": "AV", "pd": "DIP", "vertex": "DV",
           "tested_on": "Fecha de examen", "expires_on": "Válido hasta", "prescriber": "Optometrista", "patient": "Paciente",
           "born_on": "Fecha de nacimiento", "distance": "Lejos", "near": "Cerca", "old": "Graduación anterior",
           "new": "Nueva graduación", "int": "Adición intermedia", "title": "Receta de gafas", "sphere_long": "Esfera",
           "cylinder_long": "Cilindro"},
    "it": {"right": "OD", "left": "OS", "right_long": "Occhio destro", "left_long": "Occhio sinistro", "sphere": "Sf", "cylinder": "Cil",
           "axis": "Asse", "add": "Add", "prism": "Prisma", "base": "Base", "acuity": "Visus", "pd": "DI", "vertex": "DAC",
           "tested_on": "Data esame", "expires_on": "Valida fino al", "prescriber": "Oculista", "patient": "Paziente",
           "born_on": "Nato il", "distance": "Lontano", "near": "Vicino", "old": "Correzione precedente", "new": "Nuova correzione",
           "int": "Addizione intermedia", "title": "Prescrizione di occhiali", "sphere_long": "Sfera", "cylinder_long": "Cilindro"},
    "nl": {"right": "R", "left": "L", "right_long": "Rechts", "left_long": "Links", "sphere": "Sf", "cylinder": "Cil",
           "axis": "As", "add": "Add", "prism": "Prisma", "base": "Basis", "acuity": "Visus", "pd": "PD", "vertex": "HA afstand",
           "tested_on": "Meetdatum", "expires_on": "Geldig tot", "prescriber": "Oogarts", "patient": "Naam",
           "born_on": "Geboortedatum", "distance": "Veraf", "near": "Dichtbij", "old": "Vorige correctie", "new": "Nieuwe correctie",
           "int": "Tussenadditie", "title": "Brilvoorschrift", "sphere_long": "Sfeer", "cylinder_long": "Cilinder"},
}  # fmt: skip

BASES = {
    "en": {"in": ("in", "BI"), "out": ("out", "BO"), "up": ("up", "BU"), "down": ("down", "BD")},
    "de": {"in": ("innen", "innen"), "out": ("außen", "außen"), "up": ("oben", "oben"), "down": ("unten", "unten")},
    "fr": {"in": ("interne", "nasale"), "out": ("externe", "temporale"), "up": ("haut", "haut"), "down": ("bas", "bas")},
    "es": {"in": ("interna", "nasal"), "out": ("externa", "temporal"), "up": ("superior", "superior"), "down": ("inferior", "inferior")},
    "it": {"in": ("interna", "nasale"), "out": ("esterna", "temporale"), "up": ("alta", "superiore"), "down": ("bassa", "inferiore")},
    "nl": {"in": ("binnen", "binnen"), "out": ("buiten", "buiten"), "up": ("boven", "boven"), "down": ("onder", "beneden")},
}  # fmt: skip
DEGREES = {
    "right": {"in": 0, "out": 180, "up": 90, "down": 270},
    "left": {"in": 180, "out": 0, "up": 90, "down": 270},
}
PLANO = {"en": "Plano", "de": "plan", "fr": "plan", "es": "neutro", "it": "neutro", "nl": "plano"}
MONTHS = {
    "en": "January February March April May June July August September October November December",
    "de": "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
    "fr": "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
    "es": "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
    "it": "gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre dicembre",
    "nl": "januari februari maart april mei juni juli augustus september oktober november december",
}
NAMES = ("A. Sample", "B. Muster", "C. Exemple", "D. Invented", "E. Voorbeeld", "F. Ejemplo")
PRESCRIBERS = ("Dr. Test Person", "Dr. M. Muster", "Dr. P. Exemple", "Dr. Q. Invented", "Dr. S. Voorbeeld")


@dataclass(frozen=True)
class OneEye:
    sphere: float
    cylinder: float | None = None
    axis: int | None = None
    add: float | None = None
    prism: tuple[float, str] | None = None
    acuity: str | None = None


@dataclass(frozen=True)
class Invented:
    """One prescription, and how whoever wrote it writes: decimal mark, plano, dates."""

    language: str
    right: OneEye
    left: OneEye
    pd: float
    vertex: float
    tested_on: date
    expires_on: date
    born_on: date
    prescriber: str
    patient: str
    comma: bool
    true_minus: bool
    long_date: bool
    rng: random.Random = field(compare=False, repr=False)

    def word(self, name: str) -> str:
        return WORDS[self.language][name]

    def number(self, value: float, places: int = 2, signed: bool = True) -> str:
        said = f"{value:+.{places}f}" if signed and value else f"{value:.{places}f}"
        said = said.replace(".", ",") if self.comma else said
        return said.replace("-", "\u2212") if self.true_minus else said

    def day(self, day: date) -> str:
        if self.long_date:
            month = MONTHS[self.language].split()[day.month - 1]
            return f"{day.day}{'.' if self.language == 'de' else ''} {month} {day.year}"
        between = {"en": "/", "fr": "/", "es": "/", "it": "/", "de": ".", "nl": "-"}[self.language]
        return day.strftime(f"%d{between}%m{between}%Y")

    def sphere(self, eye: OneEye) -> str:
        return PLANO[self.language] if eye.sphere == 0.0 else self.number(eye.sphere)

    def base(self, eye: OneEye, way: int = 0) -> str:
        return BASES[self.language][eye.prism[1]][way] if eye.prism else ""


def invent(rng: random.Random, language: str) -> Invented:
    plus = rng.random() < 0.3
    presbyope = rng.random() < 0.55
    add = rng.randrange(3, 13) * 0.25 if presbyope else None
    prism = rng.random() < 0.5
    tested = date(2026, 1, 5) + timedelta(days=rng.randrange(300))
    eyes = [_eye(rng, plus, add, prism, language) for _ in range(2)]
    return Invented(
        language, eyes[0], eyes[1],
        rng.randrange(112, 145) / 2, float(rng.choice((12, 13, 14, 12))),
        tested, tested.replace(year=tested.year + 2) if tested.month != 2 else tested + timedelta(days=700),
        date(1945, 1, 1) + timedelta(days=rng.randrange(20000)),
        rng.choice(PRESCRIBERS), rng.choice(NAMES),
        language != "en", rng.random() < 0.3, rng.random() < 0.35, rng,
    )  # fmt: skip


def _eye(rng: random.Random, plus: bool, add: float | None, prism: bool, language: str) -> OneEye:
    sphere = 0.0 if rng.random() < 0.06 else rng.randrange(-32, 25) * 0.25
    cylinder = axis = None
    if rng.random() < 0.75:
        cylinder = rng.randrange(1, 13) * 0.25 * (1 if plus else -1)
        axis = rng.choice((*range(5, 181, 5), *range(1, 181)))
    acuities: dict[str, tuple[str, ...]] = {"en": ("6/6", "6/9", "6/5", "6/12")}
    return OneEye(
        sphere, cylinder, axis, add,
        (rng.choice((0.5, 1.0, 1.5, 2.0, 3.0)), rng.choice(("in", "out", "up", "down"))) if prism and rng.random() < 0.7 else None,
        rng.choice(acuities.get(language, ("1,0", "0,8", "0,63", "1,25"))),
    )  # fmt: skip


def truth_of(paper: Invented, printed: set[str]) -> dict[str, Any]:
    """What should be read off a paper that prints these fields, by name."""
    truth: dict[str, Any] = {}
    for name in ("right", "left"):
        eye: OneEye = getattr(paper, name)
        for what in ("sphere", "cylinder", "axis", "add", "acuity"):
            if what in printed and getattr(eye, what) is not None:
                truth[f"{name}.{what}"] = getattr(eye, what)
        if "acuity" in printed and eye.acuity:
            truth[f"{name}.acuity"] = eye.acuity.replace(",", ".")
        if "prism" in printed and eye.prism:
            truth[f"{name}.prism"] = eye.prism
    for what, key in (("pd", "pd_mm"), ("vertex", "vertex_mm")):
        if what in printed:
            truth[key] = getattr(paper, what)
    for what in ("tested_on", "expires_on"):
        if what in printed:
            truth[what] = getattr(paper, what).isoformat()
    if "prescriber" in printed:
        truth["prescriber"] = paper.prescriber
    return truth
