"""Says with each test which published row it is parametrised with; `closing_tables` counts them after the run."""

from __future__ import annotations

import pytest

from tests.optics.closing_tables import PUBLISHED_CASE
from tests.optics.published_cases import PublishedCase


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        callspec = getattr(item, "callspec", None)
        for value in callspec.params.values() if callspec else ():
            if isinstance(value, PublishedCase):
                item.user_properties.append((PUBLISHED_CASE, value.id))
