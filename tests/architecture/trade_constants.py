"""Finds figures of the trade in source text: constants, comparisons, bounds of fields, and figures written in words.

A figure counts as the trade's if its name, or what it is compared with, has a unit of the trade (mm, D, degrees, Δ,
years, ...), or if it is a fraction: 0.75 is hardly ever an accident. Counts, sizes of files, angles of a circle,
rounding noise and 0, 1 and 2 do not count.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass

UNITS = {"mm", "d", "deg", "pd", "percent", "years", "months", "days", "age", "ages", "abbe", "index"}
QUANTITIES = {"sphere", "cylinder", "add", "adds", "axis", "prism", "height", "heights", "vertex", "tilt", "corridor"}
UNIT_WORDS = UNITS | QUANTITIES | {"pantoscopic", "wrap", "decentration", "transmittance"}
COMPARERS = {
    "at_least",
    "at_most",
    "more_than",
    "less_than",
    "above",
    "below",
    "outside",
    "same",
    "is_on_step",
    "on_step",
}
BOUNDS = {"low", "high", "possible", "min_value", "max_value"}
HALF_AND_WHOLE_TURNS = {90, 180, 360}
NOISE = 0.06
"""Below it a literal is a rounding step or a tolerance of the arithmetic, not a limit."""

SAID = re.compile(r"\d\s?(?:mm|D|Δ|°|%|years?|dioptres?|degrees?)(?![a-zA-Z])")


@dataclass(frozen=True)
class Found:
    """``what``: the name of a constant, or the expression or words as they stand."""

    line: int
    kind: str
    what: str


def trade_constants(text: str) -> Iterator[Found]:
    """Every figure in a module's text that looks like a fact of the trade."""
    tree = ast.parse(text)
    yield from _constants(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and _compares_a_figure(node):
            yield Found(node.lineno, "comparison", ast.unparse(node))
        elif isinstance(node, ast.Call):
            yield from _arguments(node)
        elif isinstance(node, ast.FunctionDef | ast.Lambda):
            yield from _defaults(node)
    yield from _said(tree)


def _numbers(node: ast.AST) -> Iterator[float]:
    for part in ast.walk(node):
        if isinstance(part, ast.Constant) and isinstance(part.value, int | float) and not isinstance(part.value, bool):
            yield part.value


def _is_fact(number: float, *, has_unit: bool) -> bool:
    if number in (0, 1, 2) or number in HALF_AND_WHOLE_TURNS or abs(number) < NOISE:
        return False
    return has_unit or isinstance(number, float)


def _words(node: ast.AST) -> set[str]:
    names = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
    names |= {part.attr for part in ast.walk(node) if isinstance(part, ast.Attribute)}
    return {word for name in names for word in name.lower().split("_")}


def _has_unit(node: ast.AST) -> bool:
    return bool(_words(node) & UNIT_WORDS)


def _constants(tree: ast.Module) -> Iterator[Found]:
    bodies = [tree.body, *(node.body for node in ast.walk(tree) if isinstance(node, ast.ClassDef))]
    for node in (statement for body in bodies for statement in body):
        if (
            not isinstance(node, (ast.Assign, ast.AnnAssign))
            or node.value is None
            or isinstance(node.value, ast.Lambda)
        ):
            continue
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        named = any(_has_unit(target) for target in targets)
        if any(_is_fact(number, has_unit=named) for number in _own_numbers(node.value)):
            yield Found(node.lineno, "constant", ", ".join(ast.unparse(target) for target in targets))


def _own_numbers(value: ast.AST) -> Iterator[float]:
    """The numbers of a value; those of a form's field or of a model's column are judged as its arguments."""
    if isinstance(value, ast.Call) and re.search(r"(Field|Serializer|Index|Constraint)$", ast.unparse(value.func)):
        return
    yield from _numbers(value)


def _compares_a_figure(node: ast.Compare) -> bool:
    sides = [node.left, *node.comparators]
    if any(isinstance(part, ast.Call) and ast.unparse(part.func) == "len" for side in sides for part in ast.walk(side)):
        return False
    has_unit = any(_has_unit(side) for side in sides)
    return any(_is_fact(number, has_unit=has_unit) for side in sides for number in _numbers(side))


def _arguments(node: ast.Call) -> Iterator[Found]:
    called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    if called.removeprefix("is_") in COMPARERS and any(
        _is_fact(n, has_unit=True) for part in node.args for n in _numbers(part)
    ):
        yield Found(node.lineno, "comparison", ast.unparse(node))
    for keyword in node.keywords:
        if keyword.arg in BOUNDS and any(_is_fact(number, has_unit=True) for number in _numbers(keyword.value)):
            yield Found(node.lineno, "bound", f"{keyword.arg}={ast.unparse(keyword.value)}")


def _defaults(node: ast.FunctionDef | ast.Lambda) -> Iterator[Found]:
    arguments = node.args
    positional = [*arguments.posonlyargs, *arguments.args]
    pairs = [*zip(positional[len(positional) - len(arguments.defaults) :], arguments.defaults, strict=True)]
    pairs += [(name, value) for name, value in zip(arguments.kwonlyargs, arguments.kw_defaults, strict=True) if value]
    for name, value in pairs:
        has_unit = bool(set(name.arg.split("_")) & UNIT_WORDS)
        if has_unit and any(_is_fact(number, has_unit=True) for number in _numbers(value)):
            yield Found(node.lineno, "default", f"{name.arg}={ast.unparse(value)}")


def _said(tree: ast.Module) -> Iterator[Found]:
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Constant) or not isinstance(node.value, str) or id(node) in docstrings:
            continue
        if SAID.search(node.value):
            yield Found(node.lineno, "words", node.value)
