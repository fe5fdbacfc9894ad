"""No query gives a stranger's rows, and every query is asked."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import pytest
from django.db.models import Model, QuerySet

from dispensing import queries as dispensing_queries
from dispensing.queries.paging import Page
from dispensing.queries.patients import PatientPage
from orders import queries as orders_queries
from tests.bystanders.readings import NO_SCOPE, READINGS, Reading
from tests.bystanders.world import World


@pytest.mark.parametrize("reading", READINGS, ids=str)
def test_a_query_gives_what_was_asked_for_and_nothing_of_anybody_else(reading: Reading, world: World):
    found = reading.asked(world)
    if isinstance(found, Page | PatientPage):
        found = found.rows
    if found is None or isinstance(found, Model):
        found = [found] if found else []
    if isinstance(found, QuerySet) or (isinstance(found, list) and all(isinstance(row, Model) for row in found)):
        wanted = [name if "." in name or name == "namesake" else f"ours.{name}" for name in reading.given]
        assert world.names_of(found) == wanted
    else:
        assert found == reading.given


def _modules(package: ModuleType) -> Iterator[ModuleType]:
    yield package
    for found in pkgutil.walk_packages(getattr(package, "__path__", ()), f"{package.__name__}."):
        yield importlib.import_module(found.name)


def _public_functions(*packages: ModuleType) -> set[Callable[..., Any]]:
    return {
        function
        for package in packages
        for module in _modules(package)
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }


def test_every_query_is_asked_with_strangers_beside():
    asked = {reading.function for reading in READINGS} | set(NO_SCOPE)
    missing = _public_functions(dispensing_queries, orders_queries) - asked
    assert not missing, "A row in READINGS for each of these, or the reason why it needs none in NO_SCOPE."
