"""The tables of the lab order: powers with centring, lenses, frame, and the figures worked out. Right eye first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from orders.documents import names, words
from orders.documents.key_words import value_in_words
from orders.documents.lens_order import EYES, Eye, LensOrder, OrderedLens, PrescribedEye
from orders.documents.order_report import ComputedEye, OrderReport
from orders.documents.powers_side_by_side import OnePower, in_form, powers_side_by_side, what_powers_stand_for

BASE_CURVE, FRONT_CURVE = "Base curve (1.530)", "Front curve (1.530)"


@dataclass(frozen=True)
class Table:
    """``head`` and each row have the same number of cells; the first cell of a row is its name. ``first``: read before
    all others, with its note.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    first: bool = False


def tables(order: LensOrder, report: OrderReport) -> tuple[Table, ...]:
    """All the tables that are not empty."""
    found = [
        _ordered(order, report),
        _prescription(order, report),
        worn_now(order),
        _centring(order),
        _lenses(order),
        _frame(order),
        _computed(order, report),
    ]
    return tuple(table for table in found if table is not None)


def headings(order: LensOrder) -> tuple[str, str]:
    """The practice's names for the right and left eye: R and L by default."""
    return words.text_of(order.practice, "right_heading", "R"), words.text_of(order.practice, "left_heading", "L")


def _by_eye(order: LensOrder, cells: Callable[[Eye], tuple[str, ...]], eyes: tuple[Eye, ...] = EYES) -> Rows:
    names = dict(zip(EYES, headings(order), strict=True))
    return tuple((names[eye], *cells(eye)) for eye in EYES if eye in eyes)


Rows = tuple[tuple[str, ...], ...]


def _prescription(order: LensOrder, report: OrderReport) -> Table | None:
    """The powers prescribed, unless they are those to be made: the same figures twice are one more to misread."""
    if _made_as_prescribed(order, report):
        return None
    head = ("", "Sphere", "Cylinder", "Axis", "Add", "Interm. add", "Prism Δ, base")
    return Table("Prescription", head, _by_eye(order, lambda eye: power_cells(order, order.prescription.eye(eye))))


def _made_as_prescribed(order: LensOrder, report: OrderReport) -> bool:
    """Whether both eyes get what is prescribed, so that the table of what is made says all of it."""
    pairs = [(eye.ordered, eye.prescribed) for eye in powers_side_by_side(order, report)]
    prescribed = [order.prescription.eye(eye) for eye in EYES]
    more = any(eye.intermediate_add is not None or words.prescribes_balance(eye) for eye in prescribed)
    return len(pairs) == len(EYES) and not more and all(map(_same_power, *zip(*pairs, strict=True)))


def _same_power(ordered: OnePower, prescribed: OnePower) -> bool:
    parts = ("sphere", "cylinder", "axis", "add", "prism")
    return all((getattr(ordered, part) or None) == (getattr(prescribed, part) or None) for part in parts)


def power_cells(order: LensOrder, eye: PrescribedEye) -> tuple[str, ...]:
    """Sphere, cylinder, axis, both adds and prism, in the practice's cylinder form; a balance lens by its name."""
    sphere, cylinder, axis = in_form(eye, words.extra_of(order.practice, "cylinder_form"))
    adds = (words.power(add) for add in (eye.add, eye.intermediate_add))
    said = words.sphere_prescribed(eye, None if sphere is None else words.power(sphere))
    return (said or words.power(None), words.power(cylinder), words.axis(axis), *adds, words.prism(eye.prism))


def worn_now(order: LensOrder) -> Table | None:
    """The pair worn now, below the new powers, so that a reader sees what changes; None if nobody read it."""
    worn = order.patient.present_spectacles
    if worn is None:
        return None

    def cells(eye: Eye) -> tuple[str, ...]:
        sizes = words.extra_of(worn, eye)
        height, curve = (_number(sizes, key) for key in ("height_mm", "base_curve_d"))
        return (*power_cells(order, worn.eye(eye)), words.figure(height), words.figure(curve, "D", 2))

    kind = words.text_of(worn, "design_kind")
    age = _number(worn.extra, "age_years")
    told = [
        f"read on the lensmeter {words.day(worn.read_on)}" if worn.read_on else "read on the lensmeter",
        value_in_words("prescription.use", worn.use) if worn.use else "",
        names.DESIGN_KINDS.get(kind, "" if kind == words.MISSING else kind),
        f"{age:g} years old" if age is not None else "",
    ]
    head = ("", "Sphere", "Cylinder", "Axis", "Add", "Interm. add", "Prism Δ, base", "Height mm", BASE_CURVE)
    return Table("Pair worn now", head, _by_eye(order, cells), " · ".join(text for text in told if text))


