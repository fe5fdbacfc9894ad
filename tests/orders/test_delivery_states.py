"""A delivery's states and what may be done with it: the table walked pair by pair."""

from __future__ import annotations

from typing import Any

import pytest

from orders.delivery_states import (
    OPEN,
    STATE_LABELS,
    STEP_LABELS,
    TRANSITIONS,
    WAITS_FOR_A_PERSON,
    DeliveryState,
    Step,
    got_to_the_lab,
    may,
)

# Step, the states it may be taken in, the state after it; once more in DEVELOPERS.md.
EXPECTED = {
    "claim": ("queued retry_later", "sending"),
    "succeed": ("sending unknown", "sent"),
    "postpone": ("sending unknown", "retry_later"),
    "give_up": ("sending unknown", "failed"),
    "lose": ("sending unknown", "unknown"),
    "expire": ("sending", "unknown"),
    "stop": ("sending unknown", "withheld"),
    "retry": ("failed unknown withheld retry_later", "queued"),
    "hold_back": ("queued retry_later", "withheld"),
    "settle": ("failed unknown withheld", "sent"),
    "carry": ("queued", "sent"),
    "call_off": ("queued retry_later", "withheld"),
    "reroute": ("queued retry_later failed unknown withheld", "withheld"),
}


@pytest.mark.parametrize("step", list(Step))
@pytest.mark.parametrize("state", list(DeliveryState))
def test_each_step_may_be_taken_where_it_should_and_nowhere_else(state: Any, step: Any) -> None:
    states, after = EXPECTED[step]
    assert may(state, step) == (state in states.split())
    assert TRANSITIONS.get((state, step)) == (after if state in states.split() else None)


def test_what_was_sent_stays_sent() -> None:
    assert not any(may(DeliveryState.SENT, step) for step in Step)


@pytest.mark.parametrize("step", list(Step))
def test_an_order_out_of_force_is_never_sent_again(step: Any) -> None:
    for state in DeliveryState:
        assert may(state, step, in_force=False) == (may(state, step) and step not in ("retry", "postpone", "reroute"))


def test_every_state_and_every_step_has_its_words() -> None:
    assert set(STATE_LABELS) == set(DeliveryState)
    assert set(STEP_LABELS) == set(Step)


def test_a_state_either_moves_by_itself_or_waits_for_a_person_or_is_settled() -> None:
    moves = {state for state in DeliveryState if may(state, Step.CLAIM) or may(state, Step.SUCCEED)}
    assert moves == {*OPEN, "sending", "unknown"}
    assert set(WAITS_FOR_A_PERSON) == {"failed", "unknown"}


@pytest.mark.parametrize("state", list(DeliveryState))
def test_a_lab_can_have_what_was_sent_and_what_nobody_knows_of(state: Any) -> None:
    assert got_to_the_lab([state]) == (state in ("sent", "unknown"))
    assert got_to_the_lab([state, "sent"])


def test_an_order_without_deliveries_was_passed_on_outside_the_program() -> None:
    assert got_to_the_lab([])
