"""What a mail that brings an order to a lab says, in its subject and text. Pure.

Everybody on the way may read a mail, so nothing is said of the patient. The first words are those that decide what a
technician does: a revision that replaces another pair must not be made beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from dispensing.choice_words import label
from orders.documents import words
from orders.documents.lens_order import LensOrder
from orders.documents.replaced import replaced


@dataclass(frozen=True)
class OrderMail:
    subject: str
    body: str


def order_mail(order: LensOrder, sha256: str, *, with_json: bool = True) -> OrderMail:
    """The mail for an order with this hash. ``with_json``: whether its JSON is attached beside the PDF."""
    paragraphs = ("\n".join(part) for part in _paragraphs(order, sha256, with_json) if part)
    return OrderMail(_subject(order), "\n\n".join(paragraphs) + "\n")


def reply_to(order: LensOrder) -> str:
    """The practice's own address; empty if it has none."""
    address = words.text_of(order.practice, "email", "")
    return "" if address == words.MISSING else address


def from_whom(order: LensOrder) -> str:
    """``Harbour Lane Opticians, account 4711``: what a lab files an order by."""
    practice = order.practice
    account = f"account {practice.account}" if practice.account else "no account number"
    return _one_line(f"{practice.name or 'a practice without a name'}, {account}")


def which_order(order: LensOrder) -> str:
    """``lens order D-00013, revision 2``."""
    kind = "urgent lens order" if words.is_urgent(order) else "lens order"
    return _one_line(f"{kind} {order.number or 'without a number'}, revision {order.revision or 1}")


def _one_line(text: str) -> str:
    # A line break in a subject would begin another header.
    return " ".join(text.split())


def _subject(order: LensOrder) -> str:
    told = f"{which_order(order)}, from {from_whom(order)}"
    first = _first_words(order)
    return _one_line(f"{first}: {told}") if first else label(told)


def _first_words(order: LensOrder) -> str:
    old = replaced(order)
    if old is not None:
        return old.warning
    if order.purpose == "remake":
        return f"Remake of {order.remake_of or 'an order not named'}"
    return ""


def _paragraphs(order: LensOrder, sha256: str, with_json: bool) -> Iterator[list[str]]:
    old = replaced(order)
    if old is not None:
        yield [f"{old.warning}.", *(f"- {line}" for line in old.changes)]
    yield [
        label(which_order(order)),
        f"From {from_whom(order)}",
        f"Needed by {words.day(order.needed_on)}",
    ]
    yield list(_attached(sha256, with_json))
    yield list(_reached(order))


def _attached(sha256: str, with_json: bool) -> Iterator[str]:
    beside = ", and again beside it" if with_json else ""
    yield f"The attached PDF is the order; it holds the same as JSON (lens-order/1) inside{beside}."
    yield f"SHA-256 of the JSON: {sha256}"


def _reached(order: LensOrder) -> Iterator[str]:
    """How to reach the practice: its address may matter as much as its number when a frame is missing."""
    address = words.text_of(order.practice, "address", "").splitlines()
    reach = [words.text_of(order.practice, key) for key in ("phone", "email")]
    yield from (line.strip() for line in (*address, *reach) if line.strip(f" {words.MISSING}"))
