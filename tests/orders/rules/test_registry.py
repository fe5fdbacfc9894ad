"""The list of rules: complete, explained, with ids that are never mistaken for one another."""

from __future__ import annotations

import re

import pytest

from dispensing.trade.facts import GRADES
from orders.rules.registry import Family, Rule, all_rules, rule_by_id
from orders.rules.undecidable import UNDECIDABLE

OF_THE_TRADE = 117
"""The trade's list ends here; the numbers after it are rules that came later."""

FIXED_IDS = {
    1: "prescription-in-date",
    4: "protected-patient",
    9: "power-step-and-range",
    10: "cylinder-axis-pair",
    12: "cylinder-sign-mixed",
    13: "sign-change",
    14: "decimal-slip",
    15: "vertex-effect",
    16: "axis-slip",
    17: "eyes-exchanged",
    18: "eyes-identical",
    19: "large-change",
    20: "add-presence",
    21: "add-range",
    22: "add-for-age",
    23: "adds-unequal",
    26: "prism-sense",
    27: "prism-size",
    30: "monocular-pd-needed",
    31: "pd-sum",
    32: "pd-range",
    33: "pd-asymmetry",
    35: "near-pd",
    36: "height-needed",
    37: "height-inside-frame",
    38: "heights-differ",
    39: "two-readings",
    40: "measured-in-this-frame",
    42: "vertex-band",
    43: "pantoscopic-band",
    44: "face-form-band",
    45: "as-worn-set",
    48: "box-complete",
    49: "box-sane",
    50: "shape-agrees",
    51: "decentration",
    52: "blank-size",
    53: "minimum-height",
    54: "corridor-fits",
    55: "reading-area-cut",
    56: "clearance-above",
    57: "frame-depth",
    67: "edge-thick",
    68: "edge-minimum",
    69: "drill-material",
    70: "centre-minimum",
    72: "impact-need",
    74: "low-abbe",
    76: "pair-match",
    78: "wrap-base",
    80: "wrap-compensation",
    82: "in-range",
    86: "vertical-imbalance",
    88: "image-size",
    93: "night-driving",
    94: "category-four",
    97: "treatments-together",
    111: "promise-date",
    112: "duplicate-order",
}


def test_every_rule_of_the_trade_is_checked_or_said_to_be_beyond_an_orders_data() -> None:
    checked, said = {rule.number for rule in all_rules()}, {entry.number for entry in UNDECIDABLE}

    assert checked | said >= set(range(1, OF_THE_TRADE + 1))
    assert checked & said == set()


def test_the_ids_that_others_rely_on_stay_as_they_are() -> None:
    assert {rule.number: rule.id for rule in all_rules() if rule.number in FIXED_IDS} == FIXED_IDS


def test_a_rule_that_covers_another_exists() -> None:
    assert all(entry.covered_by is None or rule_by_id(entry.covered_by) for entry in UNDECIDABLE)
    assert all(len(entry.reason) > 30 for entry in UNDECIDABLE)


@pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)
def test_a_rule_explains_itself(rule: Rule) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.id)
    assert rule.family
    assert 10 < len(rule.title) < 80
    assert rule.why.endswith(".")
    assert len(rule.origin.source) > 8
    assert rule.origin.grade in GRADES


def test_two_rules_never_share_an_id() -> None:
    with pytest.raises(ValueError, match="Two rules are called blank-size"):
        Family("test").rule(id="blank-size", number=999, level="stop", title="t", why="w")


def test_levels_go_from_the_worst_down() -> None:
    with pytest.raises(ValueError, match="from the worst down"):
        Family("test").rule(id="not-a-rule", number=999, level=("ask", "stop"), title="t", why="w")
