"""The practice's own paper, as a scanner and a reader take it: the slips' codes, and the words of each page."""

from __future__ import annotations

import io
import string
from datetime import timedelta
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from django.urls import reverse
from django.utils import timezone

from dispensing.models import Practice
from orders.models import Lab, Order
from orders.printing.code128 import NotInCode128, code128, values
from orders.queries import order_of_number
from orders.services.handing_over import put_in_tray
from orders.services.sending import send_order
from tests.orders import shop
from tests.people import person, signed_in
from tests.stand_in_pdf import no_typesetting

pytestmark = [pytest.mark.paper, pytest.mark.django_db, pytest.mark.either_database]
SLIPS = ("job-slip", "collection-slip")


def sent(reference: str = "P-90001", **known: Any) -> Order:
    """Sent for real; only the lab's PDF is left out, which is no part of this."""
    order = shop.draft(patient=shop.patient(reference, **known))
    with no_typesetting():
        send_order(order=order, actor=person("ravi"), version=order.version)
    return Order.objects.get(pk=order.pk)


def printed(order: Order, kind: str, who: str = "dora") -> pypdfium2.PdfDocument:
    answer = signed_in(who).get(reverse("order-paper", args=[order.public_id, kind]))
    assert answer.headers["Content-Type"] == "application/pdf"
    return pypdfium2.PdfDocument(io.BytesIO(answer.content))


def words(document: pypdfium2.PdfDocument) -> str:
    pages = (page.get_textpage().get_text_bounded() for page in document)
    return " ".join(" ".join(pages).replace("\u200b", "").split())


def codes(document: pypdfium2.PdfDocument) -> list[tuple[str, str]]:
    found = zxingcpp.read_barcodes(document[0].render(scale=3).to_pil())
    return sorted((code.format.name, code.text) for code in found)


@pytest.mark.parametrize("kind", SLIPS)
def test_a_slip_says_its_number_to_scanners_of_squares_and_of_lines_and_the_number_finds_the_order(kind: str) -> None:
    order, other = sent(), sent("P-90002")
    read = codes(printed(order, kind))
    assert read == [("Code128", order.number), ("QRCode", order.number)]
    assert [order_of_number(text) for _, text in read] == [order, order] != [other, other]


def test_the_job_slip_says_what_lies_in_the_tray_and_whom_to_ring() -> None:
    Lab.objects.filter(pk=shop.lab().pk).update(phone="01632 960700")
    order, other = sent(), sent("P-90002", family_name="Zubair")
    put_in_tray(order=order, actor=person("dora"), tray="b7")
    Order.objects.filter(pk=order.pk).update(priority="urgent", promised_on=timezone.localdate() + timedelta(days=2))
    page = printed(order, "job-slip")
    assert len(page) == 1
    says = words(page)
    day = timezone.localdate() + timedelta(days=2)
    for text in (order.number, "Tray B7", "URGENT", "Lindqvist, Åsa", "P-90001", "4711", "01632 960700", "Alder 48",
                 f"Expected {day:%-d %b %Y}", "Single vision, 1.60, Anti-reflection", "Ravi Castellan"):  # fmt: skip
        assert text in says, text
    assert "Zubair" not in says
    assert "URGENT" not in words(printed(other, "job-slip"))


@pytest.mark.parametrize(
    ("place", "says"),
    [("sent", "We expect your spectacles about"), ("checked, patient not told", "We tell you when"),
     ("ready to collect", "Your spectacles are ready.")],
)  # fmt: skip
def test_the_collection_slip_has_no_powers_and_says_how_far_the_pair_is(place: str, says: str) -> None:
    order = sent()
    Order.objects.filter(pk=order.pk).update(place=place)
    text = words(printed(order, "collection-slip"))
    assert says in text
    assert "Harbour Lane Opticians" in text
    assert "2.25" not in text
    assert ("Expected" in words(printed(order, "job-slip"))) is (place == "sent")


def test_the_copy_has_every_fact_that_was_sent_what_happened_since_and_the_documents_hash() -> None:
    order, other = sent(), sent("P-90002", family_name="Zubair")
    text = words(printed(order, "order-copy"))
    for fact in (f"Order {order.number}, revision 1", "−2.25", "−2.00", "Alder 48", "Quay Street Lab", "created",
                 "Ravi Castellan", order.documents.get().sha256[:16]):  # fmt: skip
        assert fact in text, fact
    assert other.documents.get().sha256[:16] not in text
    assert "Zubair" not in text


def test_a_name_that_the_font_lacks_is_transcribed_and_a_long_one_stays_on_the_slip() -> None:
    order = sent(family_name="张" * 40, given_names="ナディン")
    for kind in SLIPS:
        page = printed(order, kind)
        assert len(page) == 1
        assert "Zhang" in words(page)
        assert len(codes(page)) == 2


@pytest.mark.parametrize(("country", "wide_mm"), [("GB", 105), ("US", 102)])
def test_a_slip_is_as_large_as_the_paper_of_the_country_gives(country: str, wide_mm: int) -> None:
    shop.practice()
    Practice.objects.update(country=country)
    assert round(printed(sent(), "job-slip")[0].get_width() / 72 * 25.4) == wide_mm


def test_a_draft_has_no_paper_and_nor_is_there_any_of_another_kind() -> None:
    draft, order = shop.draft(), sent("P-90002")
    for target, kind in ((draft, "job-slip"), (order, "poster")):
        assert signed_in("dora").get(reverse("order-paper", args=[target.public_id, kind])).status_code == 404


LETTERS = [part for start in range(32, 127, 16) if (part := "".join(map(chr, range(start, min(start + 16, 127)))))]


def test_every_character_of_code_128_is_read_back() -> None:
    from weasyprint import HTML

    pages = "".join(f"<p>{code128(text)}</p>" for text in LETTERS)
    page = pypdfium2.PdfDocument(io.BytesIO(HTML(string=pages).write_pdf()))[0]
    read = [code.text for code in zxingcpp.read_barcodes(page.render(scale=3).to_pil())]
    assert sorted(read) == sorted(LETTERS)
    assert set(string.printable[:95]) == set("".join(LETTERS))


def test_the_check_value_is_the_standards_own_and_what_cannot_be_written_is_refused() -> None:
    assert values("A") == [104, 33, 34]  # 104 + 1 × 33 = 137, less 103
    for text in ("", "Å", "\n"):
        with pytest.raises(NotInCode128):
            code128(text)
