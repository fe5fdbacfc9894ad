"""Reads the text that a lensmeter prints or sends, line by line, whatever order and labels it uses.

Understood are: a line an eye (``R -3.12 -1.00 x 172 ADD 2.00``), an eye's name on a line of its own with labelled
lines below it (``S -3.12`` / ``C -1.00`` / ``A 172``), labels with = or : (``R SPH=-3.12; CYL=-1.00``), figures between
commas, and lines of PD. A line of any other shape is set aside with what is wrong with it; nothing is guessed. This
module must never know an order.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from orders.documents.lens_order import Eye

MOST_LINES = 60
EYE_WORDS: dict[str, Eye] = {
    **dict.fromkeys(("R", "RIGHT", "OD", "RE"), "right"),
    **dict.fromkeys(("L", "LEFT", "OS", "LE"), "left"),
}
LABELS = {
    **dict.fromkeys(("SPHERE", "SPH", "S"), "sphere"),
    **dict.fromkeys(("CYLINDER", "CYL", "C"), "cylinder"),
    **dict.fromkeys(("AXIS", "AXS", "AX", "A", "X", "@"), "axis"),
    **dict.fromkeys(("ADDITION", "ADD1", "ADD", "AD"), "add"),
    **dict.fromkeys(("HEIGHT", "SEG"), "height_mm"),
}
BASES = {
    **dict.fromkeys(("IN", "BI", "I"), ("prism_in", 1.0)),
    **dict.fromkeys(("OUT", "BO", "O"), ("prism_in", -1.0)),
    **dict.fromkeys(("UP", "BU", "U"), ("prism_up", 1.0)),
    **dict.fromkeys(("DOWN", "DN", "BD", "D"), ("prism_up", -1.0)),
}
BASES_BEFORE = frozenset(BASES) - {"D"}
"""Bases that may stand before their amount; a D there is the unit of the power before it."""
HEADINGS = frozenset({*LABELS, "PRISM", "PD", "EYE", "NO", "BASE"})
NUMBER = re.compile(r"[+-]?\d{1,3}(?:\.\d{1,3})?")
TOKEN = re.compile(r"[+-]?\d+(?:\.\d+)?|[A-Z]+1?|[@=]|\S")
QUIET = frozenset(",;:=/|()[]<>*°") | {"X", "@", "D", "DPT", "MM", "DEG", "BASE", "PRISM", "P"}
PLANO = frozenset({"PLANO", "PL", "PLAN"})
IN_TURN = ("sphere", "cylinder", "axis")
READ_WRONG = str.maketrans({"−": "-", "–": "-", "×": "X", "Δ": " ", "∆": " ", "\t": " "})


@dataclass(frozen=True)
class SetAside:
    """A line that was not taken over: the line, and why."""

    line: str
    why: str


@dataclass
class Pasted:
    """What was read, by eye and key of ``finished-readings/1``, and the lines that were not."""

    right: dict[str, float] = field(default_factory=dict)
    left: dict[str, float] = field(default_factory=dict)
    set_aside: list[SetAside] = field(default_factory=list)

    def eye(self, eye: Eye) -> dict[str, float]:
        return self.right if eye == "right" else self.left


class OtherShape(ValueError):
    """The line is none of those that are understood; the message says where."""


def read_lensmeter(text: str) -> Pasted:
    """Everything that the text says of both lenses; never raises."""
    found, eye = Pasted(), None
    lines = text.splitlines()
    for line in lines[:MOST_LINES]:
        if not re.search(r"\w", line):
            continue
        try:
            eye = _line(line, eye, found)
        except OtherShape as other:
            found.set_aside.append(SetAside(" ".join(line.split())[:80], str(other)))
    if len(lines) > MOST_LINES:
        found.set_aside.append(SetAside(f"{len(lines) - MOST_LINES} more lines", f"Only {MOST_LINES} lines are read."))
    return found


def _line(line: str, eye: Eye | None, found: Pasted) -> Eye | None:
    """Read one line into ``found``; returns the eye that the next line is about."""
    tokens = _tokens(line)
    if _is_heading(tokens):
        return eye
    if "PD" in tokens:
        _pds(tokens, found)
        return eye
    named = _named(tokens)
    eye = named or eye
    values = dict(_values(tokens))
    if not values:
        if named and not tokens:
            return eye
        raise OtherShape("This is no line of a lens.")
    if eye is None:
        raise OtherShape("It does not say which eye it is about. Begin it with R or L.")
    twice = [key for key in values if found.eye(eye).get(key, values[key]) != values[key]]
    if twice:
        raise OtherShape(f"The {eye} lens has another {twice[0].split('_')[0]} already; the first one is kept.")
    found.eye(eye).update(values)
    return eye


def _tokens(line: str) -> list[str]:
    text = line.upper().translate(READ_WRONG)
    text = re.sub(r"(?<=\d),(?=\d{2}(?!\d))", ".", text) if "." not in text else text
    text = re.sub(r"([+-])\s+(?=\d)", r"\1", text)
    return TOKEN.findall(text)


def _is_heading(tokens: list[str]) -> bool:
    words = [token for token in tokens if token.isalpha()]
    return bool(words) and all(word in HEADINGS for word in words) and not any(map(NUMBER.fullmatch, tokens))


def _named(tokens: list[str]) -> Eye | None:
    """The eye named at the beginning, with whatever brackets are round its name; takes it off."""
    while tokens and tokens[0] in "<>[]():.=-*#|":
        tokens.pop(0)
    if not tokens or tokens[0] not in EYE_WORDS:
        return None
    eye = EYE_WORDS[tokens.pop(0)]
    if tokens[:1] == ["EYE"]:
        tokens.pop(0)
    while tokens and tokens[0] in "<>[]():.=-*#|,;":
        tokens.pop(0)
    return eye


def _values(tokens: list[str]) -> Iterator[tuple[str, float]]:
    """Key and value of each figure: under the label before it, else sphere, cylinder and axis in turn."""
    turn, at = 0, 0
    while at < len(tokens):
        token = tokens[at]
        key = LABELS.get(token) if _followed_by_number(tokens, at) else None
        if key is not None:
            at = _skip(tokens, at + 1)
            yield key, _labelled(tokens[at], key)
            turn = max(turn, IN_TURN.index(key) + 1) if key in IN_TURN else len(IN_TURN)
        elif token in PLANO and turn == 0:
            yield "sphere", 0.0
            turn = 1
        elif NUMBER.fullmatch(token):
            base = _base_beside(tokens, at) if turn or "." not in token else None
            if base is not None:
                (name, sign), at = BASES[tokens[base]], max(at, base)
                yield name, sign * abs(_number(token))
            elif turn < len(IN_TURN):
                yield IN_TURN[turn], _unlabelled(token, IN_TURN[turn])
                turn += 1
            else:
                raise OtherShape(f"“{token}” has no name: it could be an add or a prism.")
        elif token in BASES_BEFORE and _followed_by_number(tokens, at):
            (name, sign), at = BASES[token], _skip(tokens, at + 1)
            yield name, sign * abs(_number(tokens[at]))
        elif token not in QUIET:
            raise OtherShape(f"“{token}” is not understood.")
        at += 1


def _followed_by_number(tokens: list[str], at: int) -> bool:
    after = _skip(tokens, at + 1)
    return after < len(tokens) and NUMBER.fullmatch(tokens[after]) is not None


def _skip(tokens: list[str], at: int) -> int:
    while at < len(tokens) and tokens[at] in ("=", ":"):
        at += 1
    return at


def _base_beside(tokens: list[str], at: int) -> int | None:
    """Where the base of a prism stands that follows this number: ``0.50 UP``, ``0.50 BASE UP``.

    A number with a sign, or without decimals, is a power or an axis, and the base after it begins something new.
    """
    after = at + 1
    while after < len(tokens) and tokens[after] in ("BASE", "B"):
        after += 1
    if after >= len(tokens) or tokens[after] not in BASES or (tokens[after] == "D" and after == at + 1):
        return None
    may_be_prism = "." in tokens[at] and tokens[at][0] not in "+-"
    return after if may_be_prism or not _followed_by_number(tokens, after) else None


def _number(token: str) -> float:
    if not NUMBER.fullmatch(token):
        raise OtherShape(f"“{token}” is not a figure.")
    return float(token)


def _labelled(token: str, key: str) -> float:
    """A figure with its label; sphere and cylinder need their sign, unless they are nought."""
    value = _number(token)
    if key in ("sphere", "cylinder") and value and token[0] not in "+-":
        raise OtherShape(f"“{token}” has no sign: it could be plus or minus.")
    return value


def _unlabelled(token: str, key: str) -> float:
    """A figure without its label: a power needs its decimals too, and an axis has neither sign nor decimals."""
    if key == "axis":
        if not re.fullmatch(r"\d{1,3}", token):
            raise OtherShape(f"“{token}” stands where the axis should be.")
    elif "." not in token:
        raise OtherShape(f"“{token}” is no power: write its sign and decimals.")
    return _labelled(token, key)


def _pds(tokens: list[str], found: Pasted) -> None:
    """``PD R 31.5 L 32.0`` or ``PD 31.5/32.0``; one figure alone is of both eyes together and cannot be split."""
    numbers = [float(token) for token in tokens if NUMBER.fullmatch(token)]
    eyes = [EYE_WORDS[token] for token in tokens if token in EYE_WORDS]
    if len(numbers) == 3 and abs(numbers[0] - numbers[1] - numbers[2]) < 0.051:
        numbers = numbers[1:]
    if len(numbers) != 2 or eyes not in ([], ["right", "left"]):
        raise OtherShape("Of a PD both halves are needed, right first.")
    found.right["pd_mm"], found.left["pd_mm"] = numbers
