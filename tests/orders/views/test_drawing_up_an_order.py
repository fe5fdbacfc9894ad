"""The order desk: every choice is saved as it is made, what no longer applies is dropped, faults stay and are shown."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from dispensing.models import AuditEvent
from orders.models import Lab
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.catalogues import import_catalogue
from orders.services.drafts import save_draft
from orders.services.sending import send_order
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import change, page_of, stored, text_of, typed_on
from tests.people import signed_in

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]


def test_the_front_desk_reads_a_draft_and_cannot_change_it() -> None:
    order = shop.draft()
    html = page_of(order, signed_in("dora"))
    assert 'id="draft"' not in html
    assert "What happened" in html
    assert "Review and send" not in html
    assert change(order, signed_in("dora"), on=page_of(order)).status_code == 403


@pytest.mark.parametrize("end", ["sent", "cancelled"])
def test_what_is_no_draft_any_more_shows_its_record_and_takes_no_change(end: str) -> None:
    order = shop.draft()
    open_page = page_of(order)
    if end == "sent":
        send_order(order=order, actor=shop.dispenser(), version=order.version)
    else:
        cancel_order(order=order, actor=shop.dispenser(), reason="Patient kept the old pair")
    assert 'id="draft"' not in page_of(order)
    answer = change(order, on=open_page, remarks="Too late")
    assert f"This order is {end} by now and can no longer be changed." in text_of(answer)
    assert stored(order).remarks == ""


SAVED_AS = [
    ("supply", "edged", "supply", "edged"),
    ("priority", "urgent", "priority", "urgent"),
    ("frame_source", "to_follow", "frame_source", "to_follow"),
    ("other_pair", "no", "other_pair", False),
    ("other_pair", "", "other_pair", None),
    ("purpose", "remake", "purpose", "remake"),
    ("remarks", "Mind the bridge — löst sich", "remarks", "Mind the bridge — löst sich"),
    ("needed_on", "", "needed_on", None),
    ("lab", "", "lab", None),
    ("prescription", "", "prescription", None),
    ("fitting", "", "frame", None),
]


@pytest.mark.parametrize(("field", "typed", "column", "value"), SAVED_AS, ids=lambda part: str(part))
def test_each_choice_about_the_job_is_saved_as_it_is_made(
    field: str, typed: str, column: str, value: bool | str | None
) -> None:
    order = shop.draft()
    answer = change(order, None, **{field: typed})
    assert answer.status_code == 200
    assert getattr(stored(order), column) == value
    assert (stored(order).version, there(stored(order).saved_by).username) == (2, "ravi")
    assert AuditEvent.objects.get(verb="order.save").changes.keys() >= {column}


LENS_FIELDS = [
    ("design", "prog", "design", "prog"),
    ("blank_mm", "70", "blank_mm", 70.0),
    ("base_curve_d", "5,25", "base_curve_d", 5.25),
    ("centre_thickness_mm", "2.2 mm", "centre_thickness_mm", 2.2),
    ("colour", "Brown, 15 %", "colour", "Brown, 15 %"),
    ("instruction", "balance", "instruction", "balance"),
    ("treatments", [], "treatments", []),
    ("edge_polished", "yes", "edge", {"polished": True}),
    ("edge_polished", "no", "edge", {"polished": False}),
    ("edge_bevel", " mini bevel ", "edge", {"bevel": "mini bevel"}),
]


@pytest.mark.parametrize(("field", "typed", "key", "value"), LENS_FIELDS, ids=lambda part: str(part))
def test_each_choice_of_lens_is_saved_for_both_eyes_while_the_left_is_as_the_right(
    field: str, typed: Any, key: str, value: Any
) -> None:
    order = shop.draft()
    change(order, **{f"right__{field}": typed})
    lenses = stored(order).lenses
    assert lenses["right"][key] == value
    assert lenses["left"] == lenses["right"]


def test_saving_the_page_as_it_was_opened_changes_nothing_of_the_order() -> None:
    order = shop.draft(
        lenses={
            "right": {**shop.LENS, "blank_mm": 65, "base_curve_d": 4.0, "edge": {"polished": True, "bevel": "mini"}},
            "left": {"design": "prog", "material": "m160", "corridor_mm": 14, "treatments": []},
        },
        remarks="Two\nlines & <marks>",
        other_pair=None,
    )
    before = stored(order)
    change(order)
    after = stored(order)
    for field in ("lenses", "kept_lens", "remarks", "other_pair", "supply", "frame_source", "needed_on", "lab_id"):
        assert getattr(after, field) == getattr(before, field), field
    assert not AuditEvent.objects.filter(verb="order.save").exists()


def test_an_edge_left_to_the_lab_again_is_not_stored_and_one_that_cannot_be_stored_stays_as_it_was() -> None:
    edge = {"polished": False, "bevel": "mini bevel"}
    lens = {**shop.LENS, "edge": edge}
    order = shop.draft(lenses={"right": lens, "left": lens})
    change(order, right__edge_bevel="b" * 61)
    assert stored(order).lenses["right"]["edge"] == edge
    change(order, right__edge_polished="")
    assert stored(order).lenses["right"]["edge"] == {"bevel": "mini bevel"}
    change(order, right__edge_polished="", right__edge_bevel="")
    assert stored(order).lenses == {"right": shop.LENS, "left": shop.LENS}


def test_unticking_left_as_right_gives_the_left_lens_its_own_choices() -> None:
    order = shop.draft()
    answer = text_of(change(order, same=None))
    assert "left-design" not in typed_on(page_of(order))
    assert 'name="right-design"' not in answer
    own: dict[str, Any] = {f"left__{name}": value for name, value in shop.LENS.items()} | {"left__design": "prog"}
    change(order, same=None, **own)
    lenses = stored(order).lenses
    assert (lenses["right"]["design"], lenses["left"]["design"]) == ("sv", "prog")


def test_ticking_left_as_right_again_copies_the_right_lens() -> None:
    order = shop.draft(lenses={"right": shop.LENS, "left": {**shop.LENS, "design": "prog"}})
    answer = text_of(change(order, same="on"))
    assert stored(order).lenses["left"] == shop.LENS
    assert "left-design" not in typed_on(page_of(order))
    assert 'name="left-design"' not in answer


def test_ordering_one_lens_asks_what_is_known_of_the_lens_that_stays() -> None:
    order = shop.draft()
    answer = text_of(change(order, eyes="left"))
    assert stored(order).lenses["right"] is None
    assert stored(order).lenses["left"] == shop.LENS
    assert "The lens that is kept" not in answer
    html = page_of(order)
    assert {"kept-material", "left-design"} <= set(typed_on(html))
    assert "right-design" not in typed_on(html)
    change(order, on=html, kept__material="1.50 resin", kept__base_curve_d="6", kept__treatments="hard, tint")
    assert stored(order).kept_lens == {"material": "1.50 resin", "base_curve_d": 6.0, "treatments": ["hard", "tint"]}
    change(order, eyes="both")
    assert stored(order).lenses["right"] == shop.LENS


def test_a_design_without_corridors_loses_the_corridor_and_no_fault_is_told() -> None:
    lens = {"design": "prog", "material": "m160", "corridor_mm": 14.0, "treatments": ["ar"]}
    order = shop.draft(lenses={"right": lens, "left": lens})
    answer = change(order, right__design="sv")
    assert stored(order).lenses["right"] == {"design": "sv", "material": "m160", "treatments": ["ar"]}
    assert "errorlist" not in text_of(answer)
    assert '<div class="corridor" hidden>' in page_of(order)


def test_another_lab_brings_its_own_catalogue_and_drops_what_it_does_not_offer() -> None:
    order = shop.draft()
    other = shop.lab("Far Lab")
    designs = [{**shop.CATALOGUE["designs"][1], "id": "far-prog", "name": "Far progressive"}]
    content = shop.catalogue_bytes(lab="Far Lab", designs=designs)
    import_catalogue(lab=other, content=content, actor=None)
    answer = text_of(change(order, lab=str(other.public_id)))
    assert stored(order).lenses["right"] == {"material": "m160", "treatments": ["ar"]}
    assert stored(order).catalogue == other.catalogues.get(in_use=True)
    assert "Far progressive" in page_of(order)
    assert "errorlist" not in answer


def test_a_lab_that_went_out_of_use_stays_on_the_drafts_drawn_up_for_it() -> None:
    order = shop.draft()
    Lab.objects.update(active=False)
    change(order, remarks="Still for them")
    assert stored(order).lab == shop.lab()


WRONG = [
    ("right__base_curve_d", "flat", "flat is not a number"),
    ("right__base_curve_d", "40", "40 D cannot be right: 0 to 14 D is possible"),
    ("right__centre_thickness_mm", "0.1", "0.1 mm cannot be right"),
    ("needed_on", "2020-01-01", "This day has passed"),
    ("needed_on", "soon", "This is not a date. Write it as"),
    ("remake_of", "D-77777", "This patient has no order D-77777."),
    ("right__colour", "x" * 300, "at most 120 characters"),
    ("remarks", "y" * 1001, "at most 1000 characters"),
]


@pytest.mark.parametrize(("field", "typed", "said"), WRONG, ids=lambda part: str(part)[:30])
def test_a_field_at_fault_says_so_in_its_place_keeps_its_stored_value_and_the_rest_is_saved(
    field: str, typed: str, said: str
) -> None:
    lens = {**shop.LENS, "base_curve_d": 4.0, "centre_thickness_mm": 2.0, "colour": "grey"}
    order = shop.draft(lenses={"right": lens, "left": lens}, remarks="As before")
    before = stored(order)
    also = {"remarks": "Also changed"} if field != "remarks" else {"supply": "uncut"}
    answer = text_of(change(order, None, **{field: typed}, **also))
    slot = answer.split(f'id="slot-{field.replace("__", "-")}"', 1)[1].split("</div>", 1)[0]
    assert said in slot
    after = stored(order)
    assert after.lenses == before.lenses
    assert (after.needed_on, after.remake_of) == (before.needed_on, None)
    assert (after.remarks, after.supply) == (
        ("As before", "uncut") if field == "remarks" else ("Also changed", "fitted")
    )


def test_mending_a_fault_clears_its_place() -> None:
    order = shop.draft()
    answer = text_of(change(order, needed_on=(timezone.localdate() + timedelta(days=9)).isoformat()))
    assert '<div data-part id="slot-needed_on">\n</div>' in answer


def test_a_day_that_passed_while_the_draft_lay_about_is_not_blamed_on_today_s_typing() -> None:
    order = shop.draft(needed_on=timezone.localdate() - timedelta(days=3))
    assert "This day has passed" not in text_of(change(order, remarks="x"))


def test_without_scripts_a_refused_page_comes_back_with_what_was_typed() -> None:
    order = shop.draft()
    values = typed_on(page_of(order)) | {"right-base_curve_d": "flat", "remarks": "Ring first"}
    answer = signed_in("ravi").post(reverse("order-live", args=[order.public_id]), values)
    assert 'value="flat"' in text_of(answer)
    assert "flat is not a number" in text_of(answer)
    assert stored(order).remarks == "Ring first"
    mended = values | {"right-base_curve_d": "4", "version": "2"}
    answer = signed_in("ravi").post(reverse("order-live", args=[order.public_id]), mended)
    assert answer.status_code == 302


def test_a_remake_names_an_order_of_this_patient_that_was_sent_in_its_newest_revision() -> None:
    first = shop.draft()
    send_order(order=first, actor=shop.dispenser(), version=1)
    second = amend_order(order=stored(first), actor=shop.dispenser())
    send_order(order=second, actor=shop.dispenser(), version=second.version)
    order = shop.draft(frame=first.frame, prescription=first.prescription, fitting=first.fitting)
    change(order, purpose="remake", remake_of=first.number.lower())
    assert stored(order).remake_of == second


def test_a_record_of_another_patient_cannot_be_slipped_in() -> None:
    order = shop.draft()
    other = shop.patient("P-90013")
    foreign = shop.prescription(other)
    change(order, prescription=str(foreign.public_id))
    assert stored(order).prescription != foreign


def test_the_second_of_two_savers_is_shown_both_and_may_keep_theirs() -> None:
    order = shop.draft()
    open_page = page_of(order)
    save_draft(
        order=stored(order),
        actor=shop.dispenser("ines", "Ines", "Holloway"),
        version=1,
        fields={"remarks": "Hers", "lenses": {"right": {**shop.LENS, "design": "prog"}, "left": None}},
    )
    answer = text_of(change(order, on=open_page, remarks="Mine"))
    assert "Ines Holloway changed this draft" in answer
    for row in ("Hers", "Mine", "Right design", "Left lens"):
        assert row in answer
    assert stored(order).remarks == "Hers"
    change(order, on=open_page, remarks="Mine", version="2")
    assert (stored(order).remarks, stored(order).version) == ("Mine", 3)
    assert stored(order).lenses["left"] == shop.LENS


@pytest.mark.parametrize("version", ["", "-1", "many", "9" * 40])
def test_a_version_that_is_none_overwrites_nothing(version: str) -> None:
    order = shop.draft()
    answer = change(order, remarks="Mine", version=version)
    assert answer.status_code == 200
    assert "changed this draft" in text_of(answer)
    assert stored(order).remarks == ""


def test_the_desk_asks_the_database_the_same_few_questions_however_much_is_on_record(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    order = shop.draft()
    client = signed_in("ravi")
    page = page_of(order, client)
    for number in range(4):
        shop.prescription(order.patient, tested_on=timezone.localdate() - timedelta(days=400 + number))
        shop.fitting(order.patient, shop.frame(model=f"Alder {number}"))
        shop.lab(f"Lab {number}")
    with django_assert_max_num_queries(28):
        client.get(reverse("order-page", args=[order.public_id]))
    with django_assert_max_num_queries(28):
        change(order, client, on=page, remarks="x")