def _number(values: object, key: str) -> float | None:
    """A number that stands under ``extra``, where another program may have put anything."""
    value = values.get(key) if isinstance(values, dict) else None
    return value if isinstance(value, int | float) and not isinstance(value, bool) else None


def _ordered(order: LensOrder, report: OrderReport) -> Table | None:
    """The powers to be made, with the PD of the use, above the prescription that they follow from."""
    names_of = dict(zip(EYES, headings(order), strict=True))
    rows = tuple(
        (
            names_of[eye.eye],
            words.power(eye.ordered.sphere),
            words.power(eye.ordered.cylinder),
            words.axis(eye.ordered.axis),
            words.power(eye.ordered.add),
            words.prism(eye.ordered.prism),
            f"{words.rounded(eye.ordered.pd_mm)} {eye.ordered.pd_by}".rstrip(),
            eye.ordered.power_by,
        )
        for eye in powers_side_by_side(order, report, words.extra_of(order.practice, "cylinder_form"))
    )
    if not rows:
        return None
    head = ("", "Sphere", "Cylinder", "Axis", "Add", "Prism Δ, base", "PD, mm", "How")
    return Table("To be made", head, rows, what_powers_stand_for(order), first=True)


def _whole(power: OnePower | None) -> str:
    if power is None:
        return words.MISSING
    cylinder = f" {words.power(power.cylinder)} × {round(power.axis or 0) or 180}" if power.cylinder else ""
    return f"{words.power(power.sphere)}{cylinder}"


def _centring(order: LensOrder) -> Table:
    fitting = order.fitting
    kinds = {words.text_of(lens, "design_kind") for lens in (order.lenses.right, order.lenses.left) if lens}
    points = {kind: point for kind, point in names.HEIGHT_POINTS.items() if {kind} == kinds}
    point = next(iter(points.values()), "see lens")

    def cells(eye: Eye) -> tuple[str, ...]:
        fitted = fitting.eye(eye)
        values = (fitted.pd_mm, fitted.near_pd_mm, fitted.height_mm, fitted.vertex_mm)
        return tuple(words.figure(value) for value in values)

    pair = [
        ("binocular PD", words.figure(fitting.binocular_pd_mm, "mm")),
        ("pantoscopic tilt", words.figure(fitting.pantoscopic_deg, "°")),
        ("face form", words.figure(fitting.face_form_deg, "°")),
        ("near distance", words.figure(fitting.near_distance_mm, "mm", 0)),
    ]
    head = ("", "PD", "Near PD", f"Height ({point})", "Vertex as worn")
    note = " · ".join(f"{name} {value}" for name, value in pair if value != words.MISSING)
    return Table("Centring, mm", head, _by_eye(order, cells), note)


def _lenses(order: LensOrder) -> Table:
    def cells(eye: Eye) -> tuple[str, ...]:
        lens = order.lenses.eye(eye)
        return _lens(lens) if lens is not None else ("none ordered", *[words.MISSING] * 7)

    head = (
        "",
        "Design (code)",
        "Material (code)",
        "Corridor",
        "Blank",
        BASE_CURVE,
        "Centre",
        "Edge finish",
        "Treatments (code)",
    )
    return Table("Lenses", head, _by_eye(order, cells), _kept(order))


def _lens(lens: OrderedLens) -> tuple[str, ...]:
    named = names.lens_names(lens)
    instruction = names.INSTRUCTIONS[lens.instruction] if lens.instruction else ""
    treatments = map(words.with_code, named.treatments, lens.treatments)
    done = [*treatments, lens.colour and f"tint {lens.colour}", instruction]
    return (
        words.with_code(named.design, lens.design),
        _material(lens, named.material),
        words.figure(lens.corridor_mm, "mm"),
        words.figure(lens.blank_mm, "mm"),
        words.figure(lens.base_curve_d, "D", 2),
        words.figure(lens.centre_thickness_mm, "mm"),
        _edge(lens),
        "; ".join(text for text in done if text) or "none",
    )


