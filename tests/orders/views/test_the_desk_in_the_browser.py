"""The order desk and its neighbours in a real browser: nothing typed is lost, keys suffice, all can use it."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, Route, expect

from dispensing.services.tokens import issue_token
from orders.models import Lab, Order
from orders.services.drafts import save_draft
from orders.services.sending import send_order
from tests.accessibility import at_both_widths, no_faults
from tests.browser import DESK, TELEPHONE, opened, sign_in, wired
from tests.known import there
from tests.orders import shop
from tests.people import person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

LATER = re.compile("[3-9]")


@pytest.fixture
def draft() -> Order:
    return shop.draft(remarks="")


def at_the_desk(page: Page, order: Order) -> None:
    sign_in(page)
    page.goto(reverse("order-page", args=[order.public_id]))
    expect(page.locator("#judgement svg").first).to_be_visible()


def stored(order: Order) -> Order:
    return Order.objects.get(pk=order.pk)


def saved(page: Page, version: int) -> None:
    expect(page.locator("#version")).to_have_value(str(version))


def held_back(page: Page) -> Callable[[], None]:
    """The server gets no change of the draft until the returned function is called, as on a busy day."""
    held: list[Route] = []
    hold = held.append
    page.route("**/live/", lambda route: hold(route))

    def let_go() -> None:
        nonlocal hold
        hold = Route.continue_
        for route in held:
            route.continue_()

    return let_go


def count_savings(page: Page) -> Callable[[], int]:
    """From now on; the returned function says how many have begun, what the page waited with included."""
    page.evaluate(
        """() => {
            window.savings = 0;
            const plain = window.fetch;
            window.fetch = (address, options) => {
                savings += String(address).endsWith("/live/");
                return plain(address, options);
            };
        }"""
    )

    def begun() -> int:
        page.clock.run_for(60_000)  # Whatever the page still meant to do within a minute, it does now.
        return int(page.evaluate("savings"))

    return begun


def addresses() -> list[str]:
    """Every page of orders, labs and the API, in the states that look different."""
    person_, wide = shop.patient(), shop.frame(model="Rowan", a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    stopped = shop.draft(frame=wide, fitting=shop.fitting(person_, wide, height_mm_right=25, height_mm_left=25))
    single = shop.draft(
        patient=shop.patient("P-90041", family_name="Wolfeschlegelsteinhausenbergerdorff" * 3),
        lenses={"right": shop.LENS, "left": None},
        kept_lens={"material": "1.50 resin"},
    )
    bare = shop.draft(patient=shop.patient("P-90042"), lab=None)
    sent = shop.draft(patient=shop.patient("P-90043"))
    send_order(order=sent, actor=shop.dispenser(), version=sent.version)
    lab = Lab.objects.get(name="Quay Street Lab")
    issue_token(actor=person("ines"), user=person("ines"))
    return [
        *(reverse("order-page", args=[order.public_id]) for order in (stopped, single, bare, sent)),
        *(reverse("order-send", args=[order.public_id]) for order in (stopped, single)),
        reverse("order-list"),
        reverse("order-list") + "?show=late",
        reverse("lab-list"),
        reverse("lab-new"),
        reverse("lab-page", args=[lab.public_id]),
        reverse("lab-usual", args=[lab.public_id]),
        reverse("api-page"),
        reverse("home"),
        reverse("patient-page", args=[person_.public_id]),
    ]


def test_no_page_of_orders_labs_or_the_api_has_a_fault_of_accessibility_on_a_desk_or_a_telephone(page: Page) -> None:
    found = addresses()
    sign_in(page)
    for address in found:
        page.goto(address)
        page.locator("main").evaluate("main => main.querySelectorAll('details').forEach(fold => { fold.open = true; })")
        for _ in at_both_widths(page):
            no_faults(page)
            for opener in page.locator("main [data-opens]").all():
                opener.click()
                no_faults(page)
                page.keyboard.press("Escape")


def test_every_text_of_the_drawing_can_be_read_on_a_desk_s_screen(page: Page, draft: Order) -> None:
    at_the_desk(page, draft)
    script = "[...document.querySelectorAll('.order-drawing svg.drawing')][0].querySelectorAll('text')"
    sizes = page.evaluate(f"[...{script}].map(t => parseFloat(getComputedStyle(t).fontSize) * t.getScreenCTM().a)")
    assert min(sizes) >= 11, sizes


def test_what_is_typed_while_a_saving_is_under_way_is_kept_and_saved_next(page: Page, draft: Order) -> None:
    page.clock.install()
    at_the_desk(page, draft)
    savings, let_go = count_savings(page), held_back(page)
    page.locator("#id_right-design").select_option("prog")
    page.locator("#lens-right .fold > summary").click()
    page.locator("#id_right-base_curve_d").press_sequentially("5.2")
    assert savings() == 1
    let_go()
    saved(page, 2)
    expect(page.locator("#id_right-base_curve_d")).to_be_focused()
    expect(page.locator("#id_right-base_curve_d")).to_have_value("5.2")
    assert savings() == 2
    saved(page, 3)
    page.keyboard.type("5")
    expect(page.locator("#id_right-base_curve_d")).to_have_value("5.25")
    page.keyboard.press("Tab")
    expect(page.locator("#id_right-centre_thickness_mm")).to_be_focused()
    saved(page, 4)
    assert savings() == 3
    lens = stored(draft).lenses["right"]
    assert (lens["design"], lens["base_curve_d"]) == ("prog", 5.25)


def test_one_change_is_saved_once(page: Page, draft: Order) -> None:
    page.clock.install()
    at_the_desk(page, draft)
    savings = count_savings(page)
    opened(page, "The lab is to supply")
    opened(page, "Remarks")
    page.locator("#id_supply").select_option("edged")
    saved(page, 2)
    assert savings() == 1
    page.locator("#id_remarks").press_sequentially("Ring before edging")
    page.keyboard.press("Tab")
    saved(page, 3)
    assert savings() == 2
    assert stored(draft).version == 3
    assert (stored(draft).supply, stored(draft).remarks) == ("edged", "Ring before edging")


def test_the_left_lens_gets_choices_of_its_own_when_it_is_not_as_the_right(page: Page, draft: Order) -> None:
    at_the_desk(page, draft)
    opened(page, "Lenses to make")
    page.get_by_label("Left lens as the right").uncheck()
    page.locator("#id_left-design").select_option("prog")
    expect(page.locator("#version")).to_have_value(LATER)
    assert [stored(draft).lenses[eye]["design"] for eye in ("right", "left")] == ["sv", "prog"]


def test_control_s_saves_at_once_without_a_mouse(page: Page, draft: Order) -> None:
    at_the_desk(page, draft)
    opened(page, "Remarks")
    expect(page.locator("#id_remarks")).to_be_focused()
    page.keyboard.type("Typed")
    page.keyboard.press("Control+s")
    saved(page, 2)
    expect(page.locator("#id_remarks")).to_be_focused()
    assert stored(draft).remarks == "Typed"


def test_following_a_link_right_after_typing_saves_first(page: Page, draft: Order) -> None:
    at_the_desk(page, draft)
    opened(page, "Remarks")
    page.locator("#id_remarks").fill("Last words")
    page.get_by_role("link", name="Review and send").click()
    expect(page.locator("h1")).to_contain_text("Send order")
    assert stored(draft).remarks == "Last words"


def test_a_reason_that_is_being_typed_outlives_the_answer_to_an_earlier_change(page: Page) -> None:
    person_, wide = shop.patient(), shop.frame(a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    fitting = shop.fitting(person_, wide, height_mm_right=25, height_mm_left=25)
    order = shop.draft(frame=wide, fitting=fitting)
    at_the_desk(page, order)
    let_go = held_back(page)
    opened(page, "The lab is to supply")
    page.locator("#id_supply").select_option("edged")
    page.locator(".lift summary").first.click()
    reason = page.locator(".lift[open] [name=reason]").first
    reason.press_sequentially("The lab has 80 mm")
    let_go()
    saved(page, 2)
    expect(reason).to_have_value("The lab has 80 mm")
    expect(reason).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#judgement")).to_contain_text("Lifted by Ines Holloway: The lab has 80 mm")


def test_after_a_stop_is_lifted_by_keyboard_the_keys_go_on_to_what_is_left(page: Page) -> None:
    person_, wide = shop.patient(), shop.frame(a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    order = shop.draft(frame=wide, fitting=shop.fitting(person_, wide, height_mm_right=25, height_mm_left=25))
    at_the_desk(page, order)
    open_ones = page.locator("#judgement .answers > button:first-of-type, #judgement .lift > summary")
    expect(open_ones.first).to_be_visible()
    open_ones.first.focus()
    for left in range(open_ones.count(), 0, -1):
        wired(page)
        page.keyboard.press("Enter")
        if page.locator(".lift[open] > summary:focus").count():
            for key in ("Tab", *(["Tab"] * page.locator(".lift[open] fieldset").count())):
                page.keyboard.press(key)
            page.keyboard.type("As agreed")
            page.keyboard.press("Enter")
        expect(open_ones).to_have_count(left - 1)
        if left > 1:
            expect(open_ones.first).to_be_focused()
    expect(page.locator("#verdict")).to_be_focused()
    wired(page)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("Send order")


def test_the_second_of_two_savers_sees_both_and_keeps_theirs_by_keyboard(page: Page, draft: Order) -> None:
    at_the_desk(page, draft)
    save_draft(order=stored(draft), actor=shop.dispenser(), version=draft.version, fields={"remarks": "Hers"})
    opened(page, "Remarks")
    page.locator("#id_remarks").fill("Mine")
    page.keyboard.press("Tab")
    expect(page.get_by_role("alert").filter(has_text="Dana Okafor changed this draft")).to_be_visible()
    no_faults(page)
    assert stored(draft).remarks == "Hers"
    page.get_by_role("button", name="Keep mine").press("Enter")
    saved(page, 3)
    assert stored(draft).remarks == "Mine"


def test_a_fault_is_told_beside_its_field_and_goes_when_it_is_mended(page: Page, draft: Order) -> None:
    at_the_desk(page, draft)
    page.locator("#lens-right .fold > summary").click()
    field = page.locator("#id_right-base_curve_d")
    field.fill("flat")
    page.keyboard.press("Tab")
    expect(page.locator("#slot-right-base_curve_d")).to_contain_text("flat is not a number")
    expect(field).to_have_value("flat")
    no_faults(page)
    field.fill("4")
    page.keyboard.press("Tab")
    expect(page.locator("#slot-right-base_curve_d")).to_be_empty()


def bottom_of(page: Page, selector: str) -> float:
    return float(page.locator(selector).evaluate("node => node.getBoundingClientRect().bottom"))


def scroll_boxes(page: Page) -> list[str]:
    """Whatever scrolls within the page instead of with it."""
    return list(
        page.evaluate(
            """[...document.querySelectorAll("main *")].filter((node) => {
                const how = getComputedStyle(node);
                const can = /auto|scroll/.test(how.overflowX + how.overflowY);
                return can && (node.scrollHeight > node.clientHeight || node.scrollWidth > node.clientWidth);
            }).map((node) => node.outerHTML.slice(0, 80))"""
        )
    )


def test_what_decides_is_in_the_first_screen_and_the_page_scrolls_as_one(page: Page) -> None:
    lens = {"design": "prog", "material": "m160", "corridor_mm": 14.0, "treatments": ["ar"]}
    at_the_desk(page, shop.draft(lenses={"right": lens, "left": lens}))
    for part in ("#verdict", "#part-drawing", "#part-strip"):
        assert 0 < bottom_of(page, part) <= DESK["height"], part
    shown = page.locator("#draft").locator("select:visible, input:visible:not([type=hidden]), textarea:visible")
    assert [one.get_attribute("name") for one in shown.all()] == [
        "fitting",
        "right-design",
        "right-material",
        "right-corridor_mm",
        "needed_on",
    ]
    assert scroll_boxes(page) == []
    expect(page.locator(".glance")).to_be_hidden()


def test_on_a_telephone_verdict_and_three_figures_stay_in_sight_and_both_lenses_are_whole(
    narrow_page: Page, draft: Order
) -> None:
    page = narrow_page
    at_the_desk(page, draft)
    glance = page.locator(".glance")
    for figure in ("Ready to send", "Blank", "of 65 mm", "Thickest", "Weight"):
        expect(glance).to_contain_text(figure)
    pair = there(page.locator(".without-sizes svg").bounding_box())
    assert pair["x"] >= 0
    assert pair["x"] + pair["width"] <= TELEPHONE["width"]
    expect(page.locator(".with-sizes")).to_be_hidden()
    for _ in range(6):
        box = there(glance.bounding_box())
        assert box["y"] + box["height"] == TELEPHONE["height"]
        page.mouse.wheel(0, 700)
    assert scroll_boxes(page) == []
    parts = ("#verdict", "#part-drawing", "#part-strip", "#draft")
    places = [there(page.locator(part).bounding_box())["y"] for part in parts]
    assert places == sorted(places)
