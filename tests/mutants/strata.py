"""Which part of the program a file belongs to, and which tests should notice a fault in it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

PACKAGES = ("dispensing", "orders")
LEFT_OUT = ("migrations", "management", "bootstrap", "demo", "models", "static", "examples", "fonts", "doctor")

EXAMPLES = "orders/rules/families/"
"""Only its ``.toml`` files: the orders with which the rules themselves are tested."""

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
    ("dispensing/pictures/", ("tests/kept_pictures", "tests/dispensing", "tests/orders/drawings")),
    ("dispensing/prescribing/", ("tests/dispensing", "tests/orders/rules")),
    ("dispensing/services/", ("tests/bystanders", "tests/dispensing", "tests/orders/api")),
    ("dispensing/queries/", ("tests/bystanders", "tests/dispensing", "tests/orders/api")),
    ("dispensing/api/", ("tests/dispensing/api", "tests/bystanders", "tests/orders/api", "tests/access")),
    ("dispensing/trade/", ("tests/orders/rules", "tests/trade", "tests/roads", "tests/fitting", "tests/dispensing")),
    ("dispensing/forms/", ("tests/dispensing", "tests/roads", "tests/fitting", "tests/orders/api")),
    ("dispensing/", ("tests/dispensing", "tests/access", "tests/bystanders", "tests/orders/api")),
    ("orders/rules/", ("tests/orders/rules", "tests/contract", "tests/orders/options", "tests/orders/corpus")),
    ("orders/options/", ("tests/orders/options", "tests/orders/rules", "tests/orders/views")),
    ("orders/documents/", ("tests/orders/documents", "tests/orders/printing", "tests/orders/rules", "tests/contract")),
    ("orders/printing/", ("tests/orders/printing", "tests/orders/services")),
    ("orders/drawings/", ("tests/kept_pictures", "tests/orders/drawings", "tests/orders/printing")),
    ("orders/services/", ("tests/orders/services", "tests/bystanders", "tests/orders/api", "tests/orders/views")),
    ("orders/sending/", ("tests/orders/sending", "tests/bystanders", "tests/orders/views")),
    ("orders/api/", ("tests/orders/api", "tests/bystanders", "tests/access", "tests/roads")),
    ("orders/forms/", ("tests/orders/views", "tests/roads", "tests/orders/api")),
    ("orders/", ("tests/orders", "tests/bystanders", "tests/access")),
)


def files(root: Path) -> Iterator[str]:
    """Every file of the program that faults are put into, by its path from ``root``."""
    for package in PACKAGES:
        for path in sorted((root / package).rglob("*")):
            name = path.relative_to(root).as_posix()
            if name.startswith(EXAMPLES) and path.suffix == ".toml":
                continue
            if path.suffix in (".py", ".toml") and not set(LEFT_OUT) & set(path.relative_to(root).parts):
                yield name


def stratum_of(path: str) -> str:
    return next(name for name, parts in STRATA.items() if any(part in path for part in parts))


def rounds_of_tests(root: Path, path: str) -> list[list[str]]:
    """Test files in the order in which they are tried: those nearest to the module first, then its folders' others."""
    folders = next((tests for part, tests in TESTS if path.startswith(part)), ("tests/dispensing", "tests/orders"))
    known = _files_of_tests(root)
    within = [test for test in known if test.startswith(tuple(f"{folder}/" for folder in folders))]
    module, names = path.removesuffix(".py").replace("/", "."), _names_in(root / path)
    importing = [test for test in known if module in known[test].imported]
    words = {word.rstrip("s") for word in re.split(r"\W|_", path) if len(word) > 3}

    def nearness(test: str) -> tuple[int, int, int]:
        place = next(place for place, folder in enumerate(folders) if test.startswith(f"{folder}/"))
        return sum(name in known[test].text for name in names), sum(word in test for word in words), -place

    near = list(dict.fromkeys((*importing, *sorted(within, key=nearness, reverse=True)[:NEAREST])))
    return [tests for tests in (near, [test for test in within if test not in near]) if tests]


NEAREST = 4


@dataclass(frozen=True)
class FileOfTests:
    """A file of tests that needs no browser, and the modules that it imports."""

    text: str
    imported: frozenset[str]


@cache
def _files_of_tests(root: Path) -> dict[str, FileOfTests]:
    found = {}
    for path in sorted((root / "tests").rglob("test_*.py")):
        text = path.read_text()
        if "mark.browser" not in text and not SLOW & set(path.parts):
            own = _imported(text)
            found[path.relative_to(root).as_posix()] = FileOfTests(text, own.union(*_by_way_of(root, own)))
    return found


def _by_way_of(root: Path, imported: frozenset[str]) -> Iterator[frozenset[str]]:
    """What the tables and builders import that a file of tests is written over."""
    for name in imported:
        helper = (root / name.replace(".", "/")).with_suffix(".py")
        if name.startswith("tests.") and helper.exists():
            yield _imported(helper.read_text())


SLOW = {"races", "bootstrap", "corpus", "ray_tracing", "journeys", "mutants", "architecture"}


def _imported(text: str) -> frozenset[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return frozenset(names)


@cache
def _names_in(path: Path) -> frozenset[str]:
    """What a test may call a module's parts by: its functions and classes, and the addresses of its pages."""
    if path.suffix != ".py":
        return frozenset()
    defined = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
    names = {node.name for node in ast.parse(path.read_text()).body if isinstance(node, defined)}
    return frozenset(names | {f'"{name.replace("_", "-")}"' for name in names})
