"""A drawing is as it was when somebody last looked at it: every line, place and word, to a fiftieth of a millimetre."""

from __future__ import annotations

import re
from itertools import zip_longest

import pytest

from tests.kept_pictures.pictures import FOLDER, PICTURES

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
HOW_TO = "If it is meant: python -m tests.kept_pictures, and look at the picture."
CLOSE_MM = 0.02


def lines(svg: str) -> list[str]:
    return svg.strip().replace("><", ">\n<").splitlines()


def alike(one: str, other: str) -> bool:
    figures = (list(map(float, NUMBER.findall(text))) for text in (one, other))
    if NUMBER.sub("#", one) != NUMBER.sub("#", other):
        return False
    return all(abs(a - b) <= CLOSE_MM for a, b in zip(*figures, strict=True))


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_as_it_was_looked_at(name: str) -> None:
    kept = lines((FOLDER / f"{name}.svg").read_text())
    drawn = lines(PICTURES[name]())
    changed = [(was, now) for was, now in zip_longest(kept, drawn, fillvalue="") if not alike(was, now)]
    assert not changed, f"{name}: {changed[:3]} {HOW_TO}"


def test_every_kept_picture_is_drawn() -> None:
    assert {path.stem for path in FOLDER.glob("*.svg")} == set(PICTURES)


@pytest.mark.parametrize(("one", "other"), [("<a x='1.03'/>", "<a x='1.00'/>"), ("<a/>", "<b/>"), ("x 1", "x 1 2")])
def test_lines_that_differ_are_told_apart(one: str, other: str) -> None:
    assert not alike(one, other)
    assert alike(one, one)
