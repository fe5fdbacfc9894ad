"""The comparison of lenses: what it shows of each, what its addresses put in order and leave out, and taking a lens."""

from __future__ import annotations

import json
import re
from html import unescape
from typing import Any
from urllib.parse import parse_qs

import pytest
from django.urls import reverse

from dispensing.models import AuditEvent
from orders.models import Lab, Order
from orders.presentation.lenses.page import LensesPage
from orders.presentation.lenses.rows import LensShown
from orders.rules import check
from orders.services.catalogues import import_catalogue
from orders.services.drafts import save_draft
from orders.services.judging import judge
from orders.services.lifting import lift
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import page_of, stored
from tests.orders.views.test_names_never_codes import a_wrong_order, assert_only_names, read
from tests.people import Answer, person, signed_in

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]

PLAIN = {"id": "m150", "name": "Plastic 1.50", "index": 1.5, "abbe": 58, "density_g_cm3": 1.32}
LIMITS = {"min_centre_mm": 2.0, "min_edge_mm": {"full_rim": 1.0}, "drillable": False, "impact_resistant": False}
UNWEIGHED = {
    **shop.CATALOGUE["materials"][0],
    "id": "m174",
    "name": "Plastic 1.74",
    "index": 1.74,
    "density_g_cm3": None,
}


def catalogue(lab: str, **changes: Any) -> dict[str, Any]:
    """The shop's, with a plain material that is thicker and has a price, and one of unknown density."""
    made: dict[str, Any] = json.loads(json.dumps({**shop.CATALOGUE, "lab": lab}))
    made["materials"] += [{**PLAIN, **LIMITS}, UNWEIGHED]
    for design in made["designs"]:
        design["materials"] = ["m160", "m150", "m174"]
    made["treatments"][0]["materials"] = []
    made["prices"] = [{"design": "sv", "material": "m150", "amount": 42.5, "currency": "EUR"}]
    return made | changes


def lab(name: str = "Quay Street Lab", **changes: Any) -> Any:
    row = shop.lab(name)
    import_catalogue(lab=row, content=json.dumps(catalogue(name, **changes)).encode(), actor=None)
    return row


def draft(**fields: Any) -> Order:
    return shop.draft(**fields if "lab" in fields else {"lab": lab(), **fields})


def opened(order: Order, query: str = "", who: str = "ravi") -> Answer:
    answer = signed_in(who).get(reverse("order-lenses", args=[order.public_id]) + query)
    assert answer.status_code == 200
    return answer


def page(order: Order, query: str = "") -> LensesPage:
    shown: LensesPage = context_of(opened(order, query))["page"]
    return shown


def context_of(answer: Answer) -> dict[str, Any]:
    context: Any = answer.context
    return {name: context[name] for name in ("page", "pinned")}


def named(shown: LensesPage) -> list[str]:
    return [lens.title for lens in shown.shown]


def lens_of(shown: LensesPage, title: str) -> LensShown:
    return next(lens for lens in shown.shown if lens.title == title)


def take(order: Order, key: str, version: int | None = None, who: str = "ravi", *, follow: bool = False) -> Answer:
    posted = {"lens": key, "version": order.version if version is None else version}
    return signed_in(who).post(reverse("order-take-lens", args=[order.public_id]), posted, follow=follow)


