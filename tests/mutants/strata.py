"""Which part of the program a file belongs to, and which tests should notice a fault in it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

PACKAGES = ("dispensing", "orders")
LEFT_OUT = ("migrations", "management", "bootstrap", "demo", "models", "static", "examples", "fonts", "doctor")

# The first that fits counts. What is named is a part of the path.
STRATA: dict[str, tuple[str, ...]] = {
    "optics": ("dispensing/optics/",),
    "fitting": ("dispensing/fitting/",),
    "rules and limits": ("orders/rules/", "dispensing/trade/", ".toml", "orders/options/"),
    "services and queries": ("/services/", "/queries", "orders/facts.py", "orders/sending/"),
    "printing and presentation": (
        "/pictures/",
        "/drawings/",
        "/printing/",
        "/pdf",
        "presentation",
        "templatetags",
        "_shown",
        "orders/documents/",
        "words",
    ),
    "views and API": ("/views/", "/api/", "/forms/", "/access.py", "/context.py"),
    "the rest": ("",),
}

# Where the tests of a part stand; the first that fits counts. Browser tests are never run here.
TESTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("dispensing/optics/", ("tests/optics", "tests/contract", "tests/orders/drawings", "tests/orders/rules")),
    ("dispensing/fitting/", ("tests/fitting", "tests/contract", "tests/dispensing")),
    ("dispensing/pictures/", ("tests/dispensing", "tests/orders/drawings")),
    ("dispensing/prescribing/", ("tests/dispensing", "tests/orders/rules")),
    ("dispensing/services/", ("tests/bystanders", "tests/dispensing", "tests/orders/api")),
    ("dispensing/queries/", ("tests/bystanders", "tests/dispensing", "tests/orders/api")),
    ("dispensing/api/", ("tests/dispensing/api", "tests/bystanders", "tests/orders/api", "tests/access")),
    ("dispensing/trade/", ("tests/orders/rules", "tests/contract", "tests/fitting", "tests/dispensing")),
    ("dispensing/", ("tests/dispensing", "tests/access", "tests/bystanders", "tests/orders/api")),
    ("orders/rules/", ("tests/orders/rules", "tests/contract", "tests/orders/options", "tests/orders/corpus")),
    ("orders/options/", ("tests/orders/options", "tests/orders/rules", "tests/orders/views")),
    ("orders/documents/", ("tests/orders/documents", "tests/orders/printing", "tests/orders/rules", "tests/contract")),
    ("orders/printing/", ("tests/orders/printing", "tests/orders/services")),
    ("orders/drawings/", ("tests/orders/drawings", "tests/orders/printing", "tests/orders/views")),
    ("orders/services/", ("tests/orders/services", "tests/bystanders", "tests/orders/api", "tests/orders/views")),
    ("orders/sending/", ("tests/orders/sending", "tests/bystanders", "tests/orders/views")),
    ("orders/api/", ("tests/orders/api", "tests/bystanders", "tests/access")),
    ("orders/", ("tests/orders", "tests/bystanders", "tests/access")),
)


def files(root: Path) -> Iterator[str]:
    """Every file of the program that faults are put into, by its path from ``root``."""
    for package in PACKAGES:
        for path in sorted((root / package).rglob("*")):
            name = path.relative_to(root).as_posix()
            if path.suffix in (".py", ".toml") and not set(LEFT_OUT) & set(path.relative_to(root).parts):
                yield name


def stratum_of(path: str) -> str:
    return next(name for name, parts in STRATA.items() if any(part in path for part in parts))


def rounds_of_tests(root: Path, path: str) -> list[list[str]]:
    """The tests in the order in which they are tried: those that import the module itself, then its folders."""
    folders = next((tests for part, tests in TESTS if path.startswith(part)), ("tests/dispensing", "tests/orders"))
    there = [folder for folder in folders if (root / folder).exists()]
    near = [test for test, modules in _imports_of_tests(root) if _module(path) in modules] if path[-3:] == ".py" else []
    return [tests for tests in (near, there[:1], there[1:]) if tests]


def _module(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


@cache
def _imports_of_tests(root: Path) -> list[tuple[str, frozenset[str]]]:
    """Each file of tests that needs no browser, with the modules that it imports."""
    found = []
    for path in sorted((root / "tests").rglob("test_*.py")):
        text = path.read_text()
        if "mark.browser" in text or "races" in path.parts:
            continue
        names: set[str] = set()
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.Import):
                names |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        found.append((path.relative_to(root).as_posix(), frozenset(names)))
    return found
