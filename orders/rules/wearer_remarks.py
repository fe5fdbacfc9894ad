"""What the remarks say about the wearer that no field of an order holds: sight of one eye, falls, driving, flying.

Words are looked for sentence by sentence, and one that is denied (“no falls”, “does not drive”) or said of somebody
else does not count. What is
found here only leads to a question, and what it means is for the rules: this module must never judge.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from dispensing.optics.conventions import other_eye
from orders.documents.lens_order import Eye

SENTENCE = re.compile(r"[.;!?\n]+(?=\s|$)")
DENIED = re.compile(r"\b(?:no|not|never|nor|without|denies|non|stopped|gave up|given up)\b|n['’]t\b", re.IGNORECASE)
OTHERS = re.compile(
    r"\b(?:mother|father|wife|husband|son|daughter|partner|friend|neighbour|brother|sister)\b(?: \w+)?\s*$",
    re.IGNORECASE,
)
"""Somebody else, of whom it is said: the last word but one before it."""
CLAUSE = re.compile(r",|\b(?:but|and|so|although|though)\b", re.IGNORECASE)
# OD, OS, RE and LE are only written in capitals.
NOT_EYES = r"(?! (?:leg|arm|hand|foot|hip|knee|ear|side|shoulder|wrist|handed)\b)"
EYES: dict[Eye, re.Pattern[str]] = {
    "right": re.compile(rf"(?i:\bright\b{NOT_EYES}|\br\.? eye\b)|\b(?:OD|RE)\b"),
    "left": re.compile(rf"(?i:\bleft\b{NOT_EYES}|\bl\.? eye\b)|\b(?:OS|LE)\b"),
}
ANY_EYE = re.compile(r"\beyes?\b|\bocular\b", re.IGNORECASE)

UNSEEING = re.compile(
    r"\b(?:enucleat\w+|eviscerat\w+|anophthalm\w+|phthisi\w+|artificial|glass eye|prosthe\w+"
    r"|no light perception|npl|nlp|no (?:useful )?(?:sight|vision)|lost (?:the |his |her )?(?:sight|vision|right|left)"
    r"|(?<!colour )(?<!color )(?<!registered )(?<!night )(?<!snow )(?<!severely )blind(?! spot| side))\b",
    re.IGNORECASE,
)
ONLY_EYE = re.compile(
    r"\bonly (?:good |seeing |useful |remaining )?eye\b|\bone good eye\b|\bone[- ]eyed\b|\bmonocular\b(?! p\.?d)",
    re.IGNORECASE,
)
LAZY = re.compile(r"\bamblyop\w+|\blazy eye\b", re.IGNORECASE)
FALLS = re.compile(
    r"(?<!love )\b(?:fell|fallen|falls|falling)\b(?! (?:asleep|ill|in love|short|out|off|down|apart|on the floor))"
    r"|\b(?:a|his|her|bad|last|first|recent|nasty) fall\b|\bfalls? risk\b|\brisk of fall\w*"
    r"|\b(?:tripped|stumbl\w+|dizz\w+|vertigo|unstead\w+|faint(?:s|ed|ing)|black(?:s|ed)?[- ]?outs?|parkinson\w*"
    r"|(?<!heat )(?<!sun )stroke|walking (?:frame|stick|aid)|zimmer|rollator|frail\w*)\b"
    r"|\bpoor balance\b|\blos(?:es|t|ing) (?:his|her|their) balance\b",
    re.IGNORECASE,
)
THINGS = re.compile(
    r"\b(?:lens(?:es)?|frames?|glasses|spectacles|pair|screws?|pads?|acuity|vision|sight|it)\W*(?:\w+\W+)?$"
)
FOR_HIRE = re.compile(
    r"\b(?:taxi|cab|minicab|bus|coach|lorry|truck|hgv|lgv)[- ]?drive(?:r|s)\b"
    r"|\bdrives an? (?:taxi|cab|bus|coach|lorry|truck)|\bchauffeur\b",
    re.IGNORECASE,
)
DRIVES = re.compile(
    r"\bdriv(?:es?|ers?|ing)\b(?! range)|\bchauffeur\b|\bmotorcycl\w+|\bmotorbik\w+|\bat the wheel\b", re.IGNORECASE
)
BY_NIGHT = re.compile(r"\bnights?\b|\bnight[- ]time\b|\bafter dark\b|\bin the dark\b|\bdusk\b", re.IGNORECASE)
FLIES = re.compile(
    r"\bpilots?\b(?! (?:shape|style|frame|model|eye))|\bcockpits?\b|\bair ?crew\b"
    r"|\bflies (?:a |planes|gliders|aircraft)",
    re.IGNORECASE,
)
VISOR = re.compile(r"\b(?:tinted|dark|smoked?|mirror\w*|black) (?:helmet )?visors?\b", re.IGNORECASE)


@dataclass(frozen=True)
class WearerRemarks:
    """What a remark says of the wearer. Each answer is the words found, so that a finding can quote them, or None."""

    text: str

    @cached_property
    def unseeing(self) -> dict[Eye, str]:
        """The eyes that are said not to see, with the words that say so."""
        found: dict[Eye, str] = {}
        for sentence, match in _said(UNSEEING, self.text):
            eye = _eye_named(sentence, match)
            if eye is not None:
                found.setdefault(eye, match.group(0))
        for sentence, match in _said(ONLY_EYE, self.text):
            eye = _eye_named(sentence, match)
            if eye is not None:
                found.setdefault(other_eye(eye), match.group(0))
        return found

    @cached_property
    def one_eyed(self) -> str | None:
        """One eye alone sees, whichever it is."""
        loose = (m.group(0) for sentence, m in _said(UNSEEING, self.text) if ANY_EYE.search(sentence))
        only = (m.group(0) for _, m in _said(ONLY_EYE, self.text))
        return next(iter(self.unseeing.values()), None) or next(only, None) or next(loose, None)

    @cached_property
    def lazy(self) -> dict[Eye, str]:
        """The eyes that are said to be amblyopic, with the words that say so."""
        named = ((_eye_named(sentence, match), match.group(0)) for sentence, match in _said(LAZY, self.text))
        return {eye: said for eye, said in named if eye is not None}

    @cached_property
    def falls(self) -> str | None:
        """A fall, or what makes one likely: dizziness, Parkinson's, a stroke, a walking frame."""
        found = (m.group(0) for sentence, m in _said(FALLS, self.text) if not THINGS.search(sentence[: m.start()]))
        return next(found, None)

    @cached_property
    def drives(self) -> str | None:
        return _first(DRIVES, self.text)

    @cached_property
    def drives_for_hire(self) -> str | None:
        return _first(FOR_HIRE, self.text)

    @cached_property
    def drives_by_night(self) -> str | None:
        return _first(BY_NIGHT, self.text) if self.drives else None

    @cached_property
    def flies(self) -> str | None:
        return _first(FLIES, self.text)

    @cached_property
    def dark_visor(self) -> str | None:
        return _first(VISOR, self.text)


def _first(pattern: re.Pattern[str], text: str) -> str | None:
    return next((match.group(0) for _, match in _said(pattern, text)), None)


def _said(pattern: re.Pattern[str], text: str) -> Iterator[tuple[str, re.Match[str]]]:
    """Each place where it is said and not denied within its clause, with its sentence."""
    for sentence in SENTENCE.split(text):
        for match in pattern.finditer(sentence):
            before = CLAUSE.split(sentence[: match.start()])[-1]
            if not DENIED.search(before) and not OTHERS.search(before):
                yield sentence, match


def _eye_named(sentence: str, match: re.Match[str]) -> Eye | None:
    """The eye named nearest to these words, before them rather than after."""
    places = [
        (found.start() > match.start(), abs(found.start() - match.start()), eye)
        for eye, pattern in EYES.items()
        for found in pattern.finditer(sentence)
    ]
    return min(places)[2] if places else None
