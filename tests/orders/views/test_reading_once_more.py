"""The page before sending: everything that will be sent is on it in words, and a question can be settled there."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from orders.models import Order
from orders.presentation.everything import IN_THE_NAME, SAID_ELSEWHERE, everything
from orders.services.freezing import to_be_sent
from orders.services.judging import judge
from orders.services.sending import send_order
from tests.orders import shop
from tests.orders.views.desk import stored, text_of
from tests.people import Answer, signed_in

pytestmark = pytest.mark.django_db


def review(order: Order) -> str:
    return unescape(text_of(signed_in("ravi").get(reverse("order-send", args=[order.public_id]))))


def answered(order: Order, address: str = "order-settle", **said: str) -> Answer:
    data = {"rule": "promise-date", "eye": "", "version": stored(order).version, "from": "review", **said}
    return signed_in("ravi").post(reverse(address, args=[order.public_id]), data)


def in_a_hurry() -> Order:
    return shop.draft(needed_on=timezone.localdate() + timedelta(days=1))


def keys_of(value: Any, path: str = "") -> set[str]:
    if path in SAID_ELSEWHERE or path.rpartition(".")[2] in IN_THE_NAME:
        return set()
    if isinstance(value, dict):
        return {key for name, part in value.items() for key in keys_of(part, f"{path}.{name}" if path else name)}
    return set() if value in (None, "", []) else {re.sub(r"\.(right|left)\b", "", path)}


def test_each_key_of_the_document_that_is_sent_is_on_the_page_with_its_value() -> None:
    order = shop.draft(remarks="Ring first\nthen edge", other_pair=True)
    judged = judge(order)
    sections = everything(to_be_sent(judged, sender=shop.dispenser()), judged.catalogue)
    document = send_order(order=order, actor=shop.dispenser(), version=order.version)
    sent = keys_of(json.loads(document.text))
    assert sum(len(section.rows) for section in sections) == len(sent) > 50
    told = {(section.title, row.label): row.cells for section in sections for row in section.rows}
    assert told["The prescription", "Sphere"] == ["−2.25", "−2.00"]
    assert told["The fitting", "PD"] == ["32 mm", "31.5 mm"]
    assert told["The fitting", "Pantoscopic tilt"] == ["8°"]
    assert told["The frame", "A"] == ["48 mm"]
    assert told["The lenses", "Design"] == ["Single vision", "Single vision"]
    assert told["The lenses", "Treatments"] == ["Anti-reflection", "Anti-reflection"]
    assert told["The order", "Remarks"] == ["Ring first\nthen edge"]
    assert told["The order", "Ordered by"] == ["Dana Okafor"]
    assert told["The order", "Other usable pair"] == ["yes"]


def test_a_lens_for_one_eye_leaves_the_other_s_place_empty() -> None:
    judged = judge(shop.draft(lenses={"right": shop.LENS, "left": None}, kept_lens={"material": "1.50 resin"}))
    told = {
        (section.title, row.label): row.cells
        for section in everything(to_be_sent(judged), judged.catalogue)
        for row in section.rows
    }
    assert told["The lenses", "Design"] == ["Single vision", "–"]
    assert told["The lens that stays", "Material of the lens that stays"] == ["1.50 resin"]


def test_the_page_shows_all_of_it_and_no_code() -> None:
    page = review(shop.draft())
    for row in (
        "Everything that is sent",
        "Quay Street Lab",
        "edged and fitted in the frame",
        "What the powers allow for",
    ):
        assert row in page
    listed = page[page.index('id="everything-title"') :]
    for code in ("m160", ">sv<", ">ar<", "single_vision", "full_rim", "as_prescribed", "lens-order/1"):
        assert code not in listed


def test_a_question_is_confirmed_there_and_the_order_can_then_be_sent() -> None:
    order, bystander = in_a_hurry(), shop.draft(patient=shop.patient("P-90077"))
    assert "disabled aria-describedby" in review(order)
    answer = answered(order)
    assert (answer.status_code, answer.headers["Location"]) == (302, reverse("order-send", args=[order.public_id]))
    assert [entry["rule"] for entry in stored(order).lifted] == ["promise-date"]
    after = review(order)
    assert "Confirmed by Ravi Castellan" in after
    assert "disabled aria-describedby" not in after
    answered(order, "order-unsettle")
    assert stored(order).lifted == []
    assert stored(bystander).version == 1


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"version": "7"}, "changed this order in the meantime"),
        ({"rule": "blank-size", "eye": "right", "reason": "x"}, "The check no longer says"),
    ],
)
def test_what_cannot_be_settled_there_says_why_on_the_same_page(said: dict[str, str], why: str) -> None:
    order = in_a_hurry()
    data = {"rule": "promise-date", "eye": "", "version": str(order.version), "from": "review", **said}
    page = signed_in("ravi").post(reverse("order-settle", args=[order.public_id]), data, follow=True)
    assert page.redirect_chain == [(reverse("order-send", args=[order.public_id]), 302)]
    assert why in unescape(page.content.decode())
    assert stored(order).lifted == []
