"""What share of pairs was made again: by group, mistakes apart, with counts; and why."""

from __future__ import annotations

import pytest

from orders.figures.remade import Made, causes, in_all, shares


def pair(number: int, lab: str = "Lantern", cause: str = "", whose: str = "", mount: str = "Full rim") -> Made:
    return Made(f"D-{number}", lab, "Daily", "Ravi Castellan", mount, cause, whose)


PAIRS = [
    *(pair(number) for number in range(8)),
    pair(8, cause="axis", whose="lab"),
    pair(9, cause="wear", whose="nobody"),
    *(pair(number, lab="Bright", mount="Drilled") for number in range(10, 14)),
    pair(14, lab="Bright", cause="axis", whose="lab"),
]


def test_each_group_has_its_count_and_mistakes_stand_apart_from_wear() -> None:
    bright, lantern = shares(PAIRS, "lab")
    assert (lantern.name, lantern.remade.found, lantern.remade.count, lantern.mistakes.found) == ("Lantern", 2, 10, 1)
    assert (bright.name, bright.remade.found, bright.remade.count, bright.mistakes.found) == ("Bright", 1, 5, 1)


@pytest.mark.parametrize(
    ("by", "names"),
    [("lab", ["Bright", "Lantern"]), ("mount", ["Drilled", "Full rim"]), ("dispenser", ["Ravi Castellan"])],
)
def test_pairs_are_sorted_by_what_is_asked(by: str, names: list[str]) -> None:
    assert [row.name for row in shares(PAIRS, by)] == names


def test_the_groups_of_a_kind_add_up_to_all() -> None:
    everything = in_all(PAIRS)
    for by in ("lab", "design", "dispenser", "mount"):
        assert sum(row.remade.found for row in shares(PAIRS, by)) == everything.remade.found == 3
        assert sum(row.remade.count for row in shares(PAIRS, by)) == everything.remade.count == 15


def test_causes_are_told_in_words_the_most_frequent_first() -> None:
    assert [(cause, whose, share.found, share.count) for cause, whose, share in causes(PAIRS)] == [
        ("Axis not as ordered", "The lab's", 2, 15),
        ("Coating or material gave way in use", "Nobody's", 1, 15),
    ]
