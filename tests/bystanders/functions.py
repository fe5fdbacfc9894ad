"""The public functions of a package, so that no table leaves one out."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any


def _modules(package: ModuleType) -> Iterator[ModuleType]:
    yield package
    for found in pkgutil.walk_packages(getattr(package, "__path__", ()), f"{package.__name__}."):
        yield importlib.import_module(found.name)


def public_functions(*packages: ModuleType) -> set[Callable[..., Any]]:
    return {
        function
        for package in packages
        for module in _modules(package)
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }
