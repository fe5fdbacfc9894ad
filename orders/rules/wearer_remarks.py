"""What the remarks say about the wearer that no field of an order holds: sight of one eye, falls, driving, flying.

The words are those of kind “wearer” in the trade's table; one that is denied (“no falls”, “does not drive”) or said of
somebody else does not count. What is found here only leads to a question, and what it means is for the rules: this
module must never judge.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from dispensing.optics.conventions import other_eye
from dispensing.trade.remark_words import Mention, said_of_the_wearer
from orders.documents.lens_order import Eye

# OD, OS, RE and LE are only written in capitals.
NOT_EYES = r"(?! (?:leg|arm|hand|foot|hip|knee|ear|side|shoulder|wrist|handed)\b)"
EYES: dict[Eye, re.Pattern[str]] = {
    "right": re.compile(rf"(?i:\bright\b{NOT_EYES}|\br\.? eye\b)|\b(?:OD|RE)\b"),
    "left": re.compile(rf"(?i:\bleft\b{NOT_EYES}|\bl\.? eye\b)|\b(?:OS|LE)\b"),
}
ANY_EYE = re.compile(r"\beyes?\b|\bocular\b", re.IGNORECASE)

UNSEEING, ONLY_EYE, LAZY = "an eye that does not see", "an only eye", "a lazy eye"


@dataclass(frozen=True)
class WearerRemarks:
    """What a remark says of the wearer. Each answer is the words found, so that a finding can quote them, or None."""

    text: str

    @cached_property
    def unseeing(self) -> dict[Eye, str]:
        """The eyes that are said not to see, with the words that say so."""
        found: dict[Eye, str] = {}
        for mention in said_of_the_wearer(self.text, UNSEEING):
            eye = _eye_named(mention)
            if eye is not None:
                found.setdefault(eye, mention.said)
        for mention in said_of_the_wearer(self.text, ONLY_EYE):
            eye = _eye_named(mention)
            if eye is not None:
                found.setdefault(other_eye(eye), mention.said)
        return found

    @cached_property
    def one_eyed(self) -> str | None:
        """One eye alone sees, whichever it is."""
        loose = (one.said for one in said_of_the_wearer(self.text, UNSEEING) if ANY_EYE.search(one.sentence))
        only = (one.said for one in said_of_the_wearer(self.text, ONLY_EYE))
        return next(iter(self.unseeing.values()), None) or next(only, None) or next(loose, None)

    @cached_property
    def lazy(self) -> dict[Eye, str]:
        """The eyes that are said to be amblyopic, with the words that say so."""
        named = ((_eye_named(one), one.said) for one in said_of_the_wearer(self.text, LAZY))
        return {eye: said for eye, said in named if eye is not None}

    @cached_property
    def falls(self) -> str | None:
        """A fall, or what makes one likely: dizziness, Parkinson's, a stroke, a walking frame."""
        return self._first("falls")

    @cached_property
    def drives(self) -> str | None:
        return self._first("driving")

    @cached_property
    def drives_for_hire(self) -> str | None:
        return self._first("driving for hire")

    @cached_property
    def drives_by_night(self) -> str | None:
        return self._first("night") if self.drives else None

    @cached_property
    def flies(self) -> str | None:
        return self._first("flying")

    @cached_property
    def dark_visor(self) -> str | None:
        return self._first("a dark visor")

    def _first(self, about: str) -> str | None:
        return next((one.said for one in said_of_the_wearer(self.text, about)), None)


def _eye_named(mention: Mention) -> Eye | None:
    """The eye named nearest to these words, before them rather than after."""
    start = mention.span[0]
    places = [
        (found.start() > start, abs(found.start() - start), eye)
        for eye, pattern in EYES.items()
        for found in pattern.finditer(mention.sentence)
    ]
    return min(places)[2] if places else None
