"""The order desk: every choice is saved as it is made, what vanishes is dropped, what is at fault stays and is said."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from dispensing.models import AuditEvent
from dispensing.roles import ABILITIES, Ability, Role
from orders.models import Order
from orders.services.amending import amend_order
from orders.services.cancelling import cancel_order
from orders.services.catalogues import import_catalogue
from orders.services.drafts import save_draft
from orders.services.judging import judge
from orders.services.sending import send_order
from tests.orders import shop
from tests.orders.views.desk import HTMX, change, page_of, settle, stored, text_of, typed_on
from tests.people import signed_in

pytestmark = pytest.mark.django_db


def test_a_new_order_starts_from_the_latest_prescription_fitting_and_lab():
    person = shop.patient()
    shop.lab("A Lab")
    prescription, frame = shop.prescription(person), shop.frame()
    fitting = shop.fitting(person, frame)
    shop.draft(patient=shop.patient("P-90011"), lab=shop.lab("Last Lab"))
    answer = signed_in("ravi").post(reverse("order-start", args=[person.public_id]))
    order = Order.objects.get(patient=person)
    assert answer.headers["Location"] == reverse("order-page", args=[order.public_id])
    assert (order.prescription, order.fitting, order.frame) == (prescription, fitting, frame)
    assert order.lab.name == "Last Lab"


def test_an_order_started_from_a_fitting_is_made_to_that_fitting():
    person = shop.patient()
    shop.prescription(person)
    wanted = shop.fitting(person, shop.frame())
    shop.fitting(person, shop.frame(model="Rowan"))
    page = signed_in("ravi").get(reverse("fitting-page", args=[wanted.public_id]))
    assert f'name="fitting" value="{wanted.public_id}"' in text_of(page)
    signed_in("ravi").post(reverse("order-start", args=[person.public_id]), {"fitting": wanted.public_id})
    order = Order.objects.get(patient=person)
    assert (order.fitting, order.frame) == (wanted, wanted.frame)


def test_a_frame_of_the_patients_own_goes_along_with_the_order():
    person = shop.patient()
    shop.fitting(person, shop.frame(owner=person))
    signed_in("ravi").post(reverse("order-start", args=[person.public_id]))
    assert Order.objects.get(patient=person).frame_source == "own"


def test_a_remake_starts_from_what_was_sent_and_says_of_which_order_it_is():
    first = shop.draft(remarks="Ring first", needed_on=timezone.localdate() + timedelta(days=9))
    send_order(order=first, actor=shop.dispenser(), version=1)
    assert "Order a remake" in page_of(first)
    start = reverse("order-start", args=[first.patient.public_id])
    signed_in("ravi").post(start, {"remake_of": first.public_id})
    again = Order.objects.exclude(pk=first.pk).get()
    assert (again.purpose, again.remake_of, again.state) == ("remake", first, "draft")
    assert (again.lenses, again.fitting, again.lab, again.remarks) == (
        first.lenses,
        first.fitting,
        first.lab,
        "Ring first",
    )
    assert again.needed_on is None


@pytest.mark.parametrize("asked", [{"remake_of": "none"}, {"fitting": "none"}, {"remake_of": "theirs"}])
def test_no_order_is_started_from_what_is_not_this_patients(asked):
    other = shop.draft()
    send_order(order=other, actor=shop.dispenser(), version=1)
    person = shop.patient("P-90077")
    asked = {name: other.public_id if value == "theirs" else value for name, value in asked.items()}
    answer = signed_in("ravi").post(reverse("order-start", args=[person.public_id]), asked)
    assert answer.status_code == 404
    assert not Order.objects.filter(patient=person).exists()


def test_an_order_can_be_started_before_anything_is_measured():
    person = shop.patient()
    signed_in("ravi").post(reverse("order-start", args=[person.public_id]))
    html = page_of(Order.objects.get(patient=person))
    assert "Nothing has been measured for this patient yet" in html
    assert "Choose a lab" in html


def test_the_front_desk_reads_a_draft_and_cannot_change_it():
    order = shop.draft()
    html = page_of(order, signed_in("dora"))
    assert 'id="draft"' not in html
    assert "What happened" in html
    assert "Review and send" not in html
    assert change(order, signed_in("dora"), on=page_of(order)).status_code == 403


def test_who_may_draw_up_but_not_send_an_order_settles_nothing_of_it(monkeypatch):
    monkeypatch.setitem(ABILITIES, Role.DISPENSER, ABILITIES[Role.DISPENSER] - {Ability.ORDER_SEND})
    order = shop.draft()
    for address in ("order-settle", "order-unsettle"):
        assert signed_in("ravi").post(reverse(address, args=[order.public_id]), headers=HTMX).status_code == 403
    assert reverse("order-settle", args=[order.public_id]) not in page_of(order)


@pytest.mark.parametrize("end", ["sent", "cancelled"])
def test_what_is_no_draft_any_more_shows_its_record_and_takes_no_change(end):
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
def test_each_choice_about_the_job_is_saved_as_it_is_made(field, typed, column, value):
    order = shop.draft()
    answer = change(order, **{field: typed})
    assert answer.status_code == 200
    assert getattr(stored(order), column) == value
    assert (stored(order).version, stored(order).saved_by.username) == (2, "ravi")
    assert AuditEvent.objects.get(verb="order.save").changes.keys() >= {column}


LENS_FIELDS = [
    ("design", "prog", "design", "prog"),
    ("blank_mm", "70", "blank_mm", 70.0),
    ("base_curve_d", "5,25", "base_curve_d", 5.25),
    ("centre_thickness_mm", "2.2 mm", "centre_thickness_mm", 2.2),
    ("colour", "Brown, 15 %", "colour", "Brown, 15 %"),
    ("instruction", "balance", "instruction", "balance"),
    ("treatments", [], "treatments", []),
]


@pytest.mark.parametrize(("field", "typed", "key", "value"), LENS_FIELDS, ids=lambda part: str(part))
def test_each_choice_of_lens_is_saved_for_both_eyes_while_the_left_is_as_the_right(field, typed, key, value):
    order = shop.draft()
    change(order, **{f"right__{field}": typed})
    lenses = stored(order).lenses
    assert lenses["right"][key] == value
    assert lenses["left"] == lenses["right"]


def test_saving_the_page_as_it_was_opened_changes_nothing_of_the_order():
    order = shop.draft(
        lenses={
            "right": {**shop.LENS, "blank_mm": 65, "base_curve_d": 4.0},
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


def test_unticking_left_as_right_gives_the_left_lens_its_own_choices():
    order = shop.draft()
    answer = text_of(change(order, same=None))
    assert 'name="right-design"' in answer
    assert 'name="left-design"' in answer
    page = page_of(order).replace('name="same"', 'name="unticked"')
    start = answer.index('<section class="panel" id="lenses"')
    own = typed_on(f'<form class="stack" id="draft">{answer[start:]}</form>')
    own |= {name: value for name, value in typed_on(page).items() if name not in own}
    own.pop("unticked", None)
    own |= {"left-design": ["prog"], "version": ["2"]}
    signed_in("ravi").post(reverse("order-live", args=[order.public_id]), own, headers=HTMX)
    lenses = stored(order).lenses
    assert (lenses["right"]["design"], lenses["left"]["design"]) == ("sv", "prog")


def test_ticking_left_as_right_again_copies_the_right_lens():
    order = shop.draft(lenses={"right": shop.LENS, "left": {**shop.LENS, "design": "prog"}})
    answer = text_of(change(order, same="on"))
    assert stored(order).lenses["left"] == shop.LENS
    assert 'name="left-design"' not in answer


def test_ordering_one_lens_asks_what_is_known_of_the_lens_that_stays():
    order = shop.draft()
    answer = text_of(change(order, eyes="left"))
    assert stored(order).lenses["right"] is None
    assert stored(order).lenses["left"] == shop.LENS
    assert "The lens that stays" in answer
    html = page_of(order)
    change(order, on=html, kept__material="CR-39", kept__base_curve_d="6", kept__treatments="hard, tint")
    assert stored(order).kept_lens == {"material": "CR-39", "base_curve_d": 6.0, "treatments": ["hard", "tint"]}
    change(order, eyes="both")
    assert stored(order).lenses["right"] == shop.LENS


def test_a_design_without_corridors_loses_the_corridor_and_no_fault_is_told():
    lens = {"design": "prog", "material": "m160", "corridor_mm": 14.0, "treatments": ["ar"]}
    order = shop.draft(lenses={"right": lens, "left": lens})
    answer = change(order, right__design="sv")
    assert stored(order).lenses["right"] == {"design": "sv", "material": "m160", "treatments": ["ar"]}
    assert "errorlist" not in text_of(answer)
    assert 'name="right-corridor_mm"' not in text_of(answer)


def test_another_lab_brings_its_own_catalogue_and_drops_what_it_does_not_offer():
    order = shop.draft()
    other = shop.lab("Far Lab")
    designs = [{**shop.CATALOGUE["designs"][1], "id": "far-prog", "name": "Far progressive"}]
    content = shop.catalogue_bytes(lab="Far Lab", designs=designs)
    import_catalogue(lab=other, content=content, actor=None)
    answer = text_of(change(order, lab=str(other.public_id)))
    assert stored(order).lenses["right"] == {"material": "m160", "treatments": ["ar"]}
    assert stored(order).catalogue == other.catalogues.get(in_use=True)
    assert "Far progressive" in answer
    assert "errorlist" not in answer


def test_a_lab_that_went_out_of_use_stays_on_the_drafts_drawn_up_for_it():
    order = shop.draft()
    type(order.lab).objects.update(active=False)
    change(order, remarks="Still for them")
    assert stored(order).lab == shop.lab()


WRONG = [
    ("right__base_curve_d", "flat", "flat is not a figure"),
    ("right__base_curve_d", "40", "40 D cannot be right: 0 to 14 D is possible"),
    ("right__centre_thickness_mm", "0.1", "0.1 mm cannot be right"),
    ("needed_on", "2020-01-01", "This day has passed"),
    ("needed_on", "soon", "Enter a valid date"),
    ("remake_of", "D-77777", "No order D-77777 of this patient was sent"),
    ("right__colour", "x" * 300, "at most 120 characters"),
    ("remarks", "y" * 1001, "at most 1000 characters"),
]


@pytest.mark.parametrize(("field", "typed", "said"), WRONG, ids=lambda part: str(part)[:30])
def test_a_field_at_fault_says_so_in_its_place_keeps_its_stored_value_and_the_rest_is_saved(field, typed, said):
    lens = {**shop.LENS, "base_curve_d": 4.0, "centre_thickness_mm": 2.0, "colour": "grey"}
    order = shop.draft(lenses={"right": lens, "left": lens}, remarks="As before")
    before = stored(order)
    also = {"remarks": "Also changed"} if field != "remarks" else {"supply": "uncut"}
    answer = text_of(change(order, **{field: typed}, **also))
    slot = answer.split(f'id="slot-{field.replace("__", "-")}"', 1)[1].split("</div>", 1)[0]
    assert said in slot
    after = stored(order)
    assert after.lenses == before.lenses
    assert (after.needed_on, after.remake_of) == (before.needed_on, None)
    assert (after.remarks, after.supply) == (
        ("As before", "uncut") if field == "remarks" else ("Also changed", "fitted")
    )


def test_mending_a_fault_clears_its_place():
    order = shop.draft()
    answer = text_of(change(order, needed_on=(timezone.localdate() + timedelta(days=9)).isoformat()))
    assert '<div class="slot" id="slot-needed_on" aria-live="polite" hx-swap-oob="true"></div>' in answer


def test_a_day_that_passed_while_the_draft_lay_about_is_not_blamed_on_today_s_typing():
    order = shop.draft(needed_on=timezone.localdate() - timedelta(days=3))
    assert "This day has passed" not in text_of(change(order, remarks="x"))


def test_without_scripts_a_refused_page_comes_back_with_what_was_typed():
    order = shop.draft()
    values = typed_on(page_of(order)) | {"right-base_curve_d": "flat", "remarks": "Ring first"}
    answer = signed_in("ravi").post(reverse("order-live", args=[order.public_id]), values)
    assert 'value="flat"' in text_of(answer)
    assert "flat is not a figure" in text_of(answer)
    assert stored(order).remarks == "Ring first"
    mended = values | {"right-base_curve_d": "4", "version": "2"}
    answer = signed_in("ravi").post(reverse("order-live", args=[order.public_id]), mended)
    assert answer.status_code == 302


def test_a_remake_names_an_order_of_this_patient_that_was_sent_in_its_newest_revision():
    first = shop.draft()
    send_order(order=first, actor=shop.dispenser(), version=1)
    second = amend_order(order=stored(first), actor=shop.dispenser())
    send_order(order=second, actor=shop.dispenser(), version=second.version)
    order = shop.draft(frame=first.frame, prescription=first.prescription, fitting=first.fitting)
    change(order, purpose="remake", remake_of=first.number.lower())
    assert stored(order).remake_of == second


@pytest.mark.parametrize("whose", ["another patient", "itself", "a draft"])
def test_a_remake_of_an_order_that_is_not_this_patients_past_pair_is_refused(whose):
    order = shop.draft()
    if whose == "another patient":
        other = shop.draft(patient=shop.patient("P-90012"))
        send_order(order=other, actor=shop.dispenser(), version=1)
    else:
        other = order if whose == "itself" else shop.draft()
    answer = text_of(change(order, remake_of=other.number))
    assert f"No order {other.number} of this patient was sent" in answer
    assert stored(order).remake_of is None


def test_a_record_of_another_patient_cannot_be_slipped_in():
    order = shop.draft()
    other = shop.patient("P-90013")
    foreign = shop.prescription(other)
    change(order, prescription=str(foreign.public_id))
    assert stored(order).prescription != foreign


def test_the_second_of_two_savers_is_shown_both_and_may_keep_theirs():
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
def test_a_version_that_is_none_overwrites_nothing(version):
    order = shop.draft()
    answer = change(order, remarks="Mine", version=version)
    assert answer.status_code == 200
    assert "changed this draft" in text_of(answer)
    assert stored(order).remarks == ""


def drawn_too_big():
    """A frame whose lens no blank of the catalogue covers: a stop, for each eye."""
    person = shop.patient()
    frame = shop.frame(model="Wide", a_mm=62, b_mm=48, dbl_mm=22, ed_mm=66)
    return shop.draft(
        patient=person, frame=frame, fitting=shop.fitting(person, frame, height_mm_right=25, height_mm_left=25)
    )


def test_a_stop_is_lifted_with_a_reason_in_the_name_of_who_gave_it():
    order = drawn_too_big()
    assert "Say why this order may be sent all the same" in text_of(settle(order, "blank-size", "right", reason=" "))
    answer = text_of(settle(order, "blank-size", "right", reason="The lab has 80 mm in stock"))
    assert "Lifted by Ravi Castellan: The lab has 80 mm in stock" in answer
    (entry,) = stored(order).lifted
    assert (entry["rule"], entry["eye"], entry["by"]) == ("blank-size", "right", "Ravi Castellan")


def test_what_was_lifted_lapses_when_its_facts_change_and_stays_when_others_do():
    order = drawn_too_big()
    settle(order, "blank-size", "right", reason="The lab has 80 mm in stock")
    assert "Lifted by Ravi Castellan" in text_of(change(order, remarks="Mind the bridge"))
    assert "Lifted by Ravi Castellan" not in text_of(change(order, right__blank_mm="65"))


def test_a_lifted_stop_can_be_taken_back():
    order = drawn_too_big()
    settle(order, "blank-size", "right", reason="The lab has 80 mm in stock")
    data = {"rule": "blank-size", "eye": "right", "version": stored(order).version}
    address = reverse("order-unsettle", args=[order.public_id])
    answer = text_of(signed_in("ravi").post(address, data, headers=HTMX))
    assert "Lifted by" not in answer
    assert stored(order).lifted == []
    answer = text_of(signed_in("ravi").post(address, data | {"version": stored(order).version}, headers=HTMX))
    assert "The check no longer says" in answer


def test_a_question_is_confirmed_by_name_without_a_reason():
    person, frame = shop.patient(), shop.frame()
    uneven = shop.fitting(person, frame, pd_mm_right=35.0, binocular_pd_mm_both=66.5)
    order = shop.draft(patient=person, frame=frame, fitting=uneven)
    asked = next(part for part in judge(order).report.findings if part.rule == "pd-asymmetry")
    assert asked.level == "ask"
    assert "Confirmed by Ravi Castellan" in text_of(settle(order, asked.rule, asked.eye or ""))


def test_settling_on_top_of_an_older_version_is_refused_and_shows_both():
    order = drawn_too_big()
    save_draft(order=stored(order), actor=shop.dispenser(), version=1, fields={"remarks": "Hers"})
    data = {"rule": "blank-size", "eye": "right", "version": 1, "reason": "The lab has 80 mm"}
    answer = signed_in("ravi").post(reverse("order-settle", args=[order.public_id]), data, headers=HTMX)
    assert "changed this draft" in text_of(answer)
    assert stored(order).lifted == []


def test_a_finding_that_nobody_made_cannot_be_settled():
    order = shop.draft()
    assert "The check no longer says “blank-size”" in text_of(settle(order, "blank-size", "right", reason="x"))


def test_the_desk_asks_the_database_the_same_few_questions_however_much_is_on_record(django_assert_max_num_queries):
    order = shop.draft()
    client = signed_in("ravi")
    page = page_of(order, client)
    for number in range(4):
        shop.prescription(order.patient, tested_on=timezone.localdate() - timedelta(days=400 + number))
        shop.fitting(order.patient, shop.frame(model=f"Alder {number}"))
        shop.lab(f"Lab {number}")
    with django_assert_max_num_queries(26):
        client.get(reverse("order-page", args=[order.public_id]))
    with django_assert_max_num_queries(26):
        change(order, client, on=page, remarks="x")
