"""Whether an order's fields say the same as a remark about them, so that nothing needs to be asked.

One small function a part of the order, by the name that the table of remark words gives it. It must never judge.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from dispensing.trade.remark_words import Mention
from orders.documents.lens_catalogue import DesignKind
from orders.documents.lens_order import EYES, PrescriptionPart
from orders.rules import dates
from orders.rules.case import Case
from orders.rules.compare import at_most, same

DENIED = re.compile(r"\b(no|not|without|never|nothing|remove|doesn't|don't)\b", re.IGNORECASE)
PERCENT = re.compile(r"\d+(?=\s?%)")
COLOURS = re.compile(r"\b(brown|gr[ae]y|green|blue|yellow|amber|rose)\b", re.IGNORECASE)
KINDS_SAID: dict[str, DesignKind] = {
    "bi": "bifocal",
    "flat": "bifocal",
    "lined": "bifocal",
    "tri": "trifocal",
    "pro": "progressive",
    "vari": "progressive",
    "single": "single_vision",
    "office": "office",
}
"""The kind of design by how its word in a remark begins."""

Agrees = Callable[[Case, Mention], bool]


def agrees(case: Case, mention: Mention) -> bool:
    """Whether the order already says so; False if there is no part of it that could."""
    test = BY_PART.get(mention.meaning.agrees)
    return test is not None and test(case, mention)


def _among(mention: Mention, figures: Iterable[float | None]) -> bool:
    value = mention.value
    return value is not None and any(figure is not None and same(figure, value) for figure in figures)


def _prescriptions(case: Case) -> list[PrescriptionPart]:
    both = (case.order.prescription, case.order.previous_prescription)
    return [one for one in both if one is not None]


def _power(case: Case, mention: Mention) -> bool:
    """One of this prescription's or the last one's: a remark that tells what was before is no order."""
    eyes = [one.eye(eye) for one in _prescriptions(case) for eye in EYES]
    return _among(mention, [figure for eye in eyes for figure in (eye.sphere, eye.cylinder, eye.add)])


def _axis(case: Case, mention: Mention) -> bool:
    return _among(mention, [eye.prescribed.axis for eye in case.both])


def _cylinder(case: Case, mention: Mention) -> bool:
    """The amount, in either form."""
    return _among(mention, [abs(eye.prescribed.cylinder or 0.0) for eye in case.both])


def _vertex(case: Case, mention: Mention) -> bool:
    return _among(mention, [case.order.prescription.vertex_mm, *(eye.fitted.vertex_mm for eye in case.both)])


def _add(case: Case, mention: Mention) -> bool:
    return _among(mention, [eye.prescribed.add for eye in case.both])


def _prism(case: Case, mention: Mention) -> bool:
    return any(prism.amount for eye in case.both for prism in eye.prescribed.prism)


def _pd(case: Case, mention: Mention) -> bool:
    eyes = [eye.fitted for eye in case.both]
    single = [figure for eye in eyes for figure in (eye.pd_mm, eye.near_pd_mm)]
    near = None if None in (eyes[0].near_pd_mm, eyes[1].near_pd_mm) else sum(eye.near_pd_mm or 0.0 for eye in eyes)
    return _among(mention, [*single, near, case.order.fitting.binocular_pd_mm, case.monocular_sum_mm])


def _height(case: Case, mention: Mention) -> bool:
    return _among(mention, [eye.fitted.height_mm for eye in case.both])


def _base_curve(case: Case, mention: Mention) -> bool:
    ordered = [eye.lens.base_curve_d for eye in case.eyes if eye.lens]
    return any(ordered) if mention.value is None else _among(mention, ordered)


def _tint(case: Case, mention: Mention) -> bool:
    """A tint is ordered, and every depth and colour in the remark stands in its name or words."""
    tints = [treatment.name for eye in case.eyes for treatment in eye.treatments if treatment.kind == "tint"]
    ordered = " ".join([*tints, *(eye.lens.colour or "" for eye in case.eyes if eye.lens)]).casefold()
    said = [*PERCENT.findall(mention.sentence), *(word.casefold() for word in COLOURS.findall(mention.sentence))]
    return bool(ordered.strip()) and all(word.replace("gray", "grey") in ordered for word in said)


def _treated(*kinds: str) -> Agrees:
    def ordered_or_denied(case: Case, mention: Mention) -> bool:
        ordered = any(treatment.kind in kinds for eye in case.eyes for treatment in eye.treatments)
        return ordered is not bool(DENIED.search(mention.sentence))

    return ordered_or_denied


def _material(case: Case, mention: Mention) -> bool:
    materials = [eye.material for eye in case.eyes if eye.material is not None]
    if mention.value is not None:
        return any(at_most(abs(one.index - mention.value), INDEX_NAMED_WITHIN) for one in materials)
    named = [word for word in ("polycarb",) if word in mention.said.casefold()]
    ordered = bool(named) and any(named[0] in one.name.casefold() for one in materials)
    return ordered is not bool(DENIED.search(mention.sentence))


INDEX_NAMED_WITHIN = 0.015


def _design(case: Case, mention: Mention) -> bool:
    said = mention.said.casefold()
    meant = next((kind for start, kind in KINDS_SAID.items() if said.startswith(start)), None)
    return any(eye.kind == meant for eye in case.eyes)


def _one_lens(case: Case, mention: Mention) -> bool:
    return not case.is_pair


def _instruction(case: Case, mention: Mention) -> bool:
    return any(eye.lens.instruction for eye in case.eyes if eye.lens)


def _soon(case: Case, mention: Mention) -> bool:
    """The day it is needed is as near as a lab ever works."""
    ordered, needed = case.order.ordered_on, case.order.needed_on
    if ordered is None or needed is None:
        return False
    return dates.working_days_between(ordered, needed) <= case.limit("promise-date", "single_vision_days")


def _frame_size(case: Case, mention: Mention) -> bool:
    return _among(mention, [case.order.frame.a_mm])


def _protected(case: Case, mention: Mention) -> bool:
    return case.order.patient.protected is True


def _driver(case: Case, mention: Mention) -> bool:
    return case.order.patient.driver is True


def _drilled(case: Case, mention: Mention) -> bool:
    return case.order.frame.mount == "drilled"


def _uncut(case: Case, mention: Mention) -> bool:
    return case.order.supply == "uncut"


def _tough_and_rimmed(case: Case, mention: Mention) -> bool:
    tough = all(eye.material is not None and eye.material.impact_resistant is True for eye in case.eyes)
    return tough and case.order.frame.mount in ("full_rim", "grooved")


BY_PART: dict[str, Agrees] = {
    "power": _power,
    "axis": _axis,
    "cylinder": _cylinder,
    "vertex": _vertex,
    "add": _add,
    "prism": _prism,
    "pd": _pd,
    "height": _height,
    "base_curve": _base_curve,
    "tint": _tint,
    "antireflection": _treated("antireflection"),
    "polarised": _treated("polarised"),
    "photochromic": _treated("photochromic"),
    "mirror": _treated("mirror"),
    "material": _material,
    "design": _design,
    "one_lens": _one_lens,
    "instruction": _instruction,
    "soon": _soon,
    "frame_size": _frame_size,
    "protected": _protected,
    "driver": _driver,
    "tough_and_rimmed": _tough_and_rimmed,
    "drilled": _drilled,
    "uncut": _uncut,
}
