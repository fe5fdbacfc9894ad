"""Does the wearer drive, and see well enough for it?"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from dispensing.prescribing.acuity import in_metres
from dispensing.trade.facts import data_file
from orders.documents.order_report import FindingEye, Level
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_most, below
from orders.rules.families.driving import LOCAL, dark_eyes
from orders.rules.finding import Finding
from orders.rules.private_facts import is_kept_back
from orders.rules.registry import Family
from orders.rules.to_be_made import CLOSE

rule = Family("driving").rule


@rule(
    id="driving-asked",
    number=118,
    level=("ask", "note"),
    title="Whether the wearer drives is asked, and can be true",
    why="Dark, near and office lenses are judged by it, and not having asked is not the same as “does not drive”.",
)
def driving_asked(case: Case) -> Iterator[Finding]:
    patient, said = case.order.patient, case.remarks.drives
    youngest, age = case.limit("driving-asked", "youngest_years"), case.age
    if age is not None and age < youngest:
        if patient.driver is True:
            text = f"The wearer is {age} years old and is said to drive; nobody below {words.number(youngest)} does."
            yield _driver(text, "Correct the date of birth, or that the wearer drives.", float(age), youngest, "years")
    elif patient.driver is True and patient.protected is True and not _is_child(case):
        text = "The wearer is marked as registered sight-impaired or otherwise protected, and as somebody who drives."
        advice = f"Ask which of the two is wrong: nobody registered as sight-impaired may drive. {LOCAL}"
        yield _driver(text, advice, "drives", "one of the two")
    elif patient.driver is not True and said is not None:
        known = (
            "nobody asked whether the wearer drives" if patient.driver is None else "the record says: does not drive"
        )
        text = f"The remarks speak of driving (“{said}”), and {known}."
        yield _driver(text, f"Ask, and put it on the record: a driver needs lenses for it. {LOCAL}", said, "the record")
    elif patient.driver is None and not _is_child(case) and not is_kept_back(patient, "driver"):
        yield _not_asked(case)


def _is_child(case: Case) -> bool:
    """A child is protected by age alone, and may ride a moped."""
    return case.age is not None and case.age < case.limit("protected-patient", "below_years")


def _not_asked(case: Case) -> Finding:
    """It matters for some lenses; with clear lenses for the distance it is only missing from the record."""
    reason = _dark(case) or _no_use_on_the_road(case)
    if reason is None or reason.level == "note":
        text = "Nobody asked whether the wearer drives; these lenses may be worn for it."
        return _driver(text, "Ask at the next opportunity, and put it on the record.", None, "an answer", level="note")
    return _driver(
        f"{reason.text}, and nobody asked whether the wearer drives.",
        f"Ask whether the wearer drives, and when. {LOCAL}",
        reason.found,
        reason.limit,
        reason.unit,
    )


def _driver(
    text: str,
    advice: str,
    found: float | str | None,
    limit: float | str,
    unit: str | None = None,
    level: Level | None = None,
) -> Finding:
    remedies = ("Ask, and record the answer.", "Correct what is wrong on the record.")
    return Finding(text, advice, None, found, limit, unit, remedies, "patient.driver", level)


@dataclass(frozen=True)
class Reason:
    """Why it matters whether the wearer drives in this pair. A ``note``: only if there is no other pair."""

    text: str
    found: float | str
    limit: float | str
    unit: str | None = None
    level: Level = "ask"


def _dark(case: Case) -> Reason | None:
    """A tint too dark for the night, but not one that another rule holds back at any time of day."""
    least, most = (
        case.limit("night-driving", "transmittance_percent"),
        case.limit("category-four", "transmittance_percent"),
    )
    dark = [value for _, value in dark_eyes(case) if below(value, least)]
    if not dark or at_most(min(dark), most):
        return None
    text = (
        f"These lenses let {words.number(min(dark))} % of the light through; below {words.number(least)} % they must "
        "not be worn to drive at dusk or night"
    )
    return Reason(text, min(dark), least, "%")


def _no_use_on_the_road(case: Case) -> Reason | None:
    """A pair in which nobody can drive, or in which a driver has no sun lenses: harmless beside another pair."""
    level: Level = "note" if case.order.other_pair is True else "ask"
    kinds = {eye.kind for eye in case.eyes}
    if "office" in kinds:
        return Reason("Office lenses blur the road", "office lenses", "lenses for the distance", level=level)
    if kinds == {"single_vision"} and case.order.pair_use in CLOSE:
        return Reason(
            "Through reading lenses the road is a blur", "reading lenses", "lenses for the distance", level=level
        )
    if any(part.kind == "photochromic" for eye in case.eyes for part in eye.treatments):
        text = "Photochromic lenses hardly darken behind a windscreen"
        return Reason(text, "photochromic", "a sun pair for driving", level=level)
    return None


@rule(
    id="driving-sight",
    number=119,
    level=("ask", "note"),
    title="A driver sees well enough to drive",
    why="Below the standard of the country nobody may drive, in whatever glasses, and it is here that it first shows.",
)
def driving_sight(case: Case) -> Iterator[Finding]:
    seen, age = _acuities(case, max), case.age
    too_young = age is not None and age < case.limit("driving-asked", "youngest_years")
    if not case.is_driver or too_young or not seen:
        return
    place, law = _law(case)
    least = law["least"] if law else case.limit("driving-sight", "least_acuity")
    better, worse = max(seen), min(seen)
    for_hire = _for_hire(case, law, better, worse)
    if law:
        yield from _eye_lost(case)
    if below(better, least):
        yield _too_poor(case, _standard(place, law, least), better, least)
    elif for_hire is not None:
        yield for_hire
    elif below(max(_acuities(case, min)), least):
        yield from _notation_decides(case, least)
    elif law and below(better, law.get("sight_test", least)):
        yield _needs_a_report(case, better, law["sight_test"])


def _standard(place: str, law: dict[str, Any] | None, least: float) -> str:
    if law:
        return f"in {place} driving takes {law['words']}"
    return (
        f"we hold no law of {place} on the sight of drivers; {in_metres(least)} with both eyes open is the least that "
        "the European Union asks for"
    )


def _needs_a_report(case: Case, better: float, limit: float) -> Finding:
    asked = f"{words.number(limit)} ({in_metres(limit)})"
    told = f"the sight test for a licence there asks for {asked} in each eye, or else for an ophthalmologist's report"
    return replace(
        _too_poor(case, told, better, limit),
        advice=f"Tell the wearer, and ask whether there is a report. {LOCAL}",
        level="note",
    )


def _eye_lost(case: Case) -> Iterator[Finding]:
    """The sight of one eye lost since the last prescription. Of two poor eyes more is said elsewhere."""
    lost = [eye for eye in case.both if _is_lost(case, eye)]
    if len(lost) != 1 or case.has_two_poor_eyes:
        return
    eye = lost[0]
    yield Finding(
        f"The {eye.name} saw {eye.previous_acuity.said} last time and sees {eye.acuity.said} now, and the wearer "
        "drives: after losing the sight of one eye, a driver must first adapt to it.",
        f"Ask the prescriber whether the cause is known, and tell the wearer not to drive until he is cleared. {LOCAL}",
        eye.eye,
        eye.acuity.written,
        eye.previous_acuity.written,
        None,
        ("Ask the prescriber.", "Correct the acuity.", "Record that the wearer was told."),
        "patient.driver",
    )


def _is_lost(case: Case, eye: EyeCase) -> bool:
    then = eye.previous_acuity.decimal
    return then is not None and above(then, case.poor_acuity) and eye.acuity.is_at_most(case.poor_acuity)


def _notation_decides(case: Case, least: float) -> Iterator[Finding]:
    """Bare numbers that are enough as decimals and too little in logMAR. Of a poor eye another rule asks the same."""
    bare = [eye for eye in case.both if eye.acuity.lacks_notation]
    if not bare or any(eye.acuity.may_be_either_side_of(case.poor_acuity) for eye in bare):
        return
    eye = bare[0]
    whose: FindingEye = "both" if len(bare) > 1 else eye.eye
    yield Finding(
        f"The wearer drives, and the acuity of the {eye.name} is written as {eye.acuity.written}: "
        f"{eye.acuity.question()}; the least for driving is {in_metres(least)} with both eyes open.",
        f"{eye.acuity.how_to_write()} {LOCAL}",
        whose,
        eye.acuity.written,
        in_metres(least),
        None,
        (eye.acuity.how_to_write(), "Confirm that the wearer sees well enough to drive."),
        eye.at("prescription.acuity"),
    )


def _acuities(case: Case, which: Callable[..., float]) -> list[float]:
    """The best or the worst that each eye's acuity can mean, as decimals; empty unless each eye that sees has one."""
    known = [[value for _, value in eye.acuity.possible] for eye in case.both]
    if any(not values and not eye.is_not_seen_with for eye, values in zip(case.both, known, strict=True)):
        return []
    return [which(values, default=0.0) for values in known]


