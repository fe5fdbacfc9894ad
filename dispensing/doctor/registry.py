"""The register of the doctor's checks, and what a check may report.

A check is a function without arguments that yields diagnoses. It changes nothing and must cope with a machine in any
state; one that raises is itself reported as something wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum


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


Check = Callable[[], Iterable[Diagnosis]]
_checks: dict[str, Check] = {}


def ok(said: str) -> Diagnosis:
    return Diagnosis(Level.OK, said, "Nothing to do.")


def note(said: str, to_do: str) -> Diagnosis:
    return Diagnosis(Level.NOTE, said, to_do)


def wrong(said: str, to_do: str) -> Diagnosis:
    return Diagnosis(Level.WRONG, said, to_do)


def doctor_check(check_id: str) -> Callable[[Check], Check]:
    """Registers a check under an id that no other check may use."""

    def register(check: Check) -> Check:
        if _checks.get(check_id, check) is not check:
            raise ValueError(f"Two doctor's checks are called {check_id}; give the newer one another id.")
        _checks[check_id] = check
        return check

    return register


def diagnose() -> Iterator[tuple[str, Diagnosis]]:
    """All checks in the order of their registration."""
    for check_id, check in _checks.items():
        for diagnosis in _run(check):
            yield check_id, diagnosis


def _run(check: Check) -> Iterator[Diagnosis]:
    try:
        yield from check()
    except Exception as fault:
        yield wrong(
            f"this check could not be made ({type(fault).__name__}: {fault})".replace("\n", " "),
            "Mend what is wrong above, then call the doctor again.",
        )
