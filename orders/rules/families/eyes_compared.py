"""Are right and left on the correct sides, each with its own figures?

They are compared as power vectors with the last prescription, or else with the pair worn now.
"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.prescribing.slips import exchanged
from orders.rules import words
from orders.rules.case import Case
from orders.rules.compare import at_least
from orders.rules.finding import Finding
from orders.rules.powers import WrittenPower
from orders.rules.registry import Family

rule = Family("prescription changes").rule

LOOK = "Look at the written prescription again."
CONFIRM = "Confirm if it is as prescribed."


@rule(
    id="eyes-exchanged",
    number=17,
    level="ask",
    title="Right and left not exchanged",
    why="Each eye's power may look sound and still stand on the wrong side.",
)
def eyes_exchanged(case: Case) -> Iterator[Finding]:
    now = [eye.power.optical for eye in case.both]
    then = [eye.earlier.power.optical if eye.earlier else None for eye in case.both]
    if now[0] is None or now[1] is None or then[0] is None or then[1] is None:
        return
    found = exchanged((now[0], now[1]), (then[0], then[1]), case.limits)
    if found is None:
        return
    as_written_d, exchanged_d = found.as_written_d, found.exchanged_d
    yield Finding(
        f"Exchanged, the two eyes would fit {_name(case)} much better ({words.dioptres(exchanged_d)} apart "
        f"instead of {words.dioptres(as_written_d)}).",
        f"Are right and left exchanged? {LOOK}",
        "both",
        as_written_d,
        exchanged_d,
        "D",
        ("Exchange the two eyes if they were copied crosswise.", CONFIRM),
        "prescription.right.sphere",
    )


def _name(case: Case) -> str:
    """What the eyes are compared with; one eye may be known from the last prescription only."""
    return " and ".join(dict.fromkeys(eye.earlier.name for eye in case.both if eye.earlier is not None))


@rule(
    id="eyes-identical",
    number=18,
    level="ask",
    title="Both eyes not copied from one",
    why="Two eyes alike to the axis are rare; one column was probably copied.",
)
def eyes_identical(case: Case) -> Iterator[Finding]:
    least = case.limit("eyes-identical", "cylinder_d")
    right, left = case.right.power, case.left.power
    if right.cylinder is None or not at_least(abs(right.cylinder), least) or not _alike(right, left):
        return
    before = [eye.earlier_power for eye in case.both]
    if before[0] is not None and before[1] is not None and _alike(before[0], before[1]):
        return
    yield Finding(
        f"Both eyes have the same sphere, cylinder and axis ({words.number(right.axis or 0.0)}).",
        f"Was one copied to the other? {LOOK}",
        "both",
        right.axis,
        "two different eyes",
        "°",
        ("Type the other eye from the prescription.", CONFIRM),
        "prescription.left.axis",
    )


def _alike(first: WrittenPower, second: WrittenPower) -> bool:
    def figures(power: WrittenPower) -> tuple[object, ...]:
        return power.sphere, power.cylinder, power.axis, power.add, power.prisms

    return first.sphere is not None and first.axis is not None and figures(first) == figures(second)
