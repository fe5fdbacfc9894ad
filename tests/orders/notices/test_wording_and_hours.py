"""Wordings with placeholders that nothing can be smuggled through, and hours at which nobody is told anything."""

from __future__ import annotations

from datetime import datetime, time
from zoneinfo import ZoneInfo

import pytest

from orders.notices.quiet import Quiet
from orders.notices.wording import LONGEST, PARTS, USUAL, CannotFill, Kind, faults, filled, text_parts

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("part", PARTS)
def test_the_words_that_come_with_the_program_have_no_fault(kind: Kind, part: str) -> None:
    assert faults(USUAL[kind][part], kind, part) == []


@pytest.mark.parametrize(
    ("wording", "says"),
    [
        ("", "Write what is to be said."),
        ("   ", "Write what is to be said."),
        ("Dear {name}", "There is no placeholder {name} here. There are: {given_name}, {full_name}, {practice}, "
                        "{practice_phone}, {order}."),
        ("For {new_day}", "There is no placeholder {new_day} here."),
        ("{order.patient.notes}", "There is no placeholder {order.patient.notes} here."),
        ("{order!r:>99}", "There is no placeholder {order!r:>99} here."),
        ("{}", "There is no placeholder {} here."),
        ("Ready {order", "A brace stands alone."),
        ("Ready }", "A brace stands alone."),
        ("{{order}}", "A brace stands alone."),
        ("Your −2.25 is ready", "“−2.25” looks like a power."),
        ("Your +1,50 is ready", "“+1,50” looks like a power."),
        ("x" * (LONGEST["text"] + 1), "It has 481 characters; at most 480 are possible."),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_wording_is_said(wording: str, says: str) -> None:
    assert any(fault.startswith(says) for fault in faults(wording, Kind.READY, "text"))


def test_what_is_right_is_not_called_wrong() -> None:
    for wording in ("For {order}", "Open 9.30-17.00, call 01632-960111", "x" * LONGEST["text"], "% if %"):
        assert faults(wording, Kind.READY, "text") == [], wording
    assert faults("For {new_day}", Kind.DELAYED, "text") == []


def test_a_value_is_put_in_once_in_one_line_and_never_read_again() -> None:
    values = {"full_name": "{order}\r\nBcc: x@y.invalid", "order": "D-1"}
    assert filled("{full_name}: {order}, {order}", values) == "{order} Bcc: x@y.invalid: D-1, D-1"
    with pytest.raises(CannotFill, match=r"There is nothing to put in for .new_day.: the day that"):
        filled("{new_day}", {"new_day": " "})


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("a" * 160, 1),
        ("a" * 161, 2),
        ("a" * 306, 2),
        ("a" * 307, 3),
        ("ш" * 70, 1),
        ("ш" * 71, 2),
        ("😀" * 35, 1),
        ("😀" * 36, 2),
    ],
)
def test_a_text_counts_as_so_many_messages(text: str, parts: int) -> None:
    assert text_parts(text) == parts


NIGHT = Quiet(time(20), time(8), frozenset({6}))
NOON = Quiet(time(12), time(13))


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """In November 2026; the 29th is a Sunday."""
    return datetime(2026, 11, day, hour, minute, tzinfo=LONDON)


@pytest.mark.parametrize(
    ("quiet", "now", "holds", "over"),
    [
        (NIGHT, at(27, 19, 59), False, at(27, 19, 59)),
        (NIGHT, at(27, 20), True, at(28, 8)),
        (NIGHT, at(28, 7, 59), True, at(28, 8)),
        (NIGHT, at(28, 8), False, at(28, 8)),
        (NIGHT, at(28, 22), True, at(30, 8)),
        (NIGHT, at(29, 12), True, at(30, 8)),
        (NOON, at(27, 11, 59), False, at(27, 11, 59)),
        (NOON, at(27, 12, 30), True, at(27, 13)),
        (Quiet(time(8), time(8)), at(27, 8), False, at(27, 8)),
        (Quiet(time(8), time(8), frozenset({4})), at(27, 8), True, at(28, 0)),
        (Quiet(time(8), time(8), frozenset(range(7))), at(27, 8), True, datetime(2026, 12, 4, 8, tzinfo=LONDON)),
    ],
)
def test_nobody_is_told_anything_at_quiet_hours_and_days(
    quiet: Quiet, now: datetime, holds: bool, over: datetime
) -> None:
    assert (quiet.holds(now), quiet.over(now)) == (holds, over)


def test_the_quiet_ends_by_the_clock_where_the_practice_is_when_the_clocks_change() -> None:
    before = datetime(2026, 10, 24, 21, tzinfo=LONDON)
    over = Quiet(time(20), time(8)).over(before)
    assert (over.hour, over.utcoffset()) == (8, datetime(2026, 10, 25, 8, tzinfo=LONDON).utcoffset())
