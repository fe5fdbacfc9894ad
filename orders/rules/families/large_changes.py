"""Has the prescription changed so much, since the last one or from the pair worn now, that the wearer must be told?

Powers are compared in minus cylinder form, and oblique cylinders as power vectors.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from dispensing.prescribing.slips import half_transposed, is_flipped
from dispensing.trade import figure
from orders.documents.order_report import FindingEye
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, at_most
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
    changed = [Changed(eye, eye.previous_power, _changes(case, eye, eye.previous_power)) for eye in case.both]
    yield from _told(case, changed, LAST)


@rule(
    id="present-spectacles",
    number=122,
    level="ask",
    title="Large changes from the pair worn now are meant",
    why="What the wearer is used to is on the nose: a slip shows against it even for a new patient.",
)
def present_spectacles(case: Case) -> Iterator[Finding]:
    """Silent about an eye of which the last prescription already says it: one question is enough."""
    reading_d = case.limit("present-spectacles", "reading_d")
    read = [eye for eye in case.both if eye.worn_power is not None]
    eyes = [eye for eye in read if not _changes(case, eye, eye.previous_power)]
    changed = [Changed(eye, eye.worn_power, _changes(case, eye, eye.worn_power, reading_d)) for eye in eyes]
    yield from _told(case, changed, WORN)


@dataclass(frozen=True)
class Changed:
    """One eye, what it is compared with, and its large changes."""

    eye: EyeCase
    before: WrittenPower | None
    changes: list[Change]

    @property
    def most(self) -> Change:
        """What changed most, measured by its own limit: there the finding stands."""
        return max(self.changes, key=_weight)

    @property
    def is_half_transposed(self) -> bool:
        return half_transposed_power(self.eye.power, self.before)

    @property
    def told(self) -> str:
        return words.listed(text for _, _, _, text, _ in self.changes)


def _told(case: Case, eyes: list[Changed], compared_with: str) -> Iterator[Finding]:
    """A finding an eye; but eyes that changed alike are one question."""
    changed = [eye for eye in eyes if eye.changes]
    if len(changed) == 2 and _alike(case, *changed):
        right, left = (eye.told for eye in changed)
        told = f"{right} in each" if right == left else f"the right eye {right}, the left eye {left}"
        largest = max(changed, key=lambda eye: _weight(eye.most))
        yield _changed_much(case, largest, "both", f"Both eyes changed much {{since}}: {told}.", compared_with)
        return
    for eye in changed:
        if eye.is_half_transposed:
            yield _half_transposed(eye, compared_with)
        else:
            told = f"The {eye.eye.name} changed much {{since}}: {eye.told}."
            yield _changed_much(case, eye, eye.eye.eye, told, compared_with)


def _alike(case: Case, one: Changed, other: Changed) -> bool:
    """The same things changed, and those that are dioptres by nearly as much: no slip of one eye does that."""
    if one.is_half_transposed or other.is_half_transposed:
        return False
    apart = case.limit("large-change", "alike_d")
    return [key for *_, key in one.changes] == [key for *_, key in other.changes] and all(
        unit == "D" and at_most(abs(first - second), apart)
        for (first, _, unit, *_), (second, *_) in zip(one.changes, other.changes, strict=True)
    )


def _changed_much(case: Case, changed: Changed, eye: FindingEye, told: str, compared_with: str) -> Finding:
    amount, limit, unit, _, key = changed.most
    elder = case.age is not None and case.age >= case.limit("large-change", "elder_years")
    care = "At this age a large change is a risk of falls: show it first. " if elder else ""
    since = f"since {LAST}" if compared_with == LAST else f"from {compared_with}"
    return Finding(
        told.format(since=since),
        f"{care}Confirm, and tell the wearer what to expect.",
        eye,
        amount,
        limit,
        unit,
        ("Show the change to the wearer first.", "Ask the prescriber if it is not explained.", CONFIRM),
        changed.eye.at(f"prescription.{key}"),
    )


def _weight(change: Change) -> float:
    amount, limit, unit, *_ = change
    return amount / limit if unit == "D" and limit else 0.0


def half_transposed_power(now: WrittenPower, before: WrittenPower | None) -> bool:
    """Whether the figures, as written, are the earlier ones with only some of them in the other cylinder form."""
    one, other = now.optical, before.optical if before else None
    return one is not None and other is not None and half_transposed(one, other)


def _half_transposed(changed: Changed, compared_with: str) -> Finding:
    eye, (amount, limit, _, _, key) = changed.eye, changed.most
    then = changed.before.optical if changed.before else None
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


def _changes(case: Case, eye: EyeCase, before: WrittenPower | None, slack_d: float = 0.0) -> list[Change]:
    """Each large change of this eye. slack_d: by how much the earlier figures may be misread, D."""
    if before is None:
        return []
    now, then = eye.power.minus_form, before.minus_form
    found: list[Change] = []
    if now.mean_sphere is not None and then.mean_sphere is not None:
        if not _sign_is_asked(case, eye, before):
            sphere = (now.mean_sphere - then.mean_sphere, "the mean sphere by", "sphere")
            found += _larger(case, "mean_sphere_d", *sphere, slack_d=slack_d)
        found += _cylinder_changes(case, now, then, slack_d)
    if now.add is not None and then.add is not None:
        found += _larger(case, "add_d", now.add - then.add, "the add by", "add", slack_d=slack_d)
    return found + _prism_changes(case, now, then)


def _sign_is_asked(case: Case, eye: EyeCase, before: WrittenPower) -> bool:
    """Whether the sphere has the other sign, about which another rule asks already; half a transposition stays here."""
    now, then = eye.power.minus_form.sphere, before.minus_form.sphere
    if now is None or then is None or before != eye.earlier_power or half_transposed_power(eye.power, before):
        return False
    return is_flipped(now, then, case.limits)


def _larger(case: Case, name: str, change: float, what: str, key: str, *, slack_d: float) -> list[Change]:
    limit = case.limit("large-change", name) + slack_d
    if not at_least(abs(change), limit):
        return []
    return [(abs(change), limit, "D", f"{what} {words.power(change)}", key)]


def _cylinder_changes(case: Case, now: WrittenPower, then: WrittenPower, slack_d: float) -> list[Change]:
    """More or less cylinder, or the same amount at a different, oblique axis."""
    by = abs(now.cylinder or 0.0) - abs(then.cylinder or 0.0)
    size = _larger(case, "cylinder_d", by, "the cylinder by", "cylinder", slack_d=slack_d)
    if size or now.optical is None or then.optical is None or now.cylinder is None or then.cylinder is None:
        return size
    limit = case.limit("large-change", "cylinder_d") + slack_d
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
