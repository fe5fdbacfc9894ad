"""The order of a child or a registered sight-impaired person names who answers for it; no reason takes their place."""

from __future__ import annotations

from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import Practice, StaffUser
from orders.models import Order
from orders.services.errors import NotLiftable, NotReady
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from tests.dispensing.api.callers import based_on, caller, faults
from tests.orders import shop
from tests.orders.views.desk import change, page_of, settle, stored, text_of
from tests.people import person

pytestmark = pytest.mark.django_db


def draft_for(**about: Any) -> Order:
    return shop.draft(patient=shop.patient(**about))


def sight_impaired() -> Order:
    return draft_for(sight_impaired=True)


def a_child() -> Order:
    born = timezone.localdate() - timedelta(days=round(9.5 * 365.2425))
    return draft_for(born_on=born)


def rules_of(order: Order) -> set[str]:
    return {part.rule for part in judge(stored(order)).open_findings}


@pytest.mark.parametrize("make", [sight_impaired, a_child])
def test_a_typed_reason_clears_nothing_and_a_registered_name_does(make: Any) -> None:
    person("ravi")
    StaffUser.objects.filter(username="ravi").update(registration_body="GOC")
    order = make()
    assert "protected-patient" in rules_of(order)
    html = unescape(page_of(order))
    assert '<a href="#id_registered">Name the one who answers for order' in html
    assert '<option value="ravi">Ravi Castellan</option>' in html
    assert "cannot be lifted" in text_of(settle(order, "protected-patient", reason="I measured and fitted it myself"))
    with pytest.raises(NotLiftable):
        lift(order=order, actor=person("ravi"), version=1, rule="protected-patient", reason="Registered, took part")
    with pytest.raises(NotReady, match="names no registered person"):
        send_order(order=stored(order), actor=person("ravi"), version=stored(order).version)
    change(order, registered="ravi")
    assert "protected-patient" not in rules_of(order)
    named = judge(stored(order)).document.ordered_by
    assert named is not None
    assert (named.name, named.registration) == ("Ravi Castellan", "GOC D-10442")


def test_the_paper_and_the_record_name_who_answers() -> None:
    order = sight_impaired()
    person("ravi")
    change(order, registered="ravi")
    for part in judge(stored(order)).open_findings:
        lift(order=stored(order), actor=person("ravi"), version=stored(order).version, rule=part.rule, eye=part.eye)
    document = send_order(order=stored(order), actor=person("ravi"), version=stored(order).version)
    assert '"ordered_by":{"name":"Ravi Castellan","registration":"D-10442"}' in document.text
    page = unescape(page_of(order))
    assert "Ravi Castellan, D-10442" in page


def test_only_registered_people_can_be_named_and_only_where_the_law_asks() -> None:
    person("dora")
    person("tom", role="dispenser", registration="  ")
    person("gone", role="dispenser", registration="D-1", is_active=False)
    html = page_of(sight_impaired())
    for name in ("dora", "tom", "gone"):
        assert f'<option value="{name}">' not in html
    assert 'id="id_registered"' not in page_of(draft_for(reference="P-90003"))
    Practice.objects.update(country="DE")
    abroad = draft_for(reference="P-90004", sight_impaired=True)
    assert 'id="id_registered"' not in page_of(abroad)
    assert next(part.level for part in judge(abroad).report.findings if part.rule == "protected-patient") == "ask"


def test_the_api_names_them_by_sign_in_name_and_refuses_others() -> None:
    person("ravi")
    order = sight_impaired()
    address = reverse("api-order-detail", args=[order.public_id])
    told = faults(caller().patch(address, {"registered": "dora"}, headers=based_on(1)))
    assert "registered dispenser or manager" in told["registered"]
    done = caller().patch(address, {"registered": "ravi"}, headers=based_on(1))
    assert done.json()["document"]["ordered_by"] == {"name": "Ravi Castellan", "registration": "D-10442"}
    taken_back = caller().patch(address, {"registered": None}, headers=based_on(2))
    assert "ordered_by" not in taken_back.json()["document"]
