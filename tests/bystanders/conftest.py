"""One world for all tests here that run one after another: put back after every test, gone at the end."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction

from tests.bystanders.world import World, build
from tests.stand_in_pdf import no_typesetting


@pytest.fixture(scope="package")
def _built(django_db_setup: Any, django_db_blocker: Any) -> Iterator[World]:
    with django_db_blocker.unblock(), transaction.atomic():
        with no_typesetting():
            world = build()
        yield world
        transaction.set_rollback(True)


@pytest.fixture
def world(_built: World, db: Any) -> World:
    return _built
