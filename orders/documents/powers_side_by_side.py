"""Prescribed, ordered and as worn, side by side for each eye, and one sentence on what the ordered powers stand for.

Pages and paper show the same from here, each in its own way of writing. Pure; it works nothing out: the report has.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from dispensing.optics.errors import OpticsError
from dispensing.optics.power import SphereCylinder
from orders.documents import words
from orders.documents.key_words import value_in_words
from orders.documents.lens_order import EYES, Eye, LensOrder, OrderedLens, PrismPart
from orders.documents.names import PD_BY, POWER_BY
from orders.documents.order_report import OrderReport, PowerToBeMade

SINGLE_VISION = "single_vision"


class Written(Protocol):
    """Whatever has a power: prescribed, ordered or worn."""

    @property
    def sphere(self) -> float | None: ...
    @property
    def cylinder(self) -> float | None: ...
    @property
    def axis(self) -> float | None: ...


@dataclass(frozen=True)
class OnePower:
    """A power in the practice's cylinder form; the ordered one with how it comes about and the PD it is centred by."""

    sphere: float | None
    cylinder: float | None
    axis: float | None
    add: float | None = None
    prism: tuple[PrismPart, ...] = ()
    pd_mm: float | None = None
    power_by: str = ""
    pd_by: str = ""


@dataclass(frozen=True)
class EyePowers:
    """One eye for which a lens is ordered. worn: None if it is not known how the lens sits."""

    eye: Eye
    prescribed: OnePower
    ordered: OnePower
    worn: OnePower | None


def powers_side_by_side(order: LensOrder, report: OrderReport, form: object = None) -> tuple[EyePowers, ...]:
    """Right eye first. ``form``: plus, minus, or as written. Empty for a report that does not say what is made."""
    found = (_eye(order, report, eye, form) for eye in order.ordered_eyes)
    return tuple(eye for eye in found if eye is not None)


def in_form(power: Written, form: object) -> tuple[float | None, float | None, float | None]:
    """Sphere, cylinder and axis in ``plus`` or ``minus`` cylinder form; as written if it cannot be transposed."""
    as_written = (power.sphere, power.cylinder, power.axis if power.cylinder else None)
    if form not in ("plus", "minus") or not power.cylinder:
        return as_written
    try:
        whole = SphereCylinder.written(power.sphere, power.cylinder, power.axis)
    except OpticsError:
        return power.sphere, power.cylinder, power.axis
    turned = whole.in_plus_cylinder() if form == "plus" else whole.in_minus_cylinder()
    return turned.sphere, turned.cylinder, turned.axis


def _eye(order: LensOrder, report: OrderReport, eye: Eye, form: object) -> EyePowers | None:
    prescribed, found = order.prescription.eye(eye), report.computed.right if eye == "right" else report.computed.left
    lens = order.lenses.eye(eye)
    made = found.power or _stated(lens)
    if made is None:
        return None
    add = None if words.text_of(lens, "design_kind") == SINGLE_VISION else prescribed.add
    pd = PD_BY[found.pd_used_by] if found.pd_used_by else ""
    how = POWER_BY[made.by] if made.by else ""
    worn = found.as_worn
    return EyePowers(
        eye,
        OnePower(*in_form(prescribed, form), prescribed.add, prescribed.prism),
        OnePower(*in_form(made, form), add, made.prism, found.pd_used_mm, how, pd),
        None if worn is None else OnePower(*in_form(worn, form)),
    )


def _stated(lens: OrderedLens | None) -> PowerToBeMade | None:
    """The power that the order itself states, for a reader without a report."""
    power = lens.power if lens else None
    if power is None or power.sphere is None:
        return None
    return PowerToBeMade(sphere=power.sphere, cylinder=power.cylinder, axis=power.axis, prism=power.prism or ())


def what_powers_stand_for(order: LensOrder) -> str:
    """One line for the lab: what the pair is for, the plane that the ordered powers refer to, and who compensates."""
    use = value_in_words("use", order.pair_use)
    basis = order.power_basis or "as_prescribed"
    return f"For {use}. {_PLANES[basis](order)}" if order.pair_use else _PLANES[basis](order)


def _as_prescribed(order: LensOrder) -> str:
    vertex = order.prescription.vertex_mm
    plane = "not known" if vertex is None else words.figure(vertex, "mm")
    by_the_lab = any(words.extra_of(order.lenses.eye(eye), "compensated") is True for eye in order.ordered_eyes)
    lab = "the lab compensates them for the position of wear" if by_the_lab else "the lab may compensate"
    return f"Back vertex powers for the test's vertex distance ({plane}), not compensated here; {lab}."


def _carried(order: LensOrder) -> str:
    return (
        f"Back vertex powers, carried by the practice to the vertex distance as worn ({_worn_vertices(order)}). Make "
        "them as they stand."
    )


def _as_worn(order: LensOrder) -> str:
    tilt, wrap = order.fitting.pantoscopic_deg, order.fitting.face_form_deg
    return (
        f"Back vertex powers, compensated by the practice for the vertex distance as worn ({_worn_vertices(order)}), "
        f"tilt {words.figure(tilt, '°')} and face form {words.figure(wrap, '°')}. Make them as they stand."
    )


def _worn_vertices(order: LensOrder) -> str:
    worn = {eye: order.fitting.eye(eye).vertex_mm for eye in EYES if eye in order.ordered_eyes}
    figures = {words.figure(value, "mm") for value in worn.values()}
    if len(figures) == 1:
        return figures.pop()
    return ", ".join(f"{eye} {words.figure(value, 'mm')}" for eye, value in worn.items())


_PLANES = {"as_prescribed": _as_prescribed, "carried_to_vertex": _carried, "as_worn": _as_worn}
