"""Whether the wearer drives, and how well they see, leaves the practice only if the check rests on it."""

from __future__ import annotations

from typing import Any

import pytest

from orders.documents.canonical import plain
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import OrderReport
from orders.rules import check
from orders.rules.private_facts import no_more_than_needed
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, LENS_NAMES, order

DARK = {"design": "sv", "material": "m160", "blank_mm": 65, "treatments": ["ar"]}


def judge(document: LensOrder) -> OrderReport:
    return check(document, CATALOGUE_DOCUMENT)


def sent(**changes: Any) -> LensOrder:
    written = order(**changes)
    return no_more_than_needed(written, judge(written), judge)


def tinted(colour: str) -> dict[str, Any]:
    lens = {**DARK, "colour": colour, "extra": LENS_NAMES}
    return {"lenses__right": lens, "lenses__left": lens}


@pytest.mark.parametrize("driver", [True, False])
def test_whether_the_wearer_drives_is_left_out_where_no_rule_rests_on_it(driver: bool) -> None:
    less = sent(patient__driver=driver)
    assert (less.patient.driver, less.patient.extra) == (None, {"kept_back": ["driver"]})
    assert less.patient.born_on is not None, "no other fact goes with it"
    assert judge(less) == judge(order(patient__driver=driver))


@pytest.mark.parametrize("kept", [["acuity"], "driver", None], ids=str)
def test_what_was_not_asked_is_still_asked_for_unless_it_is_said_to_be_kept_back(kept: Any) -> None:
    patient = {"reference": "P-00017", "born_on": "1968-04-02", "extra": {"kept_back": kept}}
    assert [part.rule for part in judge(order(patient=patient)).findings] == ["driving-asked"]


def test_whether_the_wearer_drives_stays_with_a_tint_that_is_too_dark_for_the_night() -> None:
    assert sent(patient__driver=True, **tinted("brown 40 %")).patient.driver is True


def test_an_acuity_is_left_out_where_no_rule_rests_on_it_and_stays_where_an_eye_sees_little() -> None:
    good = sent(prescription__right__acuity="6/6", prescription__left__acuity="6/5")
    assert (good.prescription.right.acuity, good.prescription.left.acuity) == (None, None)
    poor = sent(prescription__right__acuity="6/6", prescription__left__acuity="6/120")
    assert poor.prescription.left.acuity == "6/120"


def test_what_was_known_before_is_left_out_for_itself() -> None:
    earlier = {"tested_on": "2024-10-30", "use": "distance", "right": {"sphere": -3.25, "acuity": "6/9"}}
    worn = {"read_on": "2026-11-20", "use": "distance", "left": {"sphere": -2.75, "acuity": "6/9"}}
    less = sent(previous_prescription=earlier, patient__present_spectacles=worn, prescription__left__acuity="6/120")
    assert less.previous_prescription is not None
    assert less.patient.present_spectacles is not None
    assert less.previous_prescription.right.acuity is None
    assert less.previous_prescription.right.sphere == -3.25
    assert less.patient.present_spectacles.left.acuity is None
    assert less.prescription.left.acuity == "6/120"


def test_each_fact_is_tried_after_the_ones_left_out_before_it() -> None:
    """Together two facts may be needed of which each alone is not."""

    def either(document: LensOrder) -> OrderReport:
        known = document.patient.driver is not None or document.prescription.right.acuity is not None
        return OrderReport(verdict="note" if known else "clear")

    written = order(patient__driver=True, prescription__right__acuity="6/6")
    less = no_more_than_needed(written, either(written), either)
    assert (less.patient.driver, less.prescription.right.acuity) == (None, "6/6")


@pytest.mark.parametrize("known", [True, False])
def test_an_order_is_checked_once_more_without_its_private_facts_and_not_at_all_if_it_has_none(known: bool) -> None:
    asked: list[LensOrder] = []

    def counted(document: LensOrder) -> OrderReport:
        asked.append(document)
        return judge(document)

    written = order(patient__driver=True, prescription__left__acuity="6/6") if known else order(patient__driver=None)
    less = no_more_than_needed(written, judge(written), counted)
    assert len(asked) == (1 if known else 0)
    assert known or plain(less) == plain(written)
