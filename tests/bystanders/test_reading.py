"""No query returns a stranger's rows, and every query is tried."""

from __future__ import annotations

import pytest
from django.db.models import Model, QuerySet

from dispensing import queries as dispensing_queries
from dispensing.queries.paging import Page
from orders import board_queries, desk_queries
from orders import queries as orders_queries
from tests.bystanders.functions import public_functions
from tests.bystanders.readings import NO_SCOPE, READINGS, Reading
from tests.bystanders.world import COMMON, World


@pytest.mark.parametrize("reading", READINGS, ids=str)
def test_a_query_gives_what_was_asked_for_and_nothing_of_anybody_else(reading: Reading, world: World) -> None:
    found = reading.asked(world)
    if isinstance(found, Page):
        found = found.rows
    if found is None or isinstance(found, Model):
        found = [found] if found else []
    if isinstance(found, QuerySet) or (isinstance(found, list) and all(isinstance(row, Model) for row in found)):
        wanted = [name if "." in name or name in COMMON else f"ours.{name}" for name in reading.given]
        assert world.names_of(found) == wanted
    else:
        assert found == reading.given


def test_every_query_is_asked_with_strangers_beside() -> None:
    asked = {reading.function for reading in READINGS} | set(NO_SCOPE)
    missing = public_functions(dispensing_queries, orders_queries, board_queries, desk_queries) - asked
    assert not missing, "A row in READINGS for each of these, or the reason why it needs none in NO_SCOPE."
