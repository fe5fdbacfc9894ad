"""Does the lab's catalogue offer what is ordered?"""

from __future__ import annotations

from collections.abc import Iterator

from orders.documents.lens_catalogue import Design
from orders.documents.lens_order import OrderedLens
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, below, outside
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("availability").rule

ANOTHER_LENS = "Choose another lens of the catalogue, or another lab."
ONE_OF_THESE = "Choose one of these."


@rule(
    id="in-range",
    number=82,
    level=("stop", "ask"),
    title="The catalogue offers what is ordered",
    why="What the lab does not make comes back as a query, and the job waits at the end of the queue.",
)
def in_range(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        if eye.lens is None:
            continue
        yield from _names(eye, eye.lens)
        if eye.design is not None:
            yield from _powers(eye, eye.design)
            yield from _sizes(eye, eye.lens, eye.design)
        yield from _treatments(eye)


def _not_offered(
    eye: EyeCase,
    key: str,
    says: str,
    found: float | str,
    limit: float | str,
    unit: str | None = None,
    advice: str = ANOTHER_LENS,
) -> Finding:
    return Finding(says, advice, eye.eye, found, limit, unit, (ANOTHER_LENS,), eye.at(key))


def _names(eye: EyeCase, lens: OrderedLens) -> Iterator[Finding]:
    """The lens, material and treatments that the catalogue does not list, or does not offer together."""
    # What the catalogue lists is looked at first: where it has the lens, no rule depends on what it is called.
    if eye.design is None and lens.design is not None:
        text = f"The lens “{lens.design}” of the {eye.name} is not in {_catalogue(eye)}."
        yield _not_offered(eye, "lenses.design", text, lens.design, "a lens of the catalogue")
    if eye.material is None and lens.material is not None:
        text = f"The material “{lens.material}” of the {eye.name} is not in {_catalogue(eye)}."
        yield _not_offered(eye, "lenses.material", text, lens.material, "a material of the catalogue")
    elif eye.material and eye.design and not eye.is_made_in_its_material:
        offered = words.listed(_material_names(eye, eye.design), "or")
        text = f"{eye.design.name} is not made in {eye.material.name}; it comes in {offered}."
        yield _not_offered(eye, "lenses.material", text, eye.material.name, offered, advice=ONE_OF_THESE)


def _catalogue(eye: EyeCase) -> str:
    """The catalogue, named by its lab; if the order goes to another lab, that is the fault."""
    lab, wanted = (eye.case.catalogue.lab or "").strip(), (eye.case.order.lab.name or "").strip()
    named = f"the catalogue of {lab}" if lab else "the catalogue"
    return f"{named}, and the order is for {wanted}" if lab and wanted and lab != wanted else named


def _material_names(eye: EyeCase, design: Design) -> list[str]:
    named = ((id, eye.case.catalogue.material(id)) for id in design.materials)
    return [material.name if material else id for id, material in named]


def _powers(eye: EyeCase, design: Design) -> Iterator[Finding]:
    """Sphere (in minus cylinder form, as ranges are stated), cylinder, add and prism against the design."""
    power = eye.made_power.minus_form
    if design.sphere and power.sphere is not None and outside(power.sphere, *_ends(design.sphere)):
        yield _beyond(eye, "sphere", power.sphere, _ends(design.sphere), _near_sphere(eye))
    yield from _other_meridian(eye, design)
    if design.cylinder_max is not None and power.cylinder and above(abs(power.cylinder), design.cylinder_max):
        yield _too_much(eye, "cylinder", abs(power.cylinder), design.cylinder_max, "D")
    if design.add and eye.power.add is not None and eye.is_multifocal and outside(eye.power.add, *_ends(design.add)):
        yield _beyond(eye, "add", eye.power.add, _ends(design.add))
    if design.prism_max is not None and above(power.prism_pd, design.prism_max):
        yield _too_much(eye, "prism", power.prism_pd, design.prism_max, "Δ")


def _other_meridian(eye: EyeCase, design: Design) -> Iterator[Finding]:
    """A lens kept in stock hardly ever has its strongest sphere and its strongest cylinder in one."""
    power, stock_d = eye.made_power.minus_form, eye.case.limit("in-range", "stock_cylinder_d")
    if not design.sphere or power.sphere is None or power.cylinder is None or design.cylinder_max is None:
        return
    low, high = _ends(design.sphere)
    both = power.sphere + power.cylinder
    if above(design.cylinder_max, stock_d) or outside(power.sphere, low, high) or not below(both, low):
        return
    text = (
        f"Sphere and cylinder of the {eye.name} make {words.power(both)} in one meridian, and {design.name} ends at "
        f"{words.power(low)}."
    )
    advice = "Ask the lab whether it has both in one, or choose a lens that is made to order."
    remedies = ("Ask the lab for its range of both together.", ANOTHER_LENS)
    yield Finding(text, advice, eye.eye, both, low, "D", remedies, eye.at("prescription.cylinder"), "ask")


def _ends(range_: tuple[float, ...]) -> tuple[float, float]:
    return range_[0], range_[-1]


def _near_sphere(eye: EyeCase) -> str:
    """How the sphere of a lens for close work comes about: ``+2.75 with the add of +2.25``; empty for others."""
    written, add = eye.power.sphere, eye.made.add_for_use
    if written is None or add is None or eye.made.power_by == "order":
        return ""
    return f" ({words.power(written)} with an add of {words.power(add)})"


def _beyond(eye: EyeCase, name: str, value: float, ends: tuple[float, float], why: str = "") -> Finding:
    low, high = ends
    design = eye.design.name if eye.design else "This lens"
    text = (
        f"The {name} of the {eye.name} is {words.power(value)}{why}; {design} is made from {words.power(low)} to "
        f"{words.power(high)}."
    )
    return _not_offered(eye, f"prescription.{name}", text, value, low if value < low else high, "D")


def _too_much(eye: EyeCase, name: str, value: float, most: float, unit: str) -> Finding:
    design = eye.design.name if eye.design else "This lens"
    text = (
        f"The {name} of the {eye.name} is {words.number(value)} {unit}; {design} is made up to "
        f"{words.number(most)} {unit}."
    )
    return _not_offered(eye, f"prescription.{name}", text, value, most, unit)


def _sizes(eye: EyeCase, lens: OrderedLens, design: Design) -> Iterator[Finding]:
    """Corridor and blank against those that the design lists, if it lists any."""
    # Whether they are listed is asked first, which many lenses have alike; only then what they are.
    for key, name, is_listed in (
        ("corridor_mm", "corridor", eye.has_listed_corridor),
        ("blank_mm", "blank", eye.has_listed_blank),
    ):
        if is_listed:
            continue
        wanted, listed = getattr(lens, key), _listed(design, key)
        offered = words.listed([words.number(size) for size in listed], "or")
        text = f"A {name} of {words.mm(wanted)} is ordered for the {eye.name}; {design.name} has {offered} mm."
        yield _not_offered(eye, f"lenses.{key}", text, wanted, offered, "mm", ONE_OF_THESE)


def _listed(design: Design, key: str) -> list[float]:
    if key == "corridor_mm":
        return [row.length_mm for row in design.corridors]
    return sorted({row.diameter_mm for row in design.blanks})


def _treatments(eye: EyeCase) -> Iterator[Finding]:
    for id in eye.lens.treatments if eye.lens else ():
        treatment = eye.case.catalogue.treatment(id)
        if treatment is None:
            text = f"The treatment “{id}” of the {eye.name} is not in {_catalogue(eye)}."
            limit = "a treatment of the catalogue"
            yield _not_offered(eye, "lenses.treatments", text, id, limit, advice="Choose one that is.")
        elif eye.material and treatment.materials and eye.material.id not in treatment.materials:
            text = f"{treatment.name} is not offered on {eye.material.name} ({eye.name})."
            advice = "Choose a material that takes it, or leave it out."
            limit = "a treatment for this material"
            yield _not_offered(eye, "lenses.treatments", text, treatment.name, limit, advice=advice)
