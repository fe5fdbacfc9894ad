"""Every address of the product, read from the resolver, with the mark on its view."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

from dispensing.access import Access, access_of


@dataclass(frozen=True)
class Route:
    """``name`` with its namespace, ``path`` as written, the view, and who its mark admits."""

    name: str
    path: str
    view: Any

    @property
    def is_api(self) -> bool:
        return getattr(self.view, "cls", None) is not None

    @property
    def access(self) -> Access | None:
        return access_of(self.view)

    @property
    def tables(self) -> dict[str, Any]:
        """An API view's abilities by action or method, where they differ."""
        cls = getattr(self.view, "cls", None)
        return {**getattr(cls, "access_by_action", {}), **getattr(cls, "access_by_method", {})}


def routes(resolver: URLResolver | None = None, prefix: str = "", space: str = "") -> Iterator[Route]:
    for pattern in (resolver or get_resolver()).url_patterns:
        path = prefix + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            inner = f"{space}{pattern.namespace}:" if pattern.namespace else space
            yield from routes(pattern, path, inner)
        elif isinstance(pattern, URLPattern):
            yield Route(f"{space}{pattern.name}", path, pattern.callback)
