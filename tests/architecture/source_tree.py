"""The project's own modules and what each imports, read from the source text. Nothing is imported or run."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("dispensing", "orders")


def modules() -> Iterator[tuple[str, Path]]:
    """Dotted name and path of each module of the product (tests and migrations left out)."""
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            if "migrations" in path.parts:
                continue
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
            yield name, path


@cache
def imports(path: Path) -> frozenset[str]:
    """Every dotted name imported anywhere in the file, inside functions too; relative ones made absolute."""
    names: set[str] = set()
    package = path.relative_to(ROOT).parent.parts
    for node in ast.walk(ast.parse(path.read_text(), filename=str(path))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            start = ".".join((*base, node.module or "")).strip(".")
            names.add(start)
            names.update(f"{start}.{alias.name}" for alias in node.names)
    return frozenset(names)


def is_in(name: str, *packages: str) -> bool:
    return any(name == package or name.startswith(f"{package}.") for package in packages)
