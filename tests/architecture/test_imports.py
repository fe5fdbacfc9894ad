"""Who may import whom. A failure names the line that crosses a boundary, and which boundary."""

from __future__ import annotations

from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any

import pytest

from tests.architecture.source_tree import imports, is_in, modules

PURE = (
    "dispensing.trade",
    "dispensing.ages",
    "dispensing.choice_words",
    "dispensing.dates",
    "dispensing.folding",
    "dispensing.spreadsheets",
    "dispensing.telephones",
    "dispensing.documents",
    "dispensing.optics",
    "dispensing.fitting",
    "dispensing.pictures",
    "dispensing.prescribing",
    "orders.documents",
    "orders.rules",
    "orders.catalogues",
    "orders.options",
    "orders.verification",
    "orders.drawings",
    "orders.printing.content",
    "orders.supplying",
    "orders.getting_used",
    "orders.figures",
    "orders.notices",
    "orders.states",
    "orders.causes",
    "orders.progress",
    "orders.order_numbers",
    "orders.delivery_states",
    "orders.differences",
)
FRAMEWORKS = ("django", "rest_framework", "knox", "drf_spectacular", "weasyprint")

# What each pure part may know of the project besides itself and the facts of the trade, which lie below them all.
MAY_KNOW = {
    "dispensing.trade": (),
    "dispensing.ages": (),
    "dispensing.choice_words": (),
    "dispensing.dates": (),
    "dispensing.folding": (),
    "dispensing.spreadsheets": (),
    "dispensing.telephones": (),
    "dispensing.documents": (),
    "dispensing.optics": (),
    "dispensing.fitting": ("dispensing.documents", "dispensing.optics"),
    "dispensing.pictures": ("dispensing.optics",),
    "dispensing.prescribing": ("dispensing.dates", "dispensing.folding", "dispensing.optics"),
    "orders.states": (),
    "orders.causes": (),
    "orders.figures": ("orders.causes",),
    "orders.notices": (),
    "orders.getting_used": ("dispensing.optics", "orders.documents"),
    "orders.supplying": ("orders.documents", "orders.printing.content"),
    "orders.progress": (),
    "orders.order_numbers": (),
    "orders.delivery_states": (),
    "orders.differences": ("orders.documents", "orders.rules"),
    "orders.documents": (
        "dispensing.ages",
        "dispensing.choice_words",
        "dispensing.documents",
        "dispensing.optics",
        "dispensing.fitting.documents",
        "orders.causes",
    ),
    "orders.rules": (
        "dispensing.documents",
        "dispensing.optics",
        "dispensing.prescribing.acuity",
        "dispensing.prescribing.eye",
        "dispensing.prescribing.paper.differs",
        "dispensing.prescribing.slips",
        "dispensing.prescribing.uses",
        "orders.documents",
    ),
    "orders.catalogues": ("dispensing.documents", "orders.documents", "orders.rules.words"),
    "orders.options": ("dispensing.documents", "dispensing.optics", "orders.documents", "orders.rules"),
    "orders.verification": (
        "dispensing.documents",
        "dispensing.fitting.photos",
        "dispensing.optics",
        "orders.documents",
        "orders.rules",
    ),
    "orders.drawings": (
        "dispensing.documents",
        "dispensing.optics",
        "dispensing.pictures",
        "orders.documents",
        "orders.rules",
    ),
    "orders.printing.content": (
        "dispensing.choice_words",
        "dispensing.documents",
        "dispensing.optics",
        "orders.documents",
    ),
}


def _pure_modules() -> list[Any]:
    return [(name, path) for name, path in modules() if is_in(name, *PURE)]


@pytest.mark.parametrize(("name", "path"), _pure_modules(), ids=lambda value: str(value) if "." in str(value) else None)
def test_the_pure_core_imports_no_framework(name: Any, path: Any) -> None:
    crossed = sorted(used for used in imports(path) if is_in(used, *FRAMEWORKS))
    assert not crossed, f"{name} is pure but imports {crossed}; pass the values in instead."


@pytest.mark.parametrize(("name", "path"), _pure_modules(), ids=lambda value: str(value) if "." in str(value) else None)
def test_a_pure_part_knows_only_the_parts_below_it(name: Any, path: Any) -> None:
    part = next(part for part in PURE if is_in(name, part))
    known = (part, *MAY_KNOW[part], "dispensing.trade", "dispensing", "orders")
    crossed = sorted(
        used
        for used in imports(path)
        if is_in(used, "dispensing", "orders") and not is_in(used, *known[:-2]) and used not in ("dispensing", "orders")
    )
    assert not crossed, f"{name} may not know {crossed}."


def test_the_dispensing_record_never_knows_the_orders() -> None:
    allowed = {"dispensing.settings", "dispensing.urls"}
    crossed = {
        name: sorted(used for used in imports(path) if is_in(used, "orders"))
        for name, path in modules()
        if is_in(name, "dispensing") and name not in allowed
    }
    assert not {name: used for name, used in crossed.items() if used}


def test_models_know_no_views_forms_or_services() -> None:
    upper = ("views", "forms", "services", "api", "sending")
    crossed = {
        name: sorted(used for used in imports(path) if is_in(used, *(f"{app}.{part}" for part in upper)))
        for name, path in modules()
        for app in ("dispensing", "orders")
        if is_in(name, f"{app}.models")
    }
    assert not {name: used for name, used in crossed.items() if used}


def test_services_know_no_views() -> None:
    crossed = {
        name: sorted(used for used in imports(path) if ".views" in used or is_in(used, "django.shortcuts"))
        for name, path in modules()
        if ".services" in name
    }
    assert not {name: used for name, used in crossed.items() if used}


def test_what_pages_are_shown_is_known_to_views_and_templates_only() -> None:
    crossed = {
        name: sorted(used for used in imports(path) if ".presentation" in used)
        for name, path in modules()
        if not any(part in name for part in (".presentation", ".views", ".templatetags"))
    }
    assert not {name: used for name, used in crossed.items() if used}


def test_what_pages_are_shown_knows_no_views_and_no_api() -> None:
    upper = ("views", "api", "templatetags")
    crossed = {
        name: sorted(used for used in imports(path) if is_in(used, *(f"{app}.{part}" for part in upper)))
        for name, path in modules()
        for app in ("dispensing", "orders")
        if is_in(name, "dispensing.presentation", "orders.presentation")
    }
    assert not {name: used for name, used in crossed.items() if used}


def test_no_module_imports_in_a_circle() -> None:
    """Over the whole product; imports inside functions and for types alone count too."""
    try:
        TopologicalSorter({name: _imported(name, path) for name, path in modules()}).prepare()
    except CycleError as circle:
        pytest.fail(" → ".join(circle.args[1]))


NAMES = {name for name, _ in modules()}


def _imported(name: str, path: Path) -> set[Any]:
    """The modules that one imports; of ``from package import module`` the module, not the package."""
    used = {other for other in imports(path) if other in NAMES}
    packages = {other.rpartition(".")[0] for other in used}
    return {other for other in used - packages | (packages & _for_a_name_of_its_own(path)) if other != name}


def _for_a_name_of_its_own(path: Path) -> set[Any]:
    return {used.rpartition(".")[0] for used in imports(path) if used not in NAMES}
