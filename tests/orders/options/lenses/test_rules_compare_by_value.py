"""Rules compare parts of documents by value: a comparison of lenses stands other objects in for them."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.architecture.source_tree import is_in, modules

CONSTANTS = (ast.Constant,)


@pytest.mark.parametrize(
    ("name", "path"), [(name, path) for name, path in modules() if is_in(name, "orders.rules")], ids=str
)
def test_a_rule_asks_with_is_only_for_none_true_and_false(name: str, path: Path) -> None:
    asked = [
        node.lineno
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Compare)
        and any(isinstance(sign, ast.Is | ast.IsNot) for sign in node.ops)
        and not all(isinstance(side, CONSTANTS) for side in node.comparators)
    ]
    assert not asked or name in OTHER_OBJECTS, f"{name}, lines {asked}: compare ids, or with ==."


OTHER_OBJECTS = {"orders.rules.command": "orders among themselves", "orders.rules.remark_agrees": "yes or no"}
