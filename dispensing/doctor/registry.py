"""The register of the doctor's checks, and what a check may report.

A check is a function without arguments that yields diagnoses; one that goes over whole tables is given a `Walk`. It
changes nothing and must cope with a machine in any state; one that raises is itself reported as something wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from typing import TypeVar

from dispensing.doctor.walk import Walk


class Level(StrEnum):
    """``wrong`` makes the doctor exit with 1; ``note`` is worth knowing and does no harm."""

    OK = "ok"
    NOTE = "note"
    WRONG = "wrong"


@dataclass(frozen=True)
class Diagnosis:
    """What was seen, and what to do about it."""

    level: Level
    said: str
    to_do: str


MOST_LISTED = 100
COULD_NOT = "Mend what is wrong above, then call the doctor again."
Check = Callable[[], Iterable[Diagnosis]]
LongCheck = Callable[[Walk], Iterable[Diagnosis]]
AnyCheck = TypeVar("AnyCheck", Check, LongCheck)
_checks: dict[str, Check] = {}
_long_checks: dict[str, LongCheck] = {}


def ok(said: str) -> Diagnosis:
    return Diagnosis(Level.OK, said, "Nothing to do.")


def note(said: str, to_do: str) -> Diagnosis:
    return Diagnosis(Level.NOTE, said, to_do)


def wrong(said: str, to_do: str) -> Diagnosis:
    return Diagnosis(Level.WRONG, said, to_do)


def doctor_check(check_id: str) -> Callable[[Check], Check]:
    """Registers a check under an id that no other check may use."""
    return lambda check: _registered(_checks, check_id, check)


def long_check(check_id: str) -> Callable[[LongCheck], LongCheck]:
    """Registers a check that goes over whole tables; these are made after all others."""
    return lambda check: _registered(_long_checks, check_id, check)


def _registered(checks: dict[str, AnyCheck], check_id: str, check: AnyCheck) -> AnyCheck:
    taken = _checks.get(check_id) or _long_checks.get(check_id) or check
    if taken is not check:
        raise ValueError(f"Two doctor's checks are called {check_id}; give the newer one another id.")
    checks[check_id] = check
    return check


def check_ids() -> list[str]:
    return [*_checks, *_long_checks]


def diagnose(walk: Walk | None = None, only: Collection[str] = ()) -> Iterator[tuple[str, Diagnosis]]:
    """All checks in the order of their registration, the long ones last; ``walk``: what is asked of these. ``only``:
    the ids of those to be made; empty means all.
    """
    for check_id, check in _checks.items():
        if not only or check_id in only:
            yield from ((check_id, diagnosis) for diagnosis in _run(check))
    walk = walk or Walk()
    yield from _found_before(walk)
    for check_id, long in _long_checks.items():
        if only and check_id not in only:
            continue
        yield from (
            (check_id, diagnosis) for diagnosis in _listed(walk.place.found, check_id, _run(partial(long, walk)))
        )
    if COULD_NOT not in {to_do for _, _, _, to_do in walk.place.found}:
        walk.place.forget()


def _found_before(walk: Walk) -> Iterator[tuple[str, Diagnosis]]:
    """What was found before the doctor was broken off, but for checks that are now made after all."""
    walk.place.found[:] = [row for row in walk.place.found if row[-1] != COULD_NOT]
    for check_id, level, said, to_do in walk.place.found:
        yield check_id, Diagnosis(Level(level), said, to_do)


def _listed(found: list[list[str]], check_id: str, diagnoses: Iterable[Diagnosis]) -> Iterator[Diagnosis]:
    """The diagnoses, kept among what was found; of very many alike only the first ones, and how many more."""
    more = 0
    for diagnosis in diagnoses:
        if diagnosis.level is not Level.OK and sum(row[0] == check_id for row in found) >= MOST_LISTED:
            more += 1
            continue
        if diagnosis.level is not Level.OK:
            found.append([check_id, diagnosis.level, diagnosis.said, diagnosis.to_do])
        yield diagnosis
    if more:
        yield wrong(f"{more:,} more like these", "Mend the cause; then call the doctor again.")


def _run(check: Check) -> Iterator[Diagnosis]:
    try:
        yield from check()
    except Exception as fault:
        yield wrong(f"this check could not be made ({type(fault).__name__}: {fault})".replace("\n", " "), COULD_NOT)
