"""What is found about both eyes in the same words, said once for pages and paper: ``Right and left: …``.

The report keeps one finding for each eye, as it is answered and lifted for each eye. Texts in and out; this module
must never know a rule, a page or a printer.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from orders.documents.order_report import FindingEye, FindingPart

RIGHT_AND_LEFT = "Right and left"
EYE, EYE_CAPITAL = "\x01", "\x02"
MARKS = {("right", "left"): EYE, ("Right", "Left"): EYE_CAPITAL}
PLURALS = {"eye": "eyes", "lens": "lenses"}


@dataclass(frozen=True, slots=True)
class Said:
    """One line. ``about``: ``Right and left`` if it is said once for both, else empty; ``eye``: of the finding that it
    repeats, if it repeats only one; ``advice`` may be empty.
    """

    about: str
    says: str
    advice: str
    eye: FindingEye | None = None

    @property
    def whole(self) -> str:
        """What is found, with the eyes before it where the sentence itself does not name them."""
        if self.about:
            return self.says if self.says.startswith("Each ") else f"{self.about}: {self.says}"
        named = self.eye not in ("right", "left") or self.eye in re.split(r"\W+", self.says.lower())
        return self.says if named else f"{str(self.eye).capitalize()}: {self.says}"


def said_once(parts: Sequence[FindingPart]) -> list[Said]:
    """What the findings say, in their order: alike ones for right and left in one line, and the same advice once."""
    lines, taken = [], set()
    for place, part in enumerate(parts):
        if place in taken:
            continue
        fellow = next((at for at in range(place + 1, len(parts)) if at not in taken and _alike(part, parts[at])), None)
        lines.append(_line(part, None if fellow is None else parts[fellow]))
        taken.add(fellow)
    return [
        replace(line, advice="") if after is not None and after.advice == line.advice else line
        for line, after in zip(lines, [*lines[1:], None], strict=True)
    ]


def _alike(first: FindingPart, second: FindingPart) -> bool:
    if {first.eye, second.eye} != {"right", "left"}:
        return False
    right, left = (first, second) if first.eye == "right" else (second, first)
    return for_both(right.says or right.message, left.says or left.message) is not None and (
        for_both(right.advice, left.advice) is not None
    )


def _line(part: FindingPart, fellow: FindingPart | None) -> Said:
    if fellow is None:
        return Said("", part.says or part.message, part.advice, part.eye)
    right, left = (part, fellow) if part.eye == "right" else (fellow, part)
    says = for_both(right.says or right.message, left.says or left.message)
    return Said(RIGHT_AND_LEFT, says or "", for_both(right.advice, left.advice) or "")


def for_both(right: str, left: str) -> str | None:
    """One text for both eyes if the two differ only in the word for the eye; None if they differ otherwise.

    ``The right lens needs …`` with ``The left lens needs …`` becomes ``Each lens needs …``.
    """
    words, others = re.split(r"(\W+)", right), re.split(r"(\W+)", left)
    if len(words) != len(others):
        return None
    pairs = list(zip(words, others, strict=True))
    if any(one != other and (one, other) not in MARKS for one, other in pairs):
        return None
    text = "".join(one if one == other else MARKS[one, other] for one, other in pairs)
    text = re.sub(rf"\(({EYE}) (eye|lens)\)", lambda found: f"(both {PLURALS[found[2]]})", text)
    text = re.sub(rf"([Tt])he {EYE} (eye|lens)", lambda found: f"{'E' if found[1] == 'T' else 'e'}ach {found[2]}", text)
    text = re.sub(rf"^{EYE_CAPITAL} (\w)", lambda found: found[1].upper(), text)
    return text.replace(EYE, "right and left").replace(EYE_CAPITAL, RIGHT_AND_LEFT)
