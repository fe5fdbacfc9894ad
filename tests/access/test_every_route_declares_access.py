"""A view that does not say who may use it is closed to everyone, and also fails the tests here."""

from __future__ import annotations

from tests.access.routes import routes


def test_every_route_has_a_name() -> None:
    assert not [route.path for route in routes() if route.name.endswith("None")]


def test_every_route_says_who_may_use_it() -> None:
    silent = [route.path for route in routes() if route.access is None and not route.tables]
    assert not silent, f"Mark these with @requires, @signed_in or @open_to_all: {silent}"


def test_no_address_carries_a_row_number_or_a_name() -> None:
    # Public ids are UUIDs: a row number can be counted up, a name is patient data in a log.
    loose = [route.path for route in routes() if "<int:" in route.path or "<slug:" in route.path]
    assert not loose
