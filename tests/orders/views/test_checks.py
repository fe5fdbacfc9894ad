"""The page "What we check": all rules, made from the registry, and the practice's own limits set by managers alone."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from dispensing.models import PracticeRule
from orders.presentation.checks import examples_shown
from orders.rules.registry import all_rules
from orders.rules.undecidable import UNDECIDABLE
from tests.people import Answer, signed_in

RULES = all_rules()


def page(rule: str | None = None, who: str = "dora") -> Answer:
    address = reverse("check-page", args=[rule]) if rule else reverse("check-list")
    return signed_in(who).get(address)


def post(step: str, rule: str, who: str = "ines", **posted: Any) -> Answer:
    return signed_in(who).post(reverse(f"check-{step}", args=[rule]), posted, follow=True)


def text_of(response: Answer) -> str:
    return " ".join(response.content.decode().split())


@pytest.mark.django_db
def test_the_list_names_every_rule_with_reason_and_source_and_what_no_data_decides() -> None:
    text = page().content.decode()
    for rule in RULES:
        assert f'<tr id="{rule.id}">' in text
        assert reverse("check-page", args=[rule.id]) in text
    assert len(RULES) + len({row.number for row in UNDECIDABLE}) >= 117
    for row in UNDECIDABLE:
        assert row.title in text


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_rule_is_explained_by_an_order_that_trips_it_at_each_of_its_levels(rule: Any) -> None:
    shown = examples_shown(rule.id, ("R", "L"))
    assert {finding.level for example in shown for finding in example.findings} >= set(rule.levels)
    for example in shown:
        assert (
            example.drawing.startswith("<svg") or example.order.frame.a_mm is None or example.order.frame.b_mm is None
        )


@pytest.mark.django_db
def test_a_rules_page_draws_the_order_and_says_what_the_check_says() -> None:
    response = page("blank-size")
    text = text_of(response)
    assert "<svg" in text
    assert "The lens cuts out of the blank" in text
    assert "needs a blank of" in text
    assert "Practice" not in text.split("<footer")[1]


@pytest.mark.django_db
def test_there_is_no_page_of_a_rule_that_does_not_exist() -> None:
    assert page("moon-phase").status_code == 404


@pytest.mark.django_db
def test_every_page_links_to_what_we_check() -> None:
    assert f'href="{reverse("check-list")}"' in signed_in("dora").get(reverse("home")).content.decode()


@pytest.mark.django_db
def test_a_manager_sets_a_stricter_limit_and_all_see_it_with_its_reason() -> None:
    after = post("tighten", "decentration", limit="in_max_mm", value="3", reason="Two pairs came back")
    assert "From now on this practice checks by 3 here." in text_of(after)
    text = text_of(page("decentration"))
    assert "<strong>3 mm</strong>" in text
    assert "instead of 4 mm: Two pairs came back (Ines Holloway," in text
    assert '<strong>3 mm</strong> <span class="soft">(ours)</span>' in text_of(page())
    assert "Back to 4 mm" not in text


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("posted", "said"),
    [
        ({"limit": "in_max_mm", "value": "5", "reason": "x"}, "5 mm is not stricter than the trade's 4 mm"),
        ({"limit": "in_max_mm", "value": "three", "reason": "x"}, "Enter a number"),
        ({"limit": "in_max_mm", "value": "3", "reason": " "}, "This field is required"),
        ({"limit": "width_mm", "value": "3", "reason": "x"}, "not one of the available choices"),
    ],
)
def test_what_cannot_be_set_is_said_beside_its_field(posted: dict[str, Any], said: str) -> None:
    text = text_of(post("tighten", "decentration", **posted))
    assert said.replace("'", "&#x27;") in text
    assert not PracticeRule.objects.exists()


@pytest.mark.django_db
def test_a_question_is_left_out_and_asked_again() -> None:
    post("silence", "decentration", reason="Our lab edges these daily")
    assert "Not asked here" in text_of(page())
    text = text_of(page("decentration", "ines"))
    assert "Our lab edges these daily (Ines Holloway," in text
    post("restore", "decentration")
    assert "Not asked here" not in text_of(page())


@pytest.mark.django_db
def test_a_rule_that_only_stops_has_no_way_to_be_silenced() -> None:
    assert "Do not ask here" not in text_of(page("blank-size", "ines"))
    after = post("silence", "blank-size", reason="x")
    assert "a stop cannot be silenced" in text_of(after)
    assert not PracticeRule.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize("who", ["dora", "ravi"])
@pytest.mark.parametrize("step", ["tighten", "silence", "restore"])
def test_only_managers_decide(who: str, step: str) -> None:
    assert post(step, "decentration", who, limit="in_max_mm", value="3", reason="x").status_code == 403
    assert "Set this limit" not in text_of(page("decentration", who))


@pytest.mark.django_db
def test_a_rule_that_goes_by_a_dated_table_shows_it_with_source_and_date() -> None:
    text = text_of(page("prescription-in-date"))
    assert '<th scope="row">US-NH</th><td>all</td><td>2 years</td><td>Stop</td>' in text
    assert "US-NH: New Hampshire RSA 327-A; reviewed 1 November 2026." in text
    assert '<th scope="row">45 to 49</th><td>+1.00 to +1.50</td>' in text_of(page("add-for-age"))
    assert '<th scope="row">1.62</th><td>4.00 D</td>' in text_of(page("index-for-power"))
    assert "By country and state" in text_of(page())


@pytest.mark.django_db
def test_a_figure_is_shown_with_its_words_its_source_and_its_date() -> None:
    text = text_of(page("decentration"))
    assert "Most decentration in" in text
    assert "<dt>Source</dt><dd>Frame centre distance against PD (common practice)</dd>" in text
    assert "<dt>Kind of source</dt><dd>Common practice</dd>" in text
    assert "<dt>Last reviewed</dt><dd>1 November 2026</dd>" in text


@pytest.mark.django_db
def test_the_page_says_what_a_rule_leaves_out_and_which_words_it_hears() -> None:
    left_out = "<dt>What it leaves out</dt><dd>A note, because many wearers have sun lenses without it"
    assert left_out in text_of(page("sun-lens-reflections"))
    assert "What it leaves out" not in text_of(page("pd-sum"))
    assert '<th scope="row">New double vision</th><td>New double vision belongs' in text_of(page("doctor-first"))
    assert '<th scope="row">Babies</th><td>34 mm to 52 mm</td>' in text_of(page("pd-range"))
