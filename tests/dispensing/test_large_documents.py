"""A large bad document costs time in proportion to its size, and its answer stays short enough to read."""

from __future__ import annotations

import json

import pytest

from dispensing.documents import LONGEST_QUOTED, MOST_LISTED, InvalidDocument, NotJson, read_json
from orders.documents.lens_order import FORMAT, parse_order


def faults(text: str) -> list[str]:
    with pytest.raises(InvalidDocument) as refused:
        parse_order(text)
    return [str(fault) for fault in refused.value.faults]


def with_unknown_keys(number: int) -> str:
    return json.dumps({"format": FORMAT} | {f"key{place}": 1 for place in range(number)})


def test_one_key_repeated_after_two_hundred_thousand_others_is_found_in_one_pass() -> None:
    """Comparing each with each would take this test about twenty minutes."""
    keys = ",".join(f'"key{place}":1' for place in range(200_000))
    with pytest.raises(NotJson, match='the key "key199999" stands twice in one object'):
        read_json(f'{{{keys},"key199999":2}}')


def test_as_many_faults_as_can_be_read_are_listed_whole() -> None:
    found = faults(with_unknown_keys(MOST_LISTED))
    assert (len(found), found[-1]) == (MOST_LISTED, "$.key199: unknown key")


def test_of_more_faults_only_the_number_is_said() -> None:
    found = faults(with_unknown_keys(MOST_LISTED + 3))
    assert len(found) == MOST_LISTED + 1
    assert found[-2:] == ["$.key199: unknown key", "$: and 3 more faults"]


@pytest.mark.parametrize(
    "text",
    [
        json.dumps({"format": "x" * 5000}),
        json.dumps({"format": FORMAT, "x" * 5000: 1}),
        json.dumps({"format": FORMAT, "needed_on": "x" * 5000}),
        json.dumps({"format": FORMAT, "supply": "x" * 5000}),
        '{{"{}": 1, "{}": 2}}'.format("x" * 5000, "x" * 5000),
    ],
    ids=["format", "key", "day", "word", "repeated"],
)
def test_a_fault_repeats_only_the_beginning_of_a_long_text(text: str) -> None:
    (fault,) = faults(text)
    assert "x" * LONGEST_QUOTED + "…" in fault
    assert "x" * (LONGEST_QUOTED + 1) not in fault
