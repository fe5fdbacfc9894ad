"""The pages of the standards for finished pairs: every limit with its source, and a practice's own stricter ones."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.urls import reverse

from dispensing.models import AuditEvent, Practice, PracticeRule
from dispensing.trade.facts import STANDARDS
from dispensing.trade.tolerances import FROM_MEMORY, tolerance_set
from orders.queries import tolerances_in_force
from tests.orders.views.desk import text_of
from tests.people import Answer, signed_in

pytestmark = pytest.mark.django_db
ISO, ANSI = "iso-21987-2017", "ansi-z80.1-2015"


def page(standard: str, who: str = "dora") -> str:
    return text_of(signed_in(who).get(reverse("standard-page", args=[standard])))


def tighten(limit: str, value: Any, standard: str = ANSI, who: str = "ines", reason: str = "We see it") -> Answer:
    data = {"limit": limit, "value": value, "reason": reason}
    return signed_in(who).post(reverse("standard-tighten", args=[standard]), data, follow=True)


@pytest.mark.parametrize("standard", STANDARDS)
def test_every_limit_stands_there_with_its_source_and_is_marked_if_nobody_confirmed_it(
    standard: str,
) -> None:
    html, limits = page(standard), tolerance_set(standard)
    for row in limits.rows:
        found = re.search(rf'data-label="Where">{re.escape(row.limit.label)}</th>(.*?)</tr>', html, re.DOTALL)
        assert found, row.limit.label
        assert f">{row.written}</strong>" in found[1]
        assert (FROM_MEMORY.capitalize() in found[1]) is not row.is_confirmed
    assert f"Finished pairs by {limits.title}" in html


def test_a_manager_sets_a_limit_lower_and_takes_it_back() -> None:
    html = text_of(tighten("axis_to_15_deg", "2"))
    assert "instead of 3°: We see it" in html
    assert tolerances_in_force(ANSI).named("axis_to_15_deg").value == 2.0
    assert tolerances_in_force(ISO).named("axis_to_15_deg").value == 4.0, "The other standard stays."
    assert AuditEvent.objects.filter(verb="rule.tighten").count() == 1
    restored = signed_in("ines").post(reverse("standard-restore", args=[ANSI]), {"limit": "axis_to_15_deg"})
    assert restored.status_code == 302
    assert tolerances_in_force(ANSI).named("axis_to_15_deg").value == 3.0


@pytest.mark.parametrize(
    ("limit", "value", "said"),
    [
        ("axis_to_15_deg", "3", "3° is not stricter than the trade's 3°"),
        ("axis_to_15_deg", "5", "5° is not stricter than the trade's 3°"),
        ("axis_to_15_deg", "1", "A reading itself may be off by 1°"),
        ("add_to_4_d", "0.06", "A reading itself may be off by 0.06 D"),
        ("height_cross_mm", "0.5", "A reading itself may be off by 0.5 mm"),
        ("axis_to_15_deg", "-2", "not stricter"),
        ("no-such-limit", "2", "Select a valid choice"),
    ],
)
def test_a_looser_limit_and_one_that_no_reading_could_meet_are_refused_beside_the_field(
    limit: str, value: str, said: str
) -> None:
    assert said.replace("'", "&#x27;") in text_of(tighten(limit, value)).replace("'", "&#x27;")
    assert not PracticeRule.objects.exists()


def test_only_a_manager_is_offered_the_form_and_an_unknown_standard_is_not_there() -> None:
    assert "Set this limit" in page(ANSI, "ines")
    assert "Set this limit" not in page(ANSI, "ravi")
    assert signed_in("ravi").get("/standards/house-rules/").status_code == 404


def test_the_practice_chooses_standard_and_second_readers_in_words_on_the_trail() -> None:
    practice = Practice.current()
    client = signed_in("ines")
    form = client.get(reverse("practice-settings")).context["form"]
    data = {name: form[name].value() or "" for name in form.fields if name != "second_reader_for"}
    answer = client.post(
        reverse("practice-settings"),
        {**data, "name": "X", "version": practice.version, "second_reader_for": ["prism", "strong"]},
    )
    assert answer.status_code == 302
    assert Practice.current().second_reader_for == ["prism", "strong"]
    changes = AuditEvent.objects.get(verb="practice.change").changes
    assert changes["second_reader_for"] == [None, "Prescribed prism, Strong powers"]
    refused = client.post(reverse("practice-settings"), {**data, "name": "X", "second_reader_for": ["twins"]})
    assert "Select a valid choice" in text_of(refused)
