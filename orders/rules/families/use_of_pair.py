"""Does the pair do what it is for: the kind of lens, the add, the near PD and the distance it is used at?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade.working_distance import asked_d, may_lack_d, meant_mm, possible_mm
from orders.documents.names import USES
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, outside
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.to_be_made import CLOSE

rule = Family("use of the pair").rule

ID = "use-and-design"
DISTANCE_ID = "working-distance"


@rule(
    id=ID,
    number=130,
    level=("stop", "ask"),
    title="The lens suits what the pair is for",
    why="A pair for reading made for the distance, or the other way round, is no use to its wearer and not safe.",
)
def use_and_design(case: Case) -> Iterator[Finding]:
    yield from _prescribed_for_another(case)
    yield from _kind_for_use(case)
    yield from _add_for_use(case)
    yield from _near_pds(case)


def _use_key(case: Case) -> str:
    return "use" if case.order.use is not None else "prescription.use"


def _prescribed_for_another(case: Case) -> Iterator[Finding]:
    """A prescription for close work alone, without an add, ordered for another distance: its sphere is not for that."""
    written, use = case.order.prescription, case.order.pair_use
    adds = [eye.power.add or eye.prescribed.intermediate_add for eye in case.both]
    if (
        written.use not in CLOSE
        or written.use is None
        or use is None
        or use == written.use
        or any(adds)
        or not case.eyes
    ):
        return
    yield Finding(
        f"The prescription is for {USES[written.use]} and has no add, and the pair is for {USES[use]}.",
        "Which power is for that distance? Ask the prescriber, or correct the use.",
        None,
        USES[use],
        USES[written.use],
        None,
        ("Correct the use of the pair.", "Take in the prescription for this distance."),
        _use_key(case),
        "ask",
    )


def _kind_for_use(case: Case) -> Iterator[Finding]:
    """A lens with several powers for one distance, and an office lens for the distance."""
    use = case.order.pair_use
    if use is None or use == "distance_and_near":
        return
    for eye in case.eyes:
        if eye.kind == "office" and use == "distance":
            says = "An office lens is ordered for the distance; it is made for a room and has no distance in it."
            yield _wrong_kind(case, eye, says, "Which is right, the lens or the use?")
            return
        if eye.is_multifocal and eye.kind != "office":
            says = f"A {eye.kind_words} lens is ordered for {USES[use]} only."
            yield _wrong_kind(case, eye, says, "Is the pair for distance and near, or is single vision meant?")
            return


def _wrong_kind(case: Case, eye: EyeCase, says: str, advice: str) -> Finding:
    use = case.order.pair_use
    return Finding(
        says,
        advice,
        None,
        eye.kind_words,
        f"a lens for {USES[use]}" if use else None,
        None,
        ("Correct the use of the pair.", "Choose a lens made for this use.", "Confirm that it is meant."),
        _use_key(case),
        "ask",
    )


def _add_for_use(case: Case) -> Iterator[Finding]:
    """Single vision for close work without an add, for intermediate without its own add, for far and near at once."""
    single = [eye for eye in case.eyes if eye.kind == "single_vision" and not _has_own_power(eye)]
    without = [eye for eye in single if eye.power.add is None and not eye.prescribed.intermediate_add]
    use, old = case.order.pair_use, case.age is not None and case.age >= case.limit(ID, "add_from_years")
    old = old or _had_an_add(case)
    if use in CLOSE and old and without and len(without) == len(single) and not _was_written_so(case):
        yield _no_add(case, without, f"The pair is for {USES[use]} and no add is written{_whose_age(case)}.")
    elif use == "distance_and_near" and old and without:
        yield _far_and_near(case, without)
    if use == "intermediate":
        yield from _half_the_add(single)


def _had_an_add(case: Case) -> bool:
    return any(eye.earlier_power is not None and bool(eye.earlier_power.add) for eye in case.both)


def _whose_age(case: Case) -> str:
    """`` at the age of 53``, or that there was an add before."""
    had = "; there was one before" if _had_an_add(case) else ""
    return had if case.age is None else f" at the age of {case.age}{had}"


def _was_written_so(case: Case) -> bool:
    """Whether the last prescription was for the same distance and had no add either."""
    last = case.order.previous_prescription
    return last is not None and last.use == case.order.pair_use and not (last.right.add or last.left.add)


def _has_own_power(eye: EyeCase) -> bool:
    return eye.made.power_by == "order" or (eye.lens is not None and eye.lens.instruction is not None)


def _no_add(case: Case, eyes: list[EyeCase], says: str) -> Finding:
    return Finding(
        says,
        "Is the sphere already the power for it, or was the add forgotten?",
        case.pair_or_eye,
        None,
        "an add",
        "D",
        ("Type the add from the prescription.", "Confirm that the sphere is already the power for this distance."),
        eyes[0].at("prescription.add"),
        "ask",
    )


def _far_and_near(case: Case, eyes: list[EyeCase]) -> Finding:
    return Finding(
        f"Single vision is ordered for distance and near, and no add is written{_whose_age(case)}: one power cannot do "
        "both.",
        "Was the add forgotten, or is the pair for one distance?",
        case.pair_or_eye,
        "single vision",
        "a lens for distance and near",
        None,
        ("Say which distance the pair is for.", "Type the add and choose a multifocal lens.", "Order two pairs."),
        _use_key(case) if eyes else None,
        "ask",
    )


def _half_the_add(single: list[EyeCase]) -> Iterator[Finding]:
    eyes = [eye for eye in single if eye.made.power_by == "half_the_add" and eye.power.add is not None]
    alike = len(eyes) > 1 and eyes[0].power.add == eyes[1].power.add
    for eye in eyes[:1] if alike else eyes:
        half = (eye.power.add or 0.0) / 2.0
        whose = "both eyes" if alike else f"the {eye.name}"
        yield Finding(
            f"The pair is for intermediate and no intermediate add is written for {whose}; half of the add, "
            f"{words.power(half)}, is taken.",
            "How far away is the screen? Ask the prescriber for the add for it, or confirm half.",
            "both" if alike else eye.eye,
            half,
            "an intermediate add",
            "D",
            ("Type the intermediate add.", "Confirm half of the add."),
            eye.at("prescription.intermediate_add"),
            "ask",
        )


def _near_pds(case: Case) -> Iterator[Finding]:
    """A near pair that cannot be centred for near, and a near PD measured on one eye only."""
    close = [eye for eye in case.eyes if eye.made.is_for_close_work]
    lost = [eye for eye in close if eye.made.pd_mm is None and eye.made.far_pd_mm is not None]
    if lost and len(lost) == len(close):
        yield _no_near_pd(case, lost)
        return
    measured = [eye for eye in case.eyes if eye.fitted.near_pd_mm is not None]
    other = [eye for eye in case.eyes if eye.fitted.near_pd_mm is None]
    if measured and other:
        yield _one_near_pd(measured[0], other[0])


def _no_near_pd(case: Case, eyes: list[EyeCase]) -> Finding:
    given = case.order.fitting.near_distance_mm is not None
    use = case.order.pair_use or "near"
    return Finding(
        f"The pair is for {USES[use]}, and neither its near PD nor {'a usable' if given else 'the'} working distance "
        "is given: at far PDs it would make prism.",
        "Measure the near PD, or ask how far away it is used.",
        "both" if len(eyes) > 1 else eyes[0].eye,
        None,
        "a near PD or a working distance",
        "mm",
        ("Measure the near PDs.", "Give the working distance."),
        "fitting.near_distance_mm",
    )


def _one_near_pd(measured: EyeCase, other: EyeCase) -> Finding:
    return Finding(
        f"The near PD of the {measured.name} is given and that of the {other.name} is not.",
        "Measure the other one as well, both at the same sitting.",
        other.eye,
        None,
        "a near PD of both eyes",
        "mm",
        (f"Measure the near PD of the {other.name}.", f"Leave out that of the {measured.name}."),
        other.at("fitting.near_pd_mm"),
        "ask",
    )


@rule(
    id=DISTANCE_ID,
    number=131,
    level="ask",
    title="A working distance that people have and the add is for",
    why="At a distance that the add is not for nothing is sharp, and the near PD worked out from it is wrong.",
)
def working_distance(case: Case) -> Iterator[Finding]:
    distance = case.order.fitting.near_distance_mm
    if distance is None:
        return
    if outside(distance, *possible_mm(case.limits)):
        yield _impossible(case, distance)
    elif case.order.pair_use != "distance":
        yield from _against_add(case, distance)


def _impossible(case: Case, distance: float) -> Finding:
    (low, high), meant = possible_mm(case.limits), meant_mm(distance, case.limits)
    guess = "" if meant is None else f"{words.mm(meant)}? "
    return Finding(
        f"A working distance of {words.mm(distance)} is given; people work at {words.mm(low)} to {words.mm(high)}.",
        f"{guess}Measure it from the spectacles, in millimetres.",
        None,
        distance,
        low if distance < low else high,
        "mm",
        ("Type the working distance in millimetres.",),
        "fitting.near_distance_mm",
    )


def _against_add(case: Case, distance: float) -> Iterator[Finding]:
    """The add against the dioptres that the distance asks for, of which the eye itself may still give some.

    One finding for the order: the distance is the same for both eyes. An office lens has a near add and may be measured
    to the screen, so that its add may well be more than that distance asks for.
    """
    asked, strong = asked_d(distance), case.limit(DISTANCE_ID, "add_too_strong_d")
    weak = None if case.age is None else may_lack_d(case.age, case.limits)
    for eye in case.eyes:
        add = _add_used(eye)
        if add is None:
            continue
        if eye.kind != "office" and above(add - asked, strong):
            yield _add_is_not_for(add, distance, asked, (add - asked, strong))
            return
        if weak is not None and above(asked - add, weak):
            yield _add_is_not_for(add, distance, asked, (asked - add, weak))
            return


def _add_used(eye: EyeCase) -> float | None:
    """The add that the eye looks through close by; None for a lens without one."""
    return eye.power.add if eye.is_multifocal else eye.made.add_for_use


def _add_is_not_for(add: float, distance: float, asked: float, figures: tuple[float, float]) -> Finding:
    strong = add > asked
    return Finding(
        f"The add used is {words.power(add)} and the working distance {words.mm(distance)}, which asks for "
        f"{words.dioptres(asked)} in all; that is {words.dioptres(figures[0])} "
        f"{'less' if strong else 'more'}.",
        f"{'The add is for a shorter' if strong else 'Nothing is sharp at so short a'} distance: ask how far away the "
        "wearer works, and which of the two is wrong.",
        None,
        figures[0],
        figures[1],
        "D",
        ("Measure the working distance again.", "Ask the prescriber for the add for this distance."),
        "fitting.near_distance_mm",
    )
