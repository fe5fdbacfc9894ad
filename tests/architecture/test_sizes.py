"""Modules stay small: none is above 400 lines, the median is at most 120, and each opens by saying what it is for."""

from __future__ import annotations

import ast
from pathlib import Path
from statistics import median

from tests.architecture.source_tree import modules

MOST_LINES = 400
MEDIAN_LINES = 120


def _length(path: Path) -> int:
    return len(path.read_text().splitlines())


def test_no_module_is_longer_than_four_hundred_lines() -> None:
    long = {name: _length(path) for name, path in modules() if _length(path) > MOST_LINES}
    assert not long, f"Split these by what they are about: {long}"


def test_the_median_module_is_short() -> None:
    lengths = [_length(path) for _, path in modules() if _length(path) > 0]
    assert median(lengths) <= MEDIAN_LINES


def test_every_module_opens_by_saying_what_it_is_for() -> None:
    silent = [
        name
        for name, path in modules()
        if path.read_text().strip() and ast.get_docstring(ast.parse(path.read_text())) is None
    ]
    assert not silent
