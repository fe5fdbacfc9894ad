"""The order desk by keys alone, at any speed and while answers are on their way: what was typed is what is ordered."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, Route, expect

from orders.demo.people import load_labs, read
from orders.models import Lab, Order
from tests.browser import sign_in
from tests.orders import shop
from tests.orders.views.test_the_desk_in_the_browser import at_the_desk, count_savings, held_back, saved, stored
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SPEEDS_MS = (30, 80, 250)
LAB, DESIGN, MATERIAL = "Lantern Yard Lenses", "Progressive, daily", "Plastic 1.67"


@pytest.fixture
def draft() -> Order:
    """A draft without lab and lenses, for which two labs and their whole catalogues can be chosen from."""
    load_labs(read("practice.json"), person("ines"))
    return shop.draft(lab=None, lenses={}, frame_source="", needed_on=None)


def chosen(page: Page, field: str) -> str:
    return str(page.locator(f"#id_{field}").evaluate("list => list.selectedOptions[0].text"))


def to(page: Page, field: str) -> None:
    """On by tabs to this field, through whatever lies before it."""
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == f"id_{field}":
            return
    raise AssertionError(f"No tab led to {field}.")


@pytest.mark.parametrize("between_ms", SPEEDS_MS)
def test_what_is_typed_through_the_whole_desk_is_ordered_at_any_speed(
    page: Page, draft: Order, between_ms: float
) -> None:
    sign_in(page)
    page.goto(reverse("order-page", args=[draft.public_id]))
    day = timezone.localdate() + timedelta(days=21)

    page.locator("#id_lab").focus()
    page.keyboard.type(LAB, delay=between_ms)
    to(page, "right-design")
    page.keyboard.type(DESIGN, delay=between_ms)
    page.keyboard.press("Tab")
    page.keyboard.type(MATERIAL, delay=between_ms)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "id_right-corridor_mm"
    page.keyboard.type("14", delay=between_ms)
    to(page, "needed_on")
    page.keyboard.type(f"{day:%d.%m.%Y}", delay=between_ms)
    to(page, "frame_source")
    page.keyboard.type("Enclosed", delay=between_ms)
    page.keyboard.press("Control+s")

    for field, text in (("lab", LAB), ("right-design", DESIGN), ("right-material", MATERIAL)):
        assert chosen(page, field) == text
    assert page.evaluate("document.activeElement.id") == "id_frame_source"
    expect(page.locator("#part-verdict")).to_contain_text("Saved")
    page.get_by_role("link", name="Compare lenses").click()
    expect(page.locator("h1")).to_have_text("Compare lenses")
    order = stored(draft)
    assert order.lab == Lab.objects.get(name=LAB)
    assert order.lenses["right"] == {
        "design": "prog-daily",
        "material": "m167",
        "corridor_mm": 14.0,
        "treatments": [],
    }
    assert order.lenses["left"] == order.lenses["right"]
    assert (order.needed_on, order.frame_source) == (day, "enclosed")


def test_letters_typed_while_an_answer_is_on_its_way_count(page: Page, draft: Order) -> None:
    sign_in(page)
    page.goto(reverse("order-page", args=[draft.public_id]))
    page.locator("#id_lab").select_option(label=LAB)
    saved(page, 2)
    let_go = held_back(page)
    page.locator("#id_right-design").select_option("sv-made")
    page.locator("#id_right-material").focus()
    page.keyboard.type("Plastic ")
    let_go()
    # At once, for a browser forgets letters after a second: the answer comes between them, or after the last.
    page.keyboard.type("1.67")
    assert chosen(page, "right-material") == MATERIAL
    expect(page.locator("#id_right-material")).to_be_focused()
    saved(page, 3)
    assert chosen(page, "right-material") == MATERIAL
    page.keyboard.press("Tab")
    saved(page, 4)
    assert stored(draft).lenses["right"]["material"] == "m167"


def test_a_lens_passed_while_another_is_typed_is_not_saved_and_takes_nothing_away(page: Page) -> None:
    lens = {"design": "prog", "material": "m160", "corridor_mm": 14.0, "treatments": ["ar"]}
    order = shop.draft(lenses={"right": lens, "left": lens})
    page.clock.install()
    at_the_desk(page, order)
    savings = count_savings(page)
    page.locator("#id_right-design").focus()
    page.keyboard.press("ArrowUp")
    assert chosen(page, "right-design") == "Single vision"
    expect(page.locator("#lens-right .corridor")).to_be_hidden()
    page.keyboard.press("ArrowDown")
    expect(page.locator("#id_right-corridor_mm")).to_have_value("14")
    page.keyboard.press("Tab")
    assert savings() == 0
    assert stored(order).version == 1


def test_what_the_design_does_not_come_in_stays_in_the_list_and_says_why(page: Page, draft: Order) -> None:
    sign_in(page)
    page.goto(reverse("order-page", args=[draft.public_id]))
    page.locator("#id_lab").select_option(label=LAB)
    page.locator("#id_right-material").select_option(label="Crown glass 1.52")
    page.locator("#id_right-design").select_option(label=DESIGN)
    kept = page.locator("#id_right-material option", has_text="Crown glass 1.52")
    expect(kept).to_have_text(f"Crown glass 1.52 (not in {DESIGN})")
    assert chosen(page, "right-material").startswith("Crown glass 1.52")
    expect(page.locator("#slot-right-material")).to_contain_text("Crown glass 1.52 does not come in this design.")
    page.locator("#id_right-material").select_option(label="Plastic 1.50")
    expect(page.locator("#slot-right-material")).to_be_empty()
    expect(kept).to_be_disabled()
    page.locator("#id_right-design").select_option(label="Single vision, made to order")
    expect(kept).to_have_text("Crown glass 1.52")


def test_a_press_while_an_answer_is_on_its_way_is_made_and_so_is_what_is_typed_after_it(page: Page) -> None:
    order = shop.draft(needed_on=timezone.localdate() + timedelta(days=1), remarks="")
    at_the_desk(page, order)
    let_go = held_back(page)
    page.locator("#id_right-design").select_option("prog")
    page.get_by_role("button", name="Confirm as Ines Holloway").first.click()
    page.locator("details.told", has_text="Remarks").locator("summary").click()
    page.keyboard.type("Ring first")
    page.keyboard.press("Tab")
    let_go()
    saved(page, 4)
    made = stored(order)
    assert (made.lenses["right"]["design"], made.remarks) == ("prog", "Ring first")
    assert [entry["rule"] for entry in made.lifted] == ["promise-date"]


def test_a_button_held_down_is_still_there_when_it_is_let_go(page: Page) -> None:
    order = shop.draft(needed_on=timezone.localdate() + timedelta(days=1))
    at_the_desk(page, order)
    let_go = held_back(page)
    page.locator("#id_needed_on").fill(f"{timezone.localdate() + timedelta(days=2):%d.%m.%Y}")
    page.keyboard.press("Tab")
    button = page.get_by_role("button", name="Confirm as Ines Holloway").first
    button.hover()
    page.mouse.down()
    with page.expect_response("**/live/") as answered:
        let_go()
    answered.value.finished()
    expect(button).to_be_visible()
    page.mouse.up()
    saved(page, 3)
    expect(page.locator("#part-findings")).to_contain_text("Confirmed by Ines Holloway")


def test_what_is_chosen_before_the_page_s_script_is_there_counts(page: Page) -> None:
    order = shop.draft()
    late: list[Route] = []
    page.route("**/order_desk*.js", lambda route: late.append(route))
    sign_in(page)
    page.goto(reverse("order-page", args=[order.public_id]), wait_until="commit")
    page.locator("#id_right-design").select_option("prog")
    assert stored(order).version == 1
    late[0].continue_()
    saved(page, 2)
    assert stored(order).lenses["right"]["design"] == "prog"