def _law(case: Case) -> tuple[str, dict[str, Any] | None]:
    """The country in words, and its law on the sight of drivers, if we hold it."""
    country = (case.order.practice.country or "").strip().upper().partition("-")[0]
    rows = data_file("driving_sight")["rule"]
    found = next((row for row in rows if country in (row["place"], *row.get("also", ()))), None)
    return country or "a country that is not named", found


def _for_hire(case: Case, law: dict[str, Any] | None, better: float, worse: float) -> Finding | None:
    """Lorries, buses and often taxis have a stricter standard."""
    said = case.remarks.drives_for_hire
    if said is None or law is None:
        return None
    limits = law["for_hire_better"], law["for_hire_worse"]
    if not (below(better, limits[0]) or below(worse, limits[1])):
        return None
    told = (
        f"lorries, buses and often taxis (“{said}”) take {in_metres(limits[0])} in the better eye and "
        f"{in_metres(limits[1])} in the other"
    )
    found, limit = (better, limits[0]) if below(better, limits[0]) else (worse, limits[1])
    return _too_poor(case, told, found, limit)


def _too_poor(case: Case, told: str, found: float, limit: float) -> Finding:
    eyes = words.listed(f"{eye.eye} {_said(eye)}" for eye in case.both)
    return Finding(
        f"The wearer drives and sees {eyes} with glasses; {told}.",
        "Measure it with both eyes open and ask the prescriber; whoever stays below the standard must not drive: tell "
        f"the wearer, and record it. {LOCAL}",
        None,
        in_metres(found),
        in_metres(limit),
        None,
        ("Ask the prescriber.", "Correct the acuities.", "Record that the wearer was told not to drive."),
        "patient.driver",
    )


def _said(eye: EyeCase) -> str:
    return eye.acuity.said or "nothing"
