"""What a mail says: first what decides whether lenses are made, then whose order it is; nothing of the patient."""

from __future__ import annotations

from typing import Any

import pytest

from orders.printing.content.mail import order_mail, reply_to
from tests.orders.orders_on_paper import order

HASH = "0123456789abcdef" * 4
REPLACES = {
    "revision": 1,
    "sha256": "0" * 64,
    "changes": [{"field": "fitting.right.pd_mm", "from": 31.5, "to": 31.0}, {"field": "supply", "from": "uncut"}],
}


@pytest.mark.parametrize(
    ("changes", "subject"),
    [
        ({}, "Lens order D-00042, revision 1, from Harbour Lane Opticians, account 4711"),
        (
            {"revision": 2, "replaces": REPLACES},
            "REPLACES revision 1 of D-00042, do not make both: lens order D-00042, revision 2, "
            "from Harbour Lane Opticians, account 4711",
        ),
        (
            {"extra": {"priority": "urgent"}},
            "Urgent lens order D-00042, revision 1, from Harbour Lane Opticians, account 4711",
        ),
        (
            {"purpose": "remake", "remake_of": "D-00007"},
            "Remake of D-00007: lens order D-00042, revision 1, from Harbour Lane Opticians, account 4711",
        ),
        (
            {"practice": {"name": "Two\r\nBcc: everybody@lab.invalid"}},
            "Lens order D-00042, revision 1, from Two Bcc: everybody@lab.invalid, no account number",
        ),
        (
            {"practice": {}, "number": None, "revision": None},
            "Lens order without a number, revision 1, from a practice without a name, no account number",
        ),
    ],
    ids=["new", "revision", "urgent", "remake", "line break in a name", "nothing known"],
)
def test_the_subject(changes: dict[str, Any], subject: str) -> None:
    assert order_mail(order(**changes), HASH).subject == subject


def test_the_text_of_a_new_order() -> None:
    extra = {"address": "12 Harbour Lane\n\nSaltwick", "phone": "01632 960123", "email": "desk@harbour-lane.invalid"}
    mail = order_mail(order(practice__extra=extra), HASH)
    assert reply_to(order(practice__extra=extra)) == "desk@harbour-lane.invalid"
    assert mail.body == (
        "Lens order D-00042, revision 1\n"
        "From Harbour Lane Opticians, account 4711\n"
        "Needed by 4 Dec 2026\n\n"
        "The attached PDF is the order; it holds the same as JSON (lens-order/1) inside, and again beside it.\n"
        f"SHA-256 of the JSON: {HASH}\n\n"
        "12 Harbour Lane\nSaltwick\n01632 960123\ndesk@harbour-lane.invalid\n"
    )
    alone = order_mail(order(practice__extra=extra), HASH, with_json=False).body
    assert "inside.\n" in alone
    assert "beside" not in alone


def test_the_text_of_a_revision_begins_with_what_it_replaces_and_what_is_different() -> None:
    body = order_mail(order(revision=2, replaces=REPLACES), HASH).body
    assert body.startswith(
        "REPLACES revision 1 of D-00042, do not make both.\n"
        "- Right PD: 31.5 mm → 31.0 mm\n"
        "- What the lab supplies: uncut lenses → –\n\n"
        "Lens order D-00042, revision 2\n"
    )


def test_a_practice_of_which_only_the_name_is_known_gets_no_empty_lines() -> None:
    alone = order(practice={"name": "Harbour Lane"})
    assert reply_to(alone) == ""
    assert order_mail(alone, HASH).body.endswith(f"SHA-256 of the JSON: {HASH}\n")


def test_nothing_is_said_of_the_patient() -> None:
    replaced = {"revision": 1, "changes": [{"field": "remarks", "from": "For Mrs L.", "to": "For Mrs L. soon"}]}
    patient = {"reference": "P-00017", "born_on": "1968-04-02", "driver": True}
    told = order(patient=patient, remarks="For Mrs L. soon", replaces=replaced)
    mail = order_mail(told, HASH)
    for private in ("P-00017", "1968", "driver", "Mrs L."):
        assert private not in mail.subject + mail.body
