"""Do the two lenses of a pair belong together?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from orders.documents.lens_order import Eye
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, below, same
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("pairs").rule


@dataclass(frozen=True)
class _Lens:
    """What is compared in a lens, ordered or kept: key → value; None if it is not known."""

    design: str | None
    material: str | None
    treatments: frozenset[str] | None
    base_curve_d: float | None
    colour: str | None = None


@rule(
    id="pair-match",
    number=76,
    level="ask",
    title="Both lenses alike",
    why="Two lenses of different material, lens, coating or tint look different and show two images.",
)
def pair_match(case: Case) -> Iterator[Finding]:
    lenses = _two_lenses(case)
    if lenses is None:
        return
    first, second = lenses
    for name, key, a, b in _compared(case, first, second):
        yield Finding(
            f"The two lenses differ in {name}: {a} and {b}.",
            "Make them alike, or confirm that they are meant to differ.",
            "both",
            a,
            b,
            None,
            (f"Order the same {name} for both.", "Confirm the difference."),
            f"lenses.{case.eyes[-1].eye}.{key}",
        )


def _two_lenses(case: Case) -> tuple[_Lens, _Lens] | None:
    if case.is_pair:
        alike = frozenset(key for key in ("design", "material") if _is_one_entry(case, key))
        return _ordered(case.right, alike), _ordered(case.left, alike)
    kept = case.order.kept_lens
    if kept is None or not case.eyes:
        return None
    treatments = None if kept.treatments is None else frozenset(kept.treatments)
    return _ordered(case.eyes[0]), _Lens(kept.design, kept.material, treatments, kept.base_curve_d)


def _is_one_entry(case: Case, key: str) -> bool:
    """Whether both lenses are of one design, or one material, of the catalogue: then nobody has to ask for its name."""
    right, left = getattr(case.right, key), getattr(case.left, key)
    return right is not None and bool(right == left)


def _ordered(eye: EyeCase, alike: frozenset[str] = frozenset()) -> _Lens:
    """What is compared in an ordered lens, without the keys that are alike."""
    lens = eye.lens
    if lens is None:
        return _Lens(None, None, None, None)
    design = None if "design" in alike else lens.design
    material = None if "material" in alike else lens.material
    return _Lens(design, material, frozenset(lens.treatments), lens.base_curve_d, lens.colour)


def _compared(case: Case, first: _Lens, second: _Lens) -> Iterator[tuple[str, str, str, str]]:
    """Name, key and both values, in words, of whatever differs; a value missing from either lens is not compared."""
    named = case.catalogue
    for name, key, a, b in (
        (
            "lens",
            "design",
            _name(named.design(first.design), first.design),
            _name(named.design(second.design), second.design),
        ),
        (
            "material",
            "material",
            _name(named.material(first.material), first.material),
            _name(named.material(second.material), second.material),
        ),
        ("colour", "colour", first.colour, second.colour),
    ):
        if a and b and a.casefold() != b.casefold():
            yield name, key, a, b
    if first.treatments is not None and second.treatments is not None and first.treatments != second.treatments:
        yield "treatments", "treatments", _treatments(case, first.treatments), _treatments(case, second.treatments)
    a_d, b_d = first.base_curve_d, second.base_curve_d
    if a_d is not None and b_d is not None and not same(a_d, b_d):
        yield "base curve", "base_curve_d", words.dioptres(a_d), words.dioptres(b_d)


def _name(entry: object, id: str | None) -> str | None:
    name: str | None = getattr(entry, "name", id)
    return name


def _treatments(case: Case, ids: Iterable[str]) -> str:
    return words.listed(sorted(_name(case.catalogue.treatment(id), id) or id for id in ids)) or "none"


@rule(
    id="base-curve-match",
    number=77,
    level="ask",
    title="Both base curves within a dioptre",
    why="Different front curves change the size of the image and the look of the pair.",
)
def base_curve_match(case: Case) -> Iterator[Finding]:
    right, left = case.right.figures.base_curve_d, case.left.figures.base_curve_d
    if not case.is_pair and case.eyes and case.order.kept_lens is not None:
        right, left = case.eyes[0].figures.base_curve_d, case.order.kept_lens.base_curve_d
    most = case.limit("base-curve-match", "difference_d")
    if right is None or left is None or not above(abs(right - left), most) or _lab_will_match(case):
        return
    yield Finding(
        f"The base curves are {words.dioptres(right)} and {words.dioptres(left)}, more than "
        f"{words.dioptres(most)} apart.",
        "Order one curve for both if the lab can, or tell the wearer.",
        "both",
        abs(right - left),
        most,
        "D",
        ("Ask the lab for one base curve in both lenses.", "Confirm, and tell the wearer of the change."),
        "lenses.right.base_curve_d",
    )


def _lab_will_match(case: Case) -> bool:
    """Whether nobody ordered a curve and the powers are alike: the lab's table just happens to change between them."""
    if not case.is_pair or any(eye.lens is not None and eye.lens.base_curve_d is not None for eye in case.eyes):
        return False
    right, left = case.right.made_power.mean_sphere, case.left.made_power.mean_sphere
    alike = case.limit("base-curve-match", "alike_within_d")
    return right is not None and left is not None and below(abs(right - left), alike)


KEPT = {
    "material": "material",
    "design": "lens",
    "base_curve_d": "base curve",
    "treatments": "treatments",
    "centre_thickness_mm": "centre thickness",
}


@rule(
    id="kept-lens",
    number=85,
    level="stop",
    title="A single lens is matched to the one that stays",
    why="Without the kept lens's material, curve, tint and thickness the new one will not match it.",
)
def kept_lens(case: Case) -> Iterator[Finding]:
    if len(case.eyes) != 1:
        return
    kept, other = case.order.kept_lens, _other(case.eyes[0].eye)
    missing = [name for key, name in KEPT.items() if kept is None or getattr(kept, key) is None]
    if missing:
        yield Finding(
            f"Only the {case.eyes[0].eye} lens is ordered, and of the {other} lens that stays this is not known: "
            f"{words.listed(missing)}.",
            "Measure the kept lens, or order a pair.",
            case.eyes[0].eye,
            None,
            words.listed(missing),
            None,
            ("Measure the kept lens and give the facts.", "Order both lenses."),
            "kept_lens",
        )


def _other(eye: Eye) -> Eye:
    return "left" if eye == "right" else "right"


@rule(
    id="progressive-pair",
    number=90,
    level="stop",
    title="One progressive design for both eyes",
    why="Different corridors put the same power at different heights: the eyes cannot use them together.",
)
def progressive_pair(case: Case) -> Iterator[Finding]:
    right, left = case.right, case.left
    if right.design is None or left.design is None or {right.kind, left.kind} != {"progressive"}:
        return
    corridors = right.figures.corridor_length_mm, left.figures.corridor_length_mm
    if right.design.id != left.design.id:
        what, a, b, key = "design", right.design.name, left.design.name, "design"
    elif corridors[0] is not None and corridors[1] is not None and not same(corridors[0], corridors[1]):
        what, a, b, key = "corridor", words.mm(corridors[0]), words.mm(corridors[1]), "corridor_mm"
    else:
        return
    yield Finding(
        f"The progressive lenses differ in their {what}: right {a}, left {b}.",
        "Order the same for both eyes.",
        "both",
        a,
        b,
        None,
        (f"Order the same {what} for both eyes.",),
        f"lenses.left.{key}",
    )