def cells(html: str, title: str) -> dict[str, str]:
    """What stands in the row of a lens in the list, by the name of its column."""
    rows = re.findall(r"<tr[^>]*>(.*?)</tr>", html.split('<tbody class="now">')[1].split("</tbody>", 1)[1], re.DOTALL)
    row = next(row for row in rows if title in row)
    found = re.findall(r'data-label="([^"]*)"[^>]*>(.*?)</td>', row, re.DOTALL)
    return {label: " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split()) for label, text in found}


def test_a_row_says_what_the_desk_says_of_the_order_with_that_lens() -> None:
    order = draft()
    row = cells(opened(order).content.decode(), "Single vision · Plastic 1.50")
    change = {**shop.LENS, "material": "m150", "blank_mm": 65}
    save_draft(order=order, actor=person("ravi"), version=1, fields={"lenses": {"right": change, "left": change}})
    report = judge(stored(order)).report
    eyes = report.computed.right, report.computed.left
    assert row["Weight"] == f"{sum(there(eye.weight_g) for eye in eyes):.1f} g"
    assert row["Centre"] == f"{max(there(eye.centre_thickness_mm) for eye in eyes):.1f} mm"
    assert row["Thickest"].startswith(f"{max(there(eye.edge_max_mm) for eye in eyes):.1f} mm at the ")
    assert row["Blank"] == f"65 mm {max(there(eye.blank_needed_mm) for eye in eyes):.1f} mm needed"
    assert row["Price"] == "85.00 EUR 2 × 42.50, the lab’s price"
    assert (report.verdict, row["Check"]) == ("clear", "Clear")


def test_the_present_lens_stands_on_top_and_cannot_be_taken_again() -> None:
    html = opened(draft()).content.decode()
    now = html.split('<tbody class="now">')[1].split("</tbody>")[0]
    assert "In the order now" in now
    assert "Single vision · 1.60" in now
    assert "data-take" not in now
    assert html.count("data-take") == html.count("Take<span")


def test_lenses_nothing_speaks_against_come_first_and_the_worst_is_said_as_it_was_found() -> None:
    shown = page(draft())
    assert [lens.level for lens in shown.shown] == sorted(
        (lens.level for lens in shown.shown), key=["clear", "note", "ask", "stop"].index
    )
    progressive = lens_of(shown, "Progressive · Plastic 1.50")
    assert (progressive.says, progressive.found) == ("Stopped", "Each eye has a progressive lens and no add.")
    report = check(progressive.row.order, progressive.row.offer.catalogue)
    assert "The right eye has a progressive lens and no add." in [part.says for part in report.findings]


def test_lenses_are_put_in_order_of_a_figure_either_way_and_the_unknown_comes_last_both_times() -> None:
    order = draft()
    for query in ("?sort=weight&only=clear", "?sort=weight&reverse=yes&only=clear"):
        shown = page(order, query)
        weights = [lens.weight_g for lens in shown.shown]
        assert weights[-1] is None
        assert weights[:-1] == sorted(filter(None, weights), reverse="reverse" in query)
        assert len(weights) == 3
    html = opened(order, "?sort=weight").content.decode()
    assert 'aria-sort="ascending"><a href="?sort=weight&amp;reverse=yes">Weight' in html


def test_lenses_are_put_in_order_of_their_blank_and_ties_are_marked_in_its_column_alone() -> None:
    order = draft()
    blanks = [there(lens.row.offer.blank_mm) for lens in page(order, "?sort=blank").shown]
    assert blanks == sorted(blanks)
    assert blanks[0] < blanks[-1]
    alike = [blanks.count(blank) > 1 for blank in blanks]
    html = opened(order, "?sort=blank").content.decode()
    assert html.count('<div class="small soft">tied</div>') == sum(alike) > 0
    assert "tied" in cells(html, "Single vision · Plastic 1.50")["Blank"]
    assert "tied" not in cells(html, "Single vision · Plastic 1.50")["Weight"]
    assert "tied" not in opened(order).content.decode()


def test_a_toggle_counts_what_it_leaves_and_leaves_it() -> None:
    order = draft()
    shown = page(order)
    before = {toggle.label: toggle for toggle in [*shown.toggles, *shown.indexes]}
    assert len(shown.kept) == 6
    for label, left in {"Impact-resistant": {"1.60", "Plastic 1.74"}, "1.50": {"Plastic 1.50"}}.items():
        after = page(order, before[label].address)
        assert {lens.row.offer.material.name for lens in after.shown} == left
        assert before[label].count == len(after.kept) == 2 * len(left)
    both = page(order, "?index=1.50&index=1.60&only=clear")
    assert named(both) == ["Single vision · 1.60", "Single vision · Plastic 1.50"]
    on = next(toggle for toggle in both.indexes if toggle.label == "1.50")
    assert on.is_on
    assert parse_qs(on.address[1:]) == {"index": ["1.60"], "only": ["clear"]}


def test_no_lens_left_says_so_and_leads_back_to_all() -> None:
    html = opened(draft(), "?index=9.99").content.decode()
    assert "No lens on offer meets all that is asked for." in html
    assert '<a class="button" href="?">Show all</a>' in html


def test_what_an_address_names_and_nobody_offers_is_left_out() -> None:
    asked = page(draft(), "?sort=shine&only=cheap&pin=nothing&page=-3&reverse=maybe").asked
    assert (asked.sort, asked.only, asked.page, asked.reverse) == ("check", (), 1, False)


def test_an_address_tells_nothing_of_the_patient() -> None:
    order = draft()
    html = opened(order, "?sort=weight").content.decode()
    addresses = re.findall(r'href="(\?[^"]*)"', html)
    assert len(addresses) > 10
    told = [order.patient.family_name, order.patient.reference, order.number]
    assert not [address for address in addresses for word in told if word in address]


def test_lenses_that_differ_only_in_their_blank_are_one_row_with_the_smallest_that_does() -> None:
    patient, frame = shop.patient(), shop.frame(a_mm=54, ed_mm=56)
    order = draft(patient=patient, frame=frame, fitting=shop.fitting(patient, frame))
    shown = page(order)
    assert len(shown.comparison.apart.rows) == 9
    single = [lens for lens in shown.shown if lens.row.offer.design.id == "sv"]
    assert [lens.blank for lens in single] == ["70 mm"] * 3


def test_at_most_twenty_five_are_on_a_page_and_the_pages_have_all() -> None:
    plain = {**PLAIN, **LIMITS}
    many = [{**plain, "id": f"x{place}", "name": f"Plastic no. {place}"} for place in range(27)]
    design = {**shop.CATALOGUE["designs"][0], "materials": [one["id"] for one in many]}
    order = shop.draft(lab=lab(materials=many, designs=[design], treatments=[], prices=[]))
    first, second, beyond = (page(order, query) for query in ("", "?page=2", "?page=7"))
    assert (len(first.shown), len(second.shown)) == (25, 2)
    assert {*named(first), *named(second)} == {f"Single vision · Plastic no. {place}" for place in range(27)}
    assert named(beyond) == named(second)
    assert 'href="?page=2">Next page' in opened(order).content.decode()


def test_one_press_takes_the_lens_into_both_eyes_and_goes_back_to_the_desk() -> None:
    order, beside = draft(), draft()
    lens = lens_of(page(order), "Single vision · Plastic 1.50")
    answer = take(order, lens.key, follow=True)
    assert answer.redirect_chain == [(reverse("order-page", args=[order.public_id]), 302)]
    assert "Taken into the order: Single vision, Plastic 1.50." in answer.content.decode()
    saved = stored(order)
    wanted = {"design": "sv", "material": "m150", "blank_mm": 65.0, "treatments": ["ar"]}
    assert saved.lenses == {"right": wanted, "left": wanted}
    assert (saved.version, saved.saved_by) == (2, person("ravi"))
    assert AuditEvent.objects.filter(verb="order.save", record_id=order.public_id).count() == 1
    assert (stored(beside).lenses["right"]["material"], stored(beside).version) == ("m160", 1)


def test_what_the_comparison_says_is_what_the_desk_then_says() -> None:
    order = draft()
    for title in ("Single vision · Plastic 1.50", "Progressive · 1.60"):
        lens = lens_of(page(order), title)
        take(order, lens.key)
        order = stored(order)
        report = judge(order).report
        assert report.verdict == lens.level
        assert page(order).present is not None
        assert there(page(order).present).key == lens.key


def test_an_order_of_one_lens_gets_one_lens() -> None:
    order = draft(lenses={"right": shop.LENS, "left": None})
    lens = lens_of(page(order), "Single vision · Plastic 1.50")
    assert lens.weight.endswith(" g, one lens")
    take(order, lens.key)
    assert (stored(order).lenses["right"]["material"], stored(order).lenses["left"]) == ("m150", None)


def test_where_no_lens_is_chosen_yet_both_eyes_get_it() -> None:
    order = draft(lenses={})
    shown = page(order)
    assert shown.present is None
    take(order, lens_of(shown, "Single vision · Plastic 1.50").key)
    assert [lens["material"] for lens in stored(order).lenses.values()] == ["m150", "m150"]


def test_another_labs_lens_brings_its_lab_and_the_account_with_it() -> None:
    order, other = draft(), lab("Hill Lab")
    type(other).objects.filter(pk=other.pk).update(account="")
    shown = page(order)
    assert {lens.lab for lens in shown.shown} == {"Quay Street Lab", "Hill Lab"}
    theirs = next(
        lens for lens in shown.shown if lens.lab == "Hill Lab" and lens.title == "Single vision · Plastic 1.50"
    )
    assert (theirs.says, theirs.found) == ("Stopped", "The practice's account with the lab is missing.")
    only = next(toggle for toggle in shown.toggles if toggle.label == "Only Quay Street Lab")
    assert only.count == 6
    assert {lens.lab for lens in page(order, only.address).shown} == {"Quay Street Lab"}
    take(order, theirs.key)
    saved = stored(order)
    assert (saved.lab, there(saved.catalogue).lab) == (other, other)
    assert saved.lenses["left"]["material"] == "m150"


def test_a_lens_no_longer_on_offer_is_refused_in_words_and_nothing_changes() -> None:
    order = draft()
    answer = signed_in("ravi").post(
        reverse("order-take-lens", args=[order.public_id]), {"lens": "0" * 16, "version": 1}, follow=True
    )
    assert "This lens is not on offer any more" in answer.content.decode()
    assert stored(order).version == 1


def test_a_draft_saved_by_somebody_else_is_shown_beside_before_it_is_overwritten() -> None:
    order = draft()
    key = lens_of(page(order), "Single vision · Plastic 1.50").key
    progressive = {**shop.LENS, "design": "prog"}
    fields = {"lenses": {"right": progressive, "left": progressive}}
    save_draft(order=stored(order), actor=person("ines"), version=1, fields=fields)
    answer = take(order, key, version=1)
    text = answer.content.decode()
    assert answer.status_code == 409
    assert "Ines Holloway changed this draft" in text
    assert "<td>Single vision</td><td>Progressive</td>" in text
    assert_only_names(read(text))
    assert stored(order).lenses["right"]["design"] == "prog"
    again = take(order, key, version=int(there(re.search(r'name="version" value="(\d+)"', text)).group(1)))
    assert again.status_code == 302
    assert stored(order).lenses["right"]["material"] == "m150"


def test_a_sent_order_leads_to_its_record() -> None:
    order = draft()
    key = lens_of(page(order), "Single vision · Plastic 1.50").key
    shop.brought_to("sent", order)
    opened_late = signed_in("ravi").get(reverse("order-lenses", args=[order.public_id]), follow=True)
    for answer in (opened_late, take(order, key, follow=True)):
        assert answer.redirect_chain == [(reverse("order-page", args=[order.public_id]), 302)]
        assert "no longer a draft" in answer.content.decode()
    assert stored(order).version == 1


def test_what_stops_every_lens_is_said_once_and_hides_no_difference() -> None:
    shown = page(draft(needed_on=None, frame_source=""))
    stops = shown.in_common["stop"]
    assert stops
    single = lens_of(shown, "Single vision · Plastic 1.50")
    assert (single.says, single.found) == ("Clear", "")
    progressive = lens_of(shown, "Progressive · Plastic 1.50")
    assert progressive.says == "Stopped"
    assert progressive.found not in stops
    assert there(shown.present).says == "Clear"


def test_an_answer_that_is_not_about_the_lens_counts_for_every_lens() -> None:
    patient = shop.patient()
    order = draft(patient=patient, prescription=shop.prescription(patient, vertex_mm=None, right={"sphere": -8.0}))
    asked = [part for part in judge(order).report.findings if part.level == "ask"]
    of_record = [part for part in asked if (part.field or "").startswith("prescription")]
    assert of_record
    before = page(order)
    for part in {(part.rule, part.eye): part for part in of_record}.values():
        lift(order=order, actor=person("ravi"), version=order.version, rule=part.rule, eye=part.eye, reason="")
    after = page(stored(order))
    # How much the images differ depends on the lens, so no one sentence is true of all; the stop is said as it is.
    assert before.in_common == {
        "stop": [
            "The right eye has 8.00 D and the vertex distance of the test is not given; from 5.00 D on it must be."
        ],
        "ask": [
            "Not with any of them: little unequal vertical prism when reading.",
            "Not with any of them: images of nearly the same size.",
        ],
    }
    assert after.in_common == {**before.in_common, "ask": []}


def test_an_answer_about_the_lens_counts_for_the_present_lens_alone() -> None:
    patient, lens = shop.patient(), {**shop.LENS, "material": "m150"}
    prescription = shop.prescription(patient, right={"sphere": -7.0}, left={"sphere": -7.0})
    order = draft(patient=patient, prescription=prescription, lenses={"right": lens, "left": lens})
    before = lens_of(page(order), "Single vision · Plastic 1.50")
    about = [part for part in judge(order).open_findings if (part.field or "").startswith("lenses")]
    assert {part.level for part in about} == {"ask"}
    for rule, eye in dict.fromkeys((part.rule, part.eye) for part in about):
        lift(order=order, actor=person("ravi"), version=order.version, rule=rule, eye=eye, reason="")
    after = page(stored(order))
    rules = {part.rule for part in about}
    assert rules & {one.rule for one in before.open} == rules
    assert rules & {one.rule for one in lens_of(after, "Single vision · Plastic 1.50").open} == rules
    assert rules & {one.rule for one in there(after.present).open} == set()
    assert (there(page(order).present).name, before.blank) == ("Single vision, Plastic 1.50", "65 mm")


def test_what_is_not_known_is_said_where_it_is_not_known() -> None:
    html = opened(draft(), "?only=clear").content.decode()
    unweighed = html.split("Single vision · Plastic 1.74")[1].split("</th>")[0]
    assert "The catalogue gives no density for Plastic 1.74." in unweighed
    assert html.count("gives no density") == 1
    assert cells(html, "Single vision · Plastic 1.74")["Weight"] == "–"


def test_the_weight_of_a_pair_is_not_that_of_the_one_lens_that_is_known() -> None:
    patient = shop.patient()
    order = draft(patient=patient, prescription=shop.prescription(patient, left={"sphere": None}))
    lens = lens_of(page(order), "Single vision · Plastic 1.50")
    assert lens.row.body("right") is not None
    assert (lens.weight, lens.centre, lens.thickest) == ("–", "–", "–")


def test_a_lens_of_a_design_that_comes_in_every_material_can_be_taken() -> None:
    made = catalogue("Quay Street Lab")
    made["designs"][0]["materials"] = []
    order = draft(lab=lab(designs=made["designs"]))
    take(order, lens_of(page(order), "Single vision · Plastic 1.50").key)
    assert stored(order).lenses["right"]["material"] == "m150"


def test_what_is_known_of_no_lens_is_said_once_with_what_to_do() -> None:
    frame = shop.frame(a_mm=None, b_mm=None, ed_mm=None)
    patient = shop.patient()
    order = draft(patient=patient, frame=frame, fitting=shop.fitting(patient, frame))
    html = opened(order).content.decode()
    assert "Enter the sizes of the frame." in html
    assert reverse("frame-page", args=[frame.public_id]) in html
    reason = "The shape of the frame is not known: neither a trace, nor A and B."
    said = html.split('id="not-compared"')[1].split("</details>")[0]
    assert f"<li>Thickness, edge and weight: {reason}</li>" in said
    assert html.count(reason) == said.count(reason)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"prescription": None}, "Choose a prescription on the draft."),
        ({"frame": None, "fitting": None}, "Choose a fitting, and with it a frame, on the draft."),
        ({"fitting": None}, "Choose a fitting on the draft, or record one in this frame."),
    ],
)
def test_a_draft_without_a_part_says_what_to_choose(fields: dict[str, Any], said: str) -> None:
    order = draft()
    Order.objects.filter(pk=order.pk).update(**fields)
    html = opened(order).content.decode()
    assert "Not everything can be compared yet." in html
    assert said in html


