"""What the examples for a proxy let through is what Datumline takes there, and pages say whether they take files."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from django.conf import settings

from dispensing.request_size import MOST_BYTES_OF_A_STRANGER, largest_at
from tests.access.routes import Route, routes
from tests.architecture.source_tree import ROOT, modules
from tests.known import there

DEPLOYMENT = ROOT / "dispensing" / "deployment"
UNITS = {"k": 1024, "m": 1024**2, "KiB": 1024, "MiB": 1024**2}
PLACES = re.compile(r"<(\w+:)?\w+>")


def address(route: Route) -> str:
    return "/" + PLACES.sub("6f1b2c1e-8f0a-4a52-9d1c-0d6b8f4c2a11", route.path)


ADDRESSES = sorted({address(route) for route in routes() if not route.path.startswith("metrics")})


def in_bytes(size: str) -> int:
    number, unit = there(re.fullmatch(r"(\d+)(\w+)", size)).groups()
    return int(number) * UNITS[unit]


def nginx_limit(path: str) -> int:
    """The size of the first location by pattern that fits, or else of the server."""
    text = (DEPLOYMENT / "nginx.conf").read_text().split("listen 443")[1]
    for pattern, size in re.findall(r"location ~ (\S+) {\s+client_max_body_size (\w+);", text):
        if re.search(pattern, path):
            return in_bytes(size)
    return in_bytes(there(re.search(r"^    client_max_body_size (\w+);", text, re.M))[1])


def caddy_limit(path: str) -> int:
    text = (DEPLOYMENT / "Caddyfile").read_text()
    sizes = dict(re.findall(r"request_body @(\w+) {\s+max_size (\w+)", text))
    for name, pattern in re.findall(r"@(\w+) path_regexp (\S+)", text):
        if re.search(pattern, path):
            return in_bytes(sizes[name])
    return in_bytes(sizes["others"])


@pytest.mark.parametrize("limit", [nginx_limit, caddy_limit])
def test_a_proxy_lets_through_what_is_taken_at_each_address(limit: object) -> None:
    assert callable(limit)
    differ = {path: (limit(path), largest_at(path)) for path in ADDRESSES if limit(path) != largest_at(path)}
    assert not differ, "Change the pattern in dispensing/deployment, or mark the view with @takes_files."


def test_all_three_sizes_are_met() -> None:
    sizes = {largest_at(path) for path in ADDRESSES}
    assert sizes == {
        MOST_BYTES_OF_A_STRANGER,
        settings.DATA_UPLOAD_MAX_MEMORY_SIZE,
        settings.MOST_BYTES_OF_AN_UPLOAD,
    }
    assert largest_at("/no/such/page/") == MOST_BYTES_OF_A_STRANGER


def test_caddy_says_of_all_others_what_it_says_of_pages_with_files() -> None:
    text = (DEPLOYMENT / "Caddyfile").read_text()
    with_files = there(re.search(r"@files path_regexp (\S+)", text))[1]
    assert f"not path_regexp {with_files}\n" in text


def _reads_files(path: Path) -> set[str]:
    """The functions of a module that read ``request.FILES``, themselves or through one beside them."""
    functions = {node.name: node for node in ast.parse(path.read_text()).body if isinstance(node, ast.FunctionDef)}
    found: set[str] = set()
    while more := {name for name, node in functions.items() if name not in found and _does(node, found)}:
        found |= more
    return found


def _does(function: ast.FunctionDef, known: set[str]) -> bool:
    return any(
        (isinstance(node, ast.Attribute) and node.attr == "FILES") or (isinstance(node, ast.Name) and node.id in known)
        for node in ast.walk(function)
    )


def test_a_page_that_reads_files_says_so() -> None:
    """Or the files sent to it would be refused. More may say so: a form with files asks other addresses with it."""
    reading = {f"{name}.{each}" for name, path in modules() if ".views" in name for each in _reads_files(path)}
    marked = {
        f"{route.view.__module__}.{route.view.__name__}"
        for route in routes()
        if getattr(route.view, "takes_files", False)
    }
    views = {f"{route.view.__module__}.{getattr(route.view, '__name__', '')}" for route in routes()}
    assert reading & views == marked - {"orders.views.finished.finished_live"}
    assert marked
