"""What an order is compared with: the patient's earlier orders, as they were sent."""

from __future__ import annotations

import pytest

from orders.models import Order
from orders.services.judging import judge
from orders.services.sending import send_order
from tests.orders import shop

pytestmark = pytest.mark.django_db


def rules_said(order: Order) -> set[str]:
    return {part.rule for part in judge(order).report.findings}


def test_a_pd_that_is_not_that_of_the_last_order_is_asked_about() -> None:
    first = shop.draft()
    send_order(order=first, actor=shop.dispenser(), version=first.version)
    person, frame = shop.patient(), shop.frame(model="Birch 50", a_mm=50, b_mm=37)
    again = shop.fitting(person, frame, pd_mm_right=32.0, pd_mm_left=31.5)
    other = shop.fitting(person, frame, pd_mm_right=30.5, pd_mm_left=30.0, binocular_pd_mm_both=60.5)

    assert "pd-as-recorded" not in rules_said(shop.draft(patient=person, frame=frame, fitting=again))
    assert "pd-as-recorded" in rules_said(shop.draft(patient=person, frame=frame, fitting=other))
