"""The tables in DEVELOPERS.md that the code can make itself agree with it: states, and the list of order rules."""

from __future__ import annotations

from pathlib import Path

from orders.delivery_states import TRANSITIONS as DELIVERY_TRANSITIONS
from orders.delivery_states import DeliveryState, Step
from orders.progress import MAY_FOLLOW, Place, may_follow
from orders.rules import trade_list
from orders.rules.undecidable import UNDECIDABLE
from orders.states import TRANSITIONS, Action, OrderState

DEVELOPERS = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"


def table(heading: str) -> list[list[str]]:
    """The rows of the table that opens with this heading, cell by cell."""
    lines = DEVELOPERS.read_text(encoding="utf-8").splitlines()
    start = lines.index(heading) + 2
    rows = []
    for line in lines[start:]:
        if not line.startswith("|"):
            break
        rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return rows


def test_the_states_of_an_order() -> None:
    actions = [Action.SEND, Action.CANCEL, Action.SUPERSEDE]
    assert table("| An order that is | send | cancel | supersede |") == [
        [state, *(TRANSITIONS.get((state, action), "–") for action in actions)] for state in OrderState
    ]


def test_what_may_happen_to_an_order() -> None:
    expected = {place or "nothing yet": kinds for place, kinds in MAY_FOLLOW.items()}
    expected["sent, did not reach the lab"] = may_follow(Place.SENT, with_lab=False)
    rows = table("| An order at | may next be |")
    assert {place: kinds.split(", ") for place, kinds in rows} == {
        place: list(kinds) for place, kinds in expected.items()
    }
    assert len(rows) == len(expected)


def test_the_steps_of_a_delivery() -> None:
    rows = table("| Step | From | To |")
    found = {(state, step): after for step, states, after in rows for state in states.split(", ")}
    assert found == DELIVERY_TRANSITIONS
    assert [row[0] for row in rows] == list(Step)
    assert {after for _, _, after in rows} == set(DeliveryState)


def test_the_list_of_order_rules() -> None:
    """Made anew by ``python -m orders.rules.trade_list``."""
    head, rule, *rows = trade_list.lines()
    assert table(head) == [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]
    assert set(rule) == {"|", "-"}
    assert [int(row.split("|")[1]) for row in rows] == list(range(1, 118))


def test_a_rule_that_must_hold_stops_or_the_list_says_why_not() -> None:
    undecided = {entry.number for entry in UNDECIDABLE}
    milder = [
        row.number
        for row in trade_list.WRITTEN
        if row.weight == "must"
        and row.number not in undecided
        and all(rule.level != "stop" for rule in trade_list.deciding(row.number))
    ]
    assert milder == [24, 95]
    assert all(row.less for row in trade_list.WRITTEN if row.number in milder)


def test_a_rule_that_should_hold_asks_or_the_list_says_why_not() -> None:
    noted = [
        row.number
        for row in trade_list.WRITTEN
        if trade_list.deciding(row.number) and all(rule.level == "note" for rule in trade_list.deciding(row.number))
    ]
    assert noted == [99]
    assert all(trade_list.WRITTEN[number - 1].less for number in noted)


def test_what_is_left_out_is_said_of_rules_that_are_decided() -> None:
    undecided = {entry.number for entry in UNDECIDABLE}
    assert not [row.number for row in trade_list.WRITTEN if row.less and row.number in undecided]
    assert all(row.less.endswith(".") for row in trade_list.WRITTEN if row.less)
