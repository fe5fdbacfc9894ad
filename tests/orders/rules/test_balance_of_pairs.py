"""Vertical prism at the reading level and image sizes: with prescribed prism, unequal adds, and by exact rays."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.order_report import OrderReport
from orders.rules import check
from orders.rules.examples import example_catalogue
from tests.orders.rules.test_computed import order_with

SPHERES = {"prescription__right__cylinder": None, "prescription__left__cylinder": None}


def report(right: float, left: float, **changes: Any) -> OrderReport:
    spheres = {"prescription__right__sphere": right, "prescription__left__sphere": left}
    return check(order_with(**SPHERES, **spheres, **changes), example_catalogue())


def imbalance(right: float, left: float, **changes: Any) -> float:
    found = report(right, left, **changes).computed.vertical_imbalance_pd
    assert found is not None
    return found


def test_what_is_prescribed_is_no_imbalance() -> None:
    split = {
        "prescription__right__prism": [{"amount": 2.0, "base": "up"}],
        "prescription__left__prism": [{"amount": 2.0, "base": "down"}],
    }
    assert imbalance(-4.0, -2.0, **split) == imbalance(-4.0, -2.0) == pytest.approx(2.0)


def test_prentice_holds_for_weak_lenses_and_rays_count_where_they_differ_from_it_by_more_than_half_a_dioptre() -> None:
    single = {"lenses__right__design": "single", "lenses__left__design": "single"}
    assert imbalance(-9.0, -7.0, **single) == pytest.approx(2.0)
    strong = imbalance(-14.0, -4.0, **single)
    assert 10.5 < strong < 12.0
    unknown = imbalance(-14.0, -4.0, frame__a_mm=None, **single)
    assert unknown == pytest.approx(10.0)


def test_unequal_adds_bring_prism_of_their_own_into_the_reading_parts() -> None:
    adds = {"prescription__right__add": 2.5, "prescription__left__add": 2.0}
    equal = {"prescription__right__add": 2.5, "prescription__left__add": 2.5}
    assert imbalance(-2.0, -2.0, **equal) == pytest.approx(0.0)
    # The power rises over 14 mm from the cross, the reference point is 4 mm and the reading level 14 mm below it.
    own = 0.5 * (14.0**2 - 4.0**2) / (2 * 14.0) / 10.0
    assert imbalance(-2.0, -2.0, **adds) == pytest.approx(own)
    assert imbalance(-3.0, -2.0, **adds) == pytest.approx(1.0 - own)


def test_the_reading_parts_can_make_images_unequal_where_the_distance_parts_do_not() -> None:
    def asked(**adds: float) -> list[str]:
        changes = {f"prescription__{eye}__add": add for eye, add in adds.items()}
        return [part.says for part in report(1.25, -1.25, **changes).findings if part.rule == "image-size"]

    assert not any("reading parts" in says for says in asked(right=2.0, left=2.0))
    assert any("differ by 3.00 D in the reading parts" in says for says in asked(right=2.5, left=2.0))
    assert not any("reading parts" in says for says in asked(right=2.0, left=2.5))
