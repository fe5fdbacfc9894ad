"""The three tables of states in DEVELOPERS.md agree with the code."""

from __future__ import annotations

from pathlib import Path

from orders.delivery_states import TRANSITIONS as DELIVERY_TRANSITIONS
from orders.delivery_states import DeliveryState, Step
from orders.progress import MAY_FOLLOW, Place, may_follow
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
