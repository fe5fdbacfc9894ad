"""Has the prescription changed so much, since the last one or from the pair worn now, that the wearer must be told?

Powers are compared in minus cylinder form, and oblique cylinders as power vectors.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from dispensing.prescribing.slips import half_transposed
from dispensing.trade import figure
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least
from orders.rules.earlier import WORN
from orders.rules.finding import Finding
from orders.rules.powers import WrittenPower
from orders.rules.registry import Family

rule = Family("prescription changes").rule

CONFIRM = "Confirm if it is as prescribed."
LAST = "the last prescription"
Change = tuple[float, float, str, str, str]
"""Amount, limit, unit, words and key."""


@rule(
    id="large-change",
    number=19,
    level="ask",
    title="Large changes are meant, and explained to the wearer",
    why="Changes of cylinder are behind 38 % of prescription-related complaints; older people fall in new lenses.",
)
def large_change(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        yield from _acuity_fallen(case, eye)
        changes = _changes(case, eye, eye.previous_power)
        if changes:
            yield _changed_much(case, eye, eye.previous_power, changes, LAST)


@rule(
    id="present-spectacles",
    number=122,
    level="ask",
    title="Large changes from the pair worn now are meant",
    why="What the wearer is used to is on the nose: a slip shows against it even for a new patient.",
)
def present_spectacles(case: Case) -> Iterator[Finding]:
    """Silent about an eye of which the last prescription already says it: one question is enough."""
    for eye in case.both:
        changes = _changes(case, eye, eye.worn_power)
        if changes and not _changes(case, eye, eye.previous_power):
            yield _changed_much(case, eye, eye.worn_power, changes, WORN)


def _changed_much(
    case: Case, eye: EyeCase, before: WrittenPower | None, changes: list[Change], compared_with: str
) -> Finding:
    """Stands at what changed most, measured by its own limit."""
    amount, limit, unit, _, key = max(changes, key=_weight)
    if half_transposed_power(eye.power, before):
        return _half_transposed(eye, before, amount, limit, key, compared_with)
    told = words.listed(text for _, _, _, text, _ in changes)
    elder = case.age is not None and case.age >= case.limit("large-change", "elder_years")
    care = "At this age a large change is a risk of falls: show it first. " if elder else ""
    since = f"since {LAST}" if compared_with == LAST else f"from {compared_with}"
    return Finding(
        f"The {eye.name} changed much {since}: {told}.",
        f"{care}Confirm, and tell the wearer what to expect.",
        eye.eye,
        amount,
        limit,
        unit,
        ("Show the change to the wearer first.", "Ask the prescriber if it is not explained.", CONFIRM),
        eye.at(f"prescription.{key}"),
    )


def _weight(change: Change) -> float:
    amount, limit, unit, *_ = change
    return amount / limit if unit == "D" and limit else 0.0


def half_transposed_power(now: WrittenPower, before: WrittenPower | None) -> bool:
    """Whether the figures, as written, are the earlier ones with only some of them in the other cylinder form."""
    one, other = now.optical, before.optical if before else None
    return one is not None and other is not None and half_transposed(one, other)


def _half_transposed(
    eye: EyeCase, before: WrittenPower | None, amount: float, limit: float, key: str, compared_with: str
) -> Finding:
    then = before.optical if before else None
    forms = [words.full_power(form) for form in (then, then.transposed())] if then else []
    now = eye.power.optical
    was = "last time it was" if compared_with == LAST else f"{compared_with} reads"
    return Finding(
        f"The {eye.name} is written as {words.full_power(now) if now else 'unknown'}; {was} "
        f"{' or, in the other form, '.join(forms)}: it may be half transposed.",
        f"Read the paper again: which form is on it? {CONFIRM}",
        eye.eye,
        amount,
        limit,
        "D",
        ("Write all three figures in one form.", "Ask the prescriber.", CONFIRM),
        eye.at(f"prescription.{key}"),
    )


def _then_and_now(eye: EyeCase) -> tuple[float, float, str] | None:
    """Both acuities as decimals, and how they were read if that is not certain.

    A bare 1.0 that became 0.3 has fallen as a decimal and risen in logMAR. Both are read in the notation in which the
    eye saw better last time, as eyes mostly do.
    """
    now, then = eye.acuity.decimal, eye.previous_acuity.decimal
    if now is not None and then is not None:
        return then, now, ""
    were, are = dict(eye.previous_acuity.possible), dict(eye.acuity.possible)
    shared = [(were[notation], notation) for notation in were if notation in are]
    if not (eye.acuity.lacks_notation or eye.previous_acuity.lacks_notation) or not shared:
        return None
    then, notation = max(shared)
    return then, are[notation], f", read as {notation},"


def _acuity_fallen(case: Case, eye: EyeCase) -> Iterator[Finding]:
    """No sight at all counts as the worst acuity written as a number."""
    known = _then_and_now(eye)
    if known is None:
        return
    then, now, how = known
    limit, worst = case.limit("large-change", "acuity_logmar"), figure("typed-acuity", "worst_acuity")
    fallen = math.log10(max(then, worst)) - math.log10(max(now, worst))
    if at_least(fallen, limit):
        yield Finding(
            f"The acuity of the {eye.name} has fallen from {eye.previous_acuity.written} to {eye.acuity.written}{how} "
            f"since the last prescription, by {words.number(fallen)} logMAR; from {words.number(limit)} on it wants a "
            "cause.",
            "Ask the prescriber what it comes from: without a known cause it is for a doctor before it is for a lab. "
            "Local rules and the licensed practitioner decide.",
            eye.eye,
            fallen,
            limit,
            "logMAR",
            ("Ask the prescriber for the cause.", "Correct the acuity that was mistyped.", "Confirm a known cause."),
            eye.at("prescription.acuity"),
        )


def _changes(case: Case, eye: EyeCase, before: WrittenPower | None) -> list[Change]:
    """Each large change of this eye."""
    if before is None:
        return []
    now, then = eye.power.minus_form, before.minus_form
    found: list[Change] = []
    if now.mean_sphere is not None and then.mean_sphere is not None:
        found += _larger(case, "mean_sphere_d", now.mean_sphere - then.mean_sphere, "the mean sphere by", "sphere")
        found += _cylinder_changes(case, now, then)
    if now.add is not None and then.add is not None:
        found += _larger(case, "add_d", now.add - then.add, "the add by", "add")
    return found + _prism_changes(case, now, then)


def _larger(case: Case, name: str, change: float, what: str, key: str) -> list[Change]:
    limit = case.limit("large-change", name)
    if not at_least(abs(change), limit):
        return []
    return [(abs(change), limit, "D", f"{what} {words.power(change)}", key)]


def _cylinder_changes(case: Case, now: WrittenPower, then: WrittenPower) -> list[Change]:
    """More or less cylinder, or the same amount at a different, oblique axis."""
    size = _larger(
        case, "cylinder_d", abs(now.cylinder or 0.0) - abs(then.cylinder or 0.0), "the cylinder by", "cylinder"
    )
    if size or now.optical is None or then.optical is None or now.cylinder is None or then.cylinder is None:
        return size
    limit = case.limit("large-change", "cylinder_d")
    new, old = now.optical.vector(), then.optical.vector()
    crossed = 2.0 * math.hypot(new.j0 - old.j0, new.j45 - old.j45)
    if not at_least(crossed, limit) or not (_is_oblique(case, now.axis) or _is_oblique(case, then.axis)):
        return []
    return [(crossed, limit, "D", f"its oblique cylinder by {words.dioptres(crossed)}", "axis")]


def _is_oblique(case: Case, axis: float | None) -> bool:
    low, high = case.limit("large-change", "oblique_from_deg"), case.limit("large-change", "oblique_to_deg")
    return axis is not None and low <= axis % 90.0 <= high


def _prism_changes(case: Case, now: WrittenPower, then: WrittenPower) -> list[Change]:
    new, old = now.prism_pd, then.prism_pd
    least = case.limit("large-change", "prism_pd")
    if at_least(new, least) and old == 0.0:
        return [(new, 0.0, "Δ", f"{words.prism(new)} of new prism", "prism")]
    if at_least(old, least) and new == 0.0:
        return [(0.0, old, "Δ", f"the prism of {words.prism(old)} is gone", "prism")]
    if now.prism is None or then.prism is None:
        return []
    # A reversed base differs from the last one by the sum of both amounts.
    apart = math.hypot(now.prism.in_pd - then.prism.in_pd, now.prism.up_pd - then.prism.up_pd)
    if not above(apart, least):
        return []
    bases = f"from {words.prism_parts(then.prism)} to {words.prism_parts(now.prism)}"
    told = f"the prism {bases}, {words.prism(apart)} apart"
    return [(apart, least, "Δ", told, "prism")]
