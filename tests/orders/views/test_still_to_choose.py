"""A new draft is not wrong, only not complete: a calm list of what is still to choose, which nobody can lift."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from orders.models import Order
from orders.services.drafts import save_draft
from orders.services.errors import NotLiftable, NotReady
from orders.services.judging import by_rule_and_eye, facts_hash, judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from tests.dispensing.api.callers import based_on, caller
from tests.orders import shop
from tests.orders.views.desk import page_of, settle, stored, text_of
from tests.people import person

pytestmark = pytest.mark.django_db

NO_LENS: dict[str, Any] = {"right": {"treatments": []}, "left": {"treatments": []}}


def fresh_draft(**fields: Any) -> Order:
    return shop.draft(**{"lenses": NO_LENS, "frame_source": ""} | fields)


def to_choose(html: str) -> str:
    """The panel as text, with its addresses in brackets."""
    start = html.index("to-choose-title")
    panel = html[start : html.index("</section>", start)]
    linked = re.sub(r'<a href="([^"]+)">', r"[\1] ", panel)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", linked)).split())


def test_a_new_draft_says_calmly_what_is_still_to_choose_and_where() -> None:
    html = page_of(fresh_draft())
    said = to_choose(html)
    assert "Right and left: No lens is named for each eye. [#id_right-design] Choose the lens." in said
    assert "Right and left: No material is named for each eye. [#id_right-material] Choose the material." in said
    assert "[#id_frame_source] Say how the frame reaches the lab." in said
    assert 'id="id_right-design"' in html
    assert 'id="id_frame_source"' in html
    assert 'class="strip verdict note" id="verdict"' in html
    assert "3 things still to choose before this can be sent." in html
    assert "Lift this stop" not in html


def test_what_has_nothing_missing_shows_no_such_list() -> None:
    html = page_of(shop.draft())
    assert "to-choose-title" not in html
    assert 'class="strip verdict clear" id="verdict"' in html


def test_a_draft_without_prescription_asks_for_it_once_and_leads_to_its_field() -> None:
    order = shop.draft()
    save_draft(order=order, actor=shop.dispenser(), version=1, fields={"prescription": None})
    said = to_choose(page_of(stored(order)))
    assert "[#id_prescription] Choose the prescription." in said
    assert "sphere" not in said


def test_a_stop_beside_what_is_missing_keeps_its_colour_and_its_way_out() -> None:
    person_, frame = shop.patient(), shop.frame(a_mm=56, ed_mm=58)
    fitting = shop.fitting(person_, frame, pd_mm_right=24.0)
    html = page_of(shop.draft(patient=person_, frame=frame, fitting=fitting, frame_source=""))
    assert 'class="strip verdict stop" id="verdict"' in html
    said = r"1 thing still to choose, \d+ stops? to clear and \d+ questions? to confirm before this can"
    assert re.search(said, html)
    assert "Lift this stop" in html


@pytest.mark.parametrize("reason", ["The lab knows", "Agreed by phone with the lab, they choose"])
def test_no_reason_lifts_what_is_missing_by_page_service_or_api(reason: str) -> None:
    order = fresh_draft()
    assert "cannot be lifted" in text_of(settle(order, "job-complete", "right", reason=reason))
    with pytest.raises(NotLiftable, match="cannot be lifted"):
        lift(order=order, actor=person("ravi"), version=1, rule="job-complete", eye="both", reason=reason)
    asked = {"rule": "job-complete", "eye": "right", "reason": reason}
    answer = caller().post(reverse("api-order-settle", args=[order.public_id]), asked, headers=based_on(1))
    assert answer.status_code == 409
    assert "cannot be lifted" in answer.content.decode()
    assert stored(order).lifted == []
    assert stored(order).version == 1


def test_an_entry_that_got_on_the_record_all_the_same_does_not_let_it_be_sent() -> None:
    """As an older version may have left it, with the right hash of the facts."""
    order = fresh_draft()
    judged = judge(order)
    entries = [
        {"rule": rule, "eye": eye, "reason": "It knows", "by": "Dana", "facts": facts_hash(judged.document, parts)}
        for (rule, eye), parts in by_rule_and_eye(judged.report).items()
    ]
    Order.objects.filter(pk=order.pk).update(lifted=entries)
    assert judge(stored(order)).document.lifted is None
    with pytest.raises(NotReady, match="No lens is named"):
        send_order(order=stored(order), actor=shop.dispenser(), version=1)
    assert stored(order).state == "draft"