def _material(lens: OrderedLens, name: str | None) -> str:
    """With the refractive index, if its name does not say it."""
    index, said = words.extra_of(lens, "index"), words.with_code(name, lens.material)
    known = isinstance(index, float | int) and f"{index:g}" not in (name or "")
    return f"{said}, n {index:g}" if known else said


def _edge(lens: OrderedLens) -> str:
    """The finish of the edge, where it is not left to the lab."""
    edge = lens.edge
    return (names.edge_words(edge.polished, edge.bevel) if edge else "") or words.MISSING


def _kept(order: LensOrder) -> str:
    kept = order.kept_lens
    if kept is None:
        return ""
    named = names.lens_names(kept)
    facts = [
        kept.design and words.with_code(named.design, kept.design),
        kept.material and words.with_code(named.material, kept.material),
        kept.base_curve_d and f"base curve {words.curve(kept.base_curve_d)}",
        kept.centre_thickness_mm and f"centre {words.figure(kept.centre_thickness_mm, 'mm')}",
        *map(words.with_code, named.treatments, kept.treatments or ()),
    ]
    return "Lens that stays in the frame: " + (", ".join(str(fact) for fact in facts if fact) or "not described")


def _frame(order: LensOrder) -> Table:
    frame = order.frame
    told = (frame.model, *(words.extra_of(frame, key) for key in ("colour", "stock_number")))
    model = ", ".join(text for text in told if isinstance(text, str) and text)
    material = names.FRAME_MATERIALS.get(words.text_of(frame, "material"), words.MISSING)
    sizes = (frame.a_mm, frame.b_mm, frame.dbl_mm, frame.ed_mm)
    shape = f"{len(frame.shape.radii_mm)} radii attached" if frame.shape else "from A, B and ED"
    row = (
        model or words.MISSING,
        material,
        value_in_words("frame.mount", frame.mount),
        value_in_words("frame.source", frame.source),
        *(words.figure(size) for size in sizes),
        words.figure(_number(frame.extra, "side_length_mm"), places=0),
        words.figure(frame.front_curve_d, "D", 2),
        shape,
    )
    head = (
        "Model, colour, stock number",
        "Material",
        "Mount",
        "Source",
        "A",
        "B",
        "DBL",
        "ED",
        "Side",
        FRONT_CURVE,
        "Shape",
    )
    return Table("Frame, mm", head, (row,))


def _computed(order: LensOrder, report: OrderReport) -> Table | None:
    form = words.extra_of(order.practice, "cylinder_form")
    worn = {eye.eye: eye.worn for eye in powers_side_by_side(order, report, form)}

    def cells(eye: Eye) -> tuple[str, ...]:
        found: ComputedEye = getattr(report.computed, eye)
        edge = [words.rounded(found.shown(key)) for key in ("edge_min_mm", "edge_max_mm")]
        inwards = found.decentration_in_mm if found.centre_in_mm is None else found.centre_in_mm
        return (
            f"{_way(inwards, 'in', 'out')}, {_way(found.decentration_up_mm, 'up', 'down')}",
            f"{words.rounded(found.blank_needed_mm)} ({words.rounded(found.blank_by_formula_mm)})",
            words.rounded(found.near_pd_mm),
            words.base_curve(found),
            words.rounded(found.shown("centre_thickness_mm")),
            " to ".join(edge) if words.MISSING not in edge else words.MISSING,
            words.rounded(found.shown("weight_g"), "g"),
            _whole(worn.get(eye)),
        )

    head = ("", "Decentration", "Blank needed (ED rule)", "Near PD", BASE_CURVE, "Centre", "Edge", "Weight", "As worn")
    note = (
        "For information; the ordered values above count. Decentration: along the lens. "
        "As worn: what the eye would get of the ordered power; not to be made."
    )
    if "vogel" in (report.computed.right.base_curve_by, report.computed.left.base_curve_by):
        note += f" A base curve {words.CURVE_BY_RULE} is a guess: the catalogue has none for this power."
    return Table("Worked out, mm", head, _by_eye(order, cells, order.ordered_eyes), note)


def _way(value: float | None, plus: str, minus: str) -> str:
    return words.MISSING if value is None else f"{abs(value):.1f} {plus if value >= 0.0 else minus}"
