"""The reading page without a browser: the verdict beside the fields, what is wrong named there, and nothing lost."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
import segno
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from dispensing.models import Practice
from orders.models import FinishedReading, InspectionPhoto, Order
from orders.services.judging import judge
from orders.services.lifting import lift
from orders.services.sending import send_order
from tests.bystanders.writings import a_picture
from tests.known import there
from tests.orders import shop
from tests.orders.views.desk import text_of
from tests.people import Answer, person, signed_in

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]

GOOD = {
    **{"right-sphere": "-2.25", "right-pd_mm": "32", "right-height_mm": "20"},
    **{"left-sphere": "-2.00", "left-pd_mm": "31,5", "left-height_mm": "20"},
}


PROGRESSIVE = {
    **{"right-sphere": "-3.25", "right-cylinder": "-1.00", "right-axis": "170", "right-add": "2.00"},
    **{"left-sphere": "-2.00", "left-add": "2.00"},
}


def sent(**fields: Any) -> Order:
    """A pair of −2.25 and −2.00, sent; the lab has it."""
    return sent_now(shop.draft(**fields))


def sent_now(draft: Order) -> Order:
    order = Order.objects.get(pk=draft.pk)
    send_order(order=order, actor=person("ravi"), version=order.version)
    order.documents.get().deliveries.update(state="sent")
    return Order.objects.get(pk=order.pk)


def progressive() -> Order:
    """−3.25 / −1.00 x 170 and −2.00, add 2.00, in progressives."""
    of = shop.patient(born_on=shop.patient().born_on.replace(year=1970))
    right, left = {"sphere": -3.25, "cylinder": -1, "axis": 170, "add": 2}, {"sphere": -2, "add": 2}
    lens = {"design": "prog", "material": "m160", "corridor_mm": 14, "treatments": ["ar"]}
    order = shop.draft(
        patient=of,
        prescription=shop.prescription(of, right=right, left=left, use="distance_and_near"),
        lenses={"right": lens, "left": lens},
    )
    for part in judge(order).open_findings:
        order = Order.objects.get(pk=order.pk)
        lift(order=order, actor=person("ravi"), version=order.version, rule=part.rule, eye=part.eye, reason="Wanted")
    return sent_now(order)


def post(name: str, order: Order, data: dict[str, Any], who: str = "ravi") -> Answer:
    return signed_in(who).post(reverse(name, args=[order.public_id]), data)


def live(order: Order, **data: Any) -> str:
    return text_of(post("finished-live", order, {**GOOD, **data}))


def cell(html: str, field: str) -> str:
    """What stands beside one field, as words."""
    found = re.search(rf'<div class="reading-said" id="said-{field}"[^>]*>(.*?)\n</div>', html, re.DOTALL)
    return " ".join(re.sub(r"<[^>]*>", " ", there(found)[1]).split()).replace(" .", ".")


def verdict(html: str) -> str:
    found = re.search(r'id="reading-verdict".*?</svg>(.*?)</div>\s*</div>', html, re.DOTALL)
    return " ".join(re.sub(r"<[^>]*>", " ", there(found)[1]).split()).replace(" .", ".")


def test_each_figure_is_judged_beside_its_field_and_the_whole_above() -> None:
    html = live(sent(), **{"right-sphere": "-2.75"})
    assert cell(html, "right-sphere").startswith("Fail stronger meridian −2.25 → −2.75, ±0.12 D")
    assert cell(html, "left-sphere").startswith("Pass stronger meridian −2.00 → −2.00, ±0.12 D")
    assert verdict(html).startswith("Not as ordered Right power, right weaker meridian: out of tolerance.")
    assert "Limits with † are from memory, check against your copy of the standard." in html
    assert "<input" not in html, "An answer never touches a field."
    assert 'id="id_right-sphere"' not in html


def test_a_confirmed_standard_carries_no_caution() -> None:
    Practice.objects.update(tolerance_standard="ansi-z80.1-2015")
    html = live(sent())
    assert verdict(html).startswith("As ordered By ANSI Z80.1-2015. Borderline")
    assert "from memory" not in html


def test_a_borderline_figure_and_one_not_read_ask_for_another_reading() -> None:
    order = sent()
    assert verdict(live(order, **{"right-sphere": "-2.37"})).startswith("Measure again Right power")
    html = live(order, **{"left-sphere": "", "left-pd_mm": "", "left-height_mm": ""})
    assert "Not read yet: left power, PD of the pair." in verdict(html)


def test_a_defect_counts_against_a_pair_whose_figures_are_as_ordered() -> None:
    order = sent()
    html = live(order, **{"point-edge-found": "defect", "point-edge-words": "Chip", "point-tint-found": "fine"})
    assert verdict(html).startswith("Figures as ordered, but with a defect Defect: edge.")
    assert verdict(live(order, **{"point-tint-found": "fine"})).startswith("As ordered")
    failing = live(order, **{"right-sphere": "-3.00", "point-edge-found": "defect", "point-edge-words": "Chip"})
    assert verdict(failing).startswith("Not as ordered")
    assert "Defect: edge." in verdict(failing)


def test_a_pd_out_of_tolerance_is_written_as_pds_are() -> None:
    assert verdict(live(progressive(), **PROGRESSIVE, **{"right-pd_mm": "35"})).startswith("Not as ordered Right PD:")


def test_the_other_cylinder_form_is_shown_as_what_it_is() -> None:
    html = live(sent(), **{"right-sphere": "-2.50", "right-cylinder": "+0.25", "right-axis": "90"})
    assert "The same as −2.25 / −0.25 x 180" in html


# Bad input: each named beside its field, and everything else still judged


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"right-sphere": "2.25"}, "right-sphere", "2.25: the sign is missing. Write +2.25 or -2.25."),
        ({"right-sphere": "D-00042"}, "right-sphere", "D-00042 cannot be read."),
        ({"right-axis": "200", "right-cylinder": "-1.00"}, "right-axis", "An axis of 200 is not possible"),
        ({"right-axis": "90"}, "right-axis", "An axis is written but no cylinder."),
        ({"right-prism_horizontal": "1.0"}, "right-prism_horizontal", "A prism needs its base: in or out."),
        ({"right-prism_vertical_base": "up"}, "right-prism_vertical", "A base is chosen but no prism."),
        ({"right-pd_mm": "320"}, "right-pd_mm", "60"),
    ],
)
def test_what_cannot_be_right_is_named_beside_its_field_and_nothing_else_suffers(
    typed: dict[str, str], field: str, said: str
) -> None:
    order = sent()
    html = live(order, **typed)
    assert said in cell(html, field)
    assert cell(html, "left-sphere").startswith("Pass")
    saved = post("finished-reading", order, {**GOOD, **typed})
    page = text_of(saved)
    if saved.status_code == 200:
        name, value = next(iter(typed.items()))
        assert f'name="{name}"' in page
        assert value in page, "What was typed stays."
        assert "Not saved yet. Put this right:" in page
        assert not FinishedReading.objects.exists()
    else:
        assert field == "right-axis", "An axis for a sphere means nothing, so it stops nobody."


def test_readings_of_the_wrong_eye_offer_to_be_exchanged() -> None:
    of = shop.patient()
    order = sent(patient=of, prescription=shop.prescription(of, right={"sphere": -3}, left={"sphere": -2}))
    html = live(order, **{"right-sphere": "-2.00", "left-sphere": "-3.00", "right-pd_mm": "31.5", "left-pd_mm": "32"})
    assert "With right and left exchanged, these readings are what was ordered." in html
    assert "data-exchange" in html
    assert "data-exchange" not in live(order, **{"right-sphere": "-4.00"})


def test_an_add_read_as_the_near_power_and_a_wrong_sign_are_named_beside_their_fields() -> None:
    order = progressive()
    judged = {
        **{"right-sphere": "-3.25", "right-cylinder": "+1.00", "right-axis": "170", "right-add": "-1.25"},
        **{"left-sphere": "-2.00", "left-add": "2.00"},
    }
    html = live(order, **judged)
    assert "is the near power, not the add" in cell(html, "right-add")
    assert "With −1.00 instead of +1.00 this is what was ordered." in cell(html, "right-cylinder").replace(
        "-1.00", "−1.00"
    )
    assert "near power" not in cell(html, "left-add")


# Saving


def test_a_reading_is_saved_with_inspection_photo_and_instrument_and_stands_on_the_orders_page() -> None:
    order, other = sent(), sent(patient=shop.patient("P-90002"))
    photo = SimpleUploadedFile("scratch.jpg", a_picture(), "image/jpeg")
    answer = post(
        "finished-reading",
        order,
        {
            **GOOD,
            **{"point-surface-found": "defect", "point-surface-words": "Scratch, right", "point-surface-photo": photo},
            **{"point-tint-found": "fine", "instrument": "Bench 2", "note": "Wiped first"},
        },
    )
    assert answer.status_code == 302
    row = FinishedReading.objects.get()
    assert (row.order, row.result, row.instrument, row.note) == (order, "accept", "Bench 2", "Wiped first")
    assert row.inspection == {
        "surface": {"found": "defect", "words": "Scratch, right"},
        "tint": {"found": "fine", "words": ""},
    }
    assert row.has_defects
    page = text_of(signed_in("dora").get(reverse("order-page", args=[order.public_id])))
    for said in ("As ordered", "Surface: Scratch, right", "Wiped first", "Bench 2", "Read it again"):
        assert said in page
    assert "Not read yet" in text_of(signed_in("dora").get(reverse("order-page", args=[other.public_id])))
    shown = signed_in("dora").get(reverse("inspection-photo", args=[InspectionPhoto.objects.get().public_id]))
    assert (shown["Content-Type"], shown["Cache-Control"]) == ("image/jpeg", "private, no-store")
    again = text_of(signed_in("ravi").get(reverse("finished-reading", args=[order.public_id])))
    assert 'value="Bench 2"' in again, "Whoever read with it last most likely reads with it again."


def test_a_saved_reading_leads_to_the_decision_for_those_who_decide_unless_somebody_else_reads_it_first() -> None:
    order = sent()
    pages = {who: post("finished-reading", order, GOOD, who)["Location"] for who in ("ravi", "dora")}
    assert pages == {
        "ravi": reverse("order-decide", args=[order.public_id]),
        "dora": reverse("order-page", args=[order.public_id]),
    }
    Practice.objects.update(second_reader_for=["every"])
    waiting = post("finished-reading", order, GOOD, "dora")
    assert waiting["Location"] == reverse("order-page", args=[order.public_id])
    second = post("finished-reading", order, GOOD, "ravi")
    assert second["Location"] == reverse("order-decide", args=[order.public_id])


@pytest.mark.parametrize(
    ("inspected", "said"),
    [
        ({"point-edge-found": "defect"}, "Write what is wrong"),
        ({"point-edge-words": "Chipped"}, "choose Defect, or clear them"),
    ],
)
def test_a_defect_has_its_words_and_words_are_a_defect(inspected: dict[str, str], said: str) -> None:
    order = sent()
    assert said in text_of(post("finished-reading", order, {**GOOD, **inspected}))
    assert not FinishedReading.objects.exists()


def test_a_file_that_is_no_picture_is_refused_with_the_reading_kept_on_the_page() -> None:
    order = sent()
    bad = SimpleUploadedFile("x.jpg", b"nothing", "image/jpeg")
    data = {"point-edge-found": "defect", "point-edge-words": "Chip", "point-edge-photo": bad}
    page = text_of(post("finished-reading", order, {**GOOD, **data}))
    assert 'value="-2.25"' in page
    assert not FinishedReading.objects.exists()


def test_powers_that_the_lab_states_take_the_place_of_the_ordered_ones() -> None:
    order, stated = sent(), {"right_stated": "-2.40 -0.10 x 90"}
    read = {"right-sphere": "-2.40", "right-cylinder": "-0.10", "right-axis": "90"}
    assert cell(live(order, **read), "right-sphere").startswith("Fail")
    assert cell(live(order, **read, **stated), "right-sphere").startswith("Pass stronger meridian −2.50 → −2.50")
    page = text_of(post("finished-reading", order, {**GOOD, "right_stated": "about -2"}))
    assert "about -2 cannot be read. Write it on one line" in page


def test_the_second_reader_reads_without_seeing_the_first_reading() -> None:
    Practice.objects.update(second_reader_for=["every"])
    order = sent()
    post("finished-reading", order, {**GOOD, "right-sphere": "-2.75"})
    own = text_of(signed_in("ravi").get(reverse("finished-reading", args=[order.public_id])))
    assert "A second reader is wanted." in own
    page = text_of(signed_in("ines").get(reverse("finished-reading", args=[order.public_id])))
    assert "You are the second reader." in page
    assert "2.75" not in page
    post("finished-reading", order, GOOD, "ines")
    first, second = FinishedReading.objects.order_by("pk")
    assert (second.second_of, second.read_by.username) == (first, "ines")


@pytest.mark.parametrize("place", ["draft", "cancelled", "superseded"])
def test_a_pair_that_cannot_be_here_cannot_be_read(place: str) -> None:
    order = shop.brought_to(place)
    answer = signed_in("ravi").get(reverse("finished-reading", args=[order.public_id]), follow=True)
    assert "there is no finished pair to read" in text_of(answer)
    assert post("finished-live", order, GOOD).status_code == 409


# The ticket


def test_a_scanned_ticket_opens_its_order_and_an_unknown_one_is_named() -> None:
    order = sent()
    opened = signed_in("dora").post(reverse("finished-ticket"), {"number": f" {order.number.lower()} "})
    assert opened["Location"] == reverse("finished-reading", args=[order.public_id])
    page = text_of(signed_in("dora").post(reverse("finished-ticket"), {"number": "D-99999"}))
    assert "There is no order D-99999. Check the ticket." in page
    assert 'value="D-99999"' in page


def test_a_photo_of_the_tickets_code_opens_its_order() -> None:
    order, kept = sent(), io.BytesIO()
    segno.make_qr(order.number, error="m").save(kept, kind="png", scale=12, border=6)
    photo = SimpleUploadedFile("ticket.png", kept.getvalue(), "image/png")
    opened = signed_in("dora").post(reverse("finished-ticket"), {"picture": photo})
    assert opened["Location"] == reverse("finished-reading", args=[order.public_id])
    blank = io.BytesIO()
    Image.new("RGB", (400, 300), "white").save(blank, "JPEG")
    for content in (blank.getvalue(), b"no picture"):
        seen = SimpleUploadedFile("x.jpg", content, "image/jpeg")
        page = text_of(signed_in("dora").post(reverse("finished-ticket"), {"picture": seen}))
        assert "No code is seen in this photo." in page


def test_a_pasted_text_gives_values_and_names_what_it_sets_aside() -> None:
    html = text_of(post("finished-pasted", sent(), {"pasted": "R -2.25\nSN 4711"}))
    assert '"right-sphere": "-2.25"' in html
    assert "<q>SN 4711</q>: “SN” is not understood." in html
    assert "Nothing was read." in text_of(
        post("finished-pasted", sent(patient=shop.patient("P-90002")), {"pasted": ""})
    )