def test_without_a_lab_or_any_catalogue_the_page_says_what_is_missing() -> None:
    order = draft(lab=None)
    assert "No lab is chosen yet. The lens you take brings its lab with it." in opened(order).content.decode()
    bare = Lab.objects.create(name="Bare Lab")
    Order.objects.filter(pk=order.pk).update(lab=bare)
    assert "Bare Lab has no catalogue, so its lenses cannot be compared." in opened(order).content.decode()
    only = opened(order, "?lab=this").content.decode()
    assert "This lab has no catalogue" in only
    assert "Compare the lenses of all labs" in only
    Lab.objects.update(active=False)
    assert "No lab has a catalogue yet" in opened(order).content.decode()


def test_pinned_lenses_stand_beside_each_other_with_their_differences_in_words() -> None:
    order = draft()
    shown = page(order, "?only=clear")
    thick, now = lens_of(shown, "Single vision · Plastic 1.50"), there(shown.present)
    answer = opened(order, f"?pin={thick.key}&pin={now.key}")
    pinned = [one for one, _ in context_of(answer)["pinned"]]
    assert [one.lens.title for one in pinned] == ["Single vision · 1.60", "Single vision · Plastic 1.50"]
    assert pinned[0].differences == ()
    grams = there(thick.weight_g) - there(now.weight_g)
    assert f"{grams:.0f} g heavier" in pinned[1].differences
    assert pinned[1].bar == "100.0"
    assert pinned[0].bar == f"{there(now.weight_g) / there(thick.weight_g) * 100:.1f}"
    for drawing in ("section", "edge"):
        drawn = [there(re.search(r'viewBox="\S+ \S+ (\S+) ', getattr(one, drawing))).group(1) for one in pinned]
        assert drawn[0] == drawn[1]
    assert "Impact-resistant" in answer.content.decode()
    assert "Earliest usual day" in answer.content.decode()
    text = answer.content.decode()
    assert "All drawn at one scale." in text
    assert '<div class="stack comparing has-pinned">' in text


def test_four_are_pinned_at_most_and_the_page_says_why_no_fifth() -> None:
    order = draft()
    keys = [lens.key for lens in page(order).shown]
    html = opened(order, "?" + "&".join(f"pin={key}" for key in keys[:5])).content.decode()
    assert html.count('class="pinned-words"') == 4
    assert "No more than 4: unpin one to pin another." in html
    assert ">Pin<" not in html
    one = opened(order, f"?pin={keys[0]}").content.decode()
    assert "Pin another lens to see both beside each other." in one
    assert f'href="?pin={keys[0]}&amp;pin={keys[1]}#beside-title"' in one


def test_the_page_says_names_and_never_codes() -> None:
    order = a_wrong_order()
    keys = [lens.key for lens in page(order).shown][:2]
    text = read(opened(order, f"?pin={keys[0]}&pin={keys[1]}").content.decode())
    assert_only_names(text)
    assert "without Blue mirror" in text or "Blue mirror" in text


def test_the_desk_leads_to_the_comparison_of_its_lab() -> None:
    order = draft()
    assert (
        f'<a class="button" href="{reverse("order-lenses", args=[order.public_id])}?lab=this">Compare lenses</a>'
        in page_of(order)
    )


def test_the_front_desk_neither_compares_nor_takes() -> None:
    order = draft()
    assert signed_in("dora").get(reverse("order-lenses", args=[order.public_id])).status_code == 403
    assert take(order, "0" * 16, who="dora").status_code == 403
