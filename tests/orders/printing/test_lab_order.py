"""The lab order on paper: its words, its pages, its code, what is inside the file, and how it looks."""

from __future__ import annotations

import functools
import io
import json
import re
from datetime import UTC, datetime
from typing import Any

import pikepdf
import pypdfium2
import pytest
import zxingcpp

from orders.documents.canonical import canonical_bytes, sha256_hex
from orders.documents.lens_order import parse_order
from orders.printing.lab_order import NoNetwork, lab_order_html, lab_order_pdf, moment_of, pdf_of
from orders.printing.letters import printable
from orders.rules import check
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, LENS_NAMES, PROGRESSIVE, order, traced

pytestmark = pytest.mark.paper

NORMAL = {
    "lenses__right": {**PROGRESSIVE, "extra": {**LENS_NAMES, "design_kind": "progressive"}},
    "lenses__left": {**PROGRESSIVE, "extra": {**LENS_NAMES, "design_kind": "progressive"}},
}


def printed(**changes: Any) -> bytes:
    return _printed(canonical_bytes(order(**changes)))


@functools.lru_cache
def _printed(text: bytes) -> bytes:
    read = parse_order(text)
    report = check(read, CATALOGUE_DOCUMENT)
    return lab_order_pdf(read, text, catalogue=CATALOGUE_DOCUMENT, report=report)


def pages(pdf: bytes) -> list[str]:
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.get_textpage().get_text_range().replace("\r\n", "\n") for page in document]


def words(pdf: bytes) -> str:
    return " ".join(" ".join(pages(pdf)).split())


def picture(pdf: bytes, scale: float = 200 / 72) -> Any:
    with pypdfium2.PdfDocument(pdf) as document:
        return document[0].render(scale=scale).to_pil()


def test_a_normal_order_is_one_page_of_a4() -> None:
    pdf = printed(**NORMAL)
    with pypdfium2.PdfDocument(pdf) as document:
        assert len(document) == 1
        assert document[0].get_size() == pytest.approx((595.28, 841.89), abs=0.1)


def test_a_practice_where_offices_print_on_letter_gets_letter_with_everything_on_it() -> None:
    pdf = printed(**NORMAL, practice__country="US")
    with pypdfium2.PdfDocument(pdf) as document:
        assert len(document) == 1
        assert document[0].get_size() == pytest.approx((612, 792), abs=0.1)
    assert "Scale 1 : 1" in words(pdf)


def test_a_revision_says_at_the_top_what_it_replaces_and_remarks_are_read_before_any_figure() -> None:
    changes = [{"field": "fitting.right.pd_mm", "from": 31.5, "to": 31.0}]
    pdf = printed(
        **NORMAL,
        revision=2,
        replaces={"revision": 1, "sha256": "ab" * 32, "changes": changes},
        remarks="Mind the hinge.",
    )
    said = words(pdf)
    order_of_reading = [
        "account 4711",
        "REPLACES revision 1 of D-00042, do not make both",
        "Right PD: 31.5 mm → 31.0 mm",
        "Remarks Mind the hinge.",
        "To be made",
        "Worked out, mm",
    ]
    assert [said.index(text) for text in order_of_reading] == sorted(said.index(text) for text in order_of_reading)


def test_the_paper_says_what_the_order_says() -> None:
    said = words(printed(**NORMAL))
    for words_on_paper in (
        "D-00042",
        "Lens order, revision 1",
        "Harbour Lane Opticians",
        "account 4711",
        "Quay Street Lab",
        "Patient P-00017",
        "Ordered 25 Nov 2026",
        "Needed by 4 Dec 2026",
        "R -3.25 -1.00 170 +2.00",
        "L -2.75 -0.50 10 +2.00 1.00 in, 0.50 down",
        "Height (fitting cross)",
        "R 31.0 – 22.0 13.0",
        "L 32.5 – 21.5 13.0",
        "pantoscopic tilt 9.0 °",
        "Alder 50 – full rim enclosed with this order 50.0 40.0 18.0 54.0",
        "Anti-reflection",
        "Scale 1 : 1",
        "Page 1 of 1",
    ):
        assert words_on_paper in said


def test_a_practice_that_writes_plus_cylinders_gets_plus_cylinders() -> None:
    form = {"cylinder_form": "plus", "right_heading": "OD", "left_heading": "OS"}
    said = words(printed(practice__extra=form))
    assert "OD -4.25 +1.00 80 +2.00" in said
    assert "OS -3.25 +0.50 100 +2.00" in said


def test_the_hash_on_the_page_is_that_of_the_document_inside() -> None:
    pdf = printed(**NORMAL)
    with pikepdf.open(io.BytesIO(pdf)) as file:
        inside = file.attachments["order.json"].get_file().read_bytes()
    assert inside == canonical_bytes(order(**NORMAL))
    digits = sha256_hex(inside)
    assert " ".join(digits[i : i + 4] for i in range(0, 16, 4)) in words(pdf)


def test_the_file_is_a_tagged_pdf_a3_with_its_source_attached() -> None:
    pdf = printed(**NORMAL)
    assert pdf.startswith(b"%PDF-1.7")
    with pikepdf.open(io.BytesIO(pdf)) as file:
        metadata = file.open_metadata()
        assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"]) == ("3", "A")
        assert file.Root.Lang == "en"
        assert file.Root.MarkInfo.Marked
        assert len(file.Root.OutputIntents) == 1
        assert list(file.attachments) == ["order.json"]
        specifications = [
            o for o in file.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/Filespec"
        ]
        assert specifications
        assert all(specification.AFRelationship == "/Source" for specification in specifications)
        assert "/Encrypt" not in file.trailer
        keys = {key for o in file.objects if isinstance(o, pikepdf.Dictionary) for key in o}
        assert not keys & {"/JavaScript", "/JS", "/AA", "/OpenAction"}


def test_every_heading_of_a_table_says_whether_it_heads_a_column_or_a_row() -> None:
    with pikepdf.open(io.BytesIO(printed(**NORMAL))) as file:
        headings = [o for o in file.objects if isinstance(o, pikepdf.Dictionary) and o.get("/S") == "/TH"]
        assert headings
        for heading in headings:
            in_head = heading.P.P.S == "/THead"
            assert heading.A.Scope == ("/Column" if in_head else "/Row")
        assert {str(heading.A.Scope) for heading in headings} == {"/Column", "/Row"}


def test_every_font_is_embedded_and_every_figure_has_a_text_for_those_who_do_not_see_it() -> None:
    with pikepdf.open(io.BytesIO(printed(**NORMAL))) as file:
        dictionaries = [o for o in file.objects if isinstance(o, pikepdf.Dictionary)]
        descriptors = [o for o in dictionaries if o.get("/Type") == "/FontDescriptor"]
        assert descriptors
        assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(d.keys()) for d in descriptors)
        figures = [o for o in dictionaries if o.get("/S") == "/Figure"]
        assert figures
        assert all(str(figure.get("/Alt", "")) for figure in figures)


@pytest.mark.parametrize("name", ["Harbour Lane Opticians", "O" * 120], ids=["usual", "as long as it may be"])
def test_the_code_on_the_page_says_order_revision_practice_and_account(name: str) -> None:
    codes = zxingcpp.read_barcodes(picture(printed(**NORMAL, revision=3, practice__name=name)))
    said = f"Order D-00042 revision 3\nPractice {name}\nAccount 4711"
    assert [(code.text, code.format.name) for code in codes] == [(said, "QRCode")]


def test_the_drawing_is_life_size_on_the_page() -> None:
    """The blank of 70 mm, blue on white, measured in the picture of the page: along the row of its leftmost dot."""
    dots_a_mm = 8
    image = picture(printed(**NORMAL), scale=dots_a_mm * 25.4 / 72).convert("RGB")
    half = range(image.width // 2)
    blue = [(x, y) for y in range(image.height) for x in half if image.getpixel((x, y)) == (0x1F, 0x5F, 0x99)]
    left, row = min(blue)
    on_row = [x for x in range(image.width) if image.getpixel((x, row)) == (0x1F, 0x5F, 0x99)]
    assert min(abs((x - left) / dots_a_mm - 70.0) for x in on_row) < 0.5


def test_printing_twice_gives_the_same_bytes() -> None:
    text = canonical_bytes(order(**NORMAL))
    report = check(parse_order(text), CATALOGUE_DOCUMENT)
    assert lab_order_pdf(parse_order(text), text, catalogue=CATALOGUE_DOCUMENT, report=report) == _printed(text)


def test_a_lens_that_misses_its_blank_is_printed_with_who_lifted_the_stop_and_why() -> None:
    lifted = [{"rule": "blank-size", "eye": "right", "reason": "Lab has 80 mm", "by": "Dana Okafor"}]
    said = words(printed(fitting__right__pd_mm=24.0, lifted=lifted))
    found = "The right lens needs a blank of 75.47 mm; the blank is 65 mm."
    assert f"{found} Lifted by Dana Okafor: Lab has 80 mm." in said
    assert "No larger blank of this lens is listed" not in said, "advice to the practice is nothing for the lab"
    assert "mm short" in said


def test_a_single_lens_names_the_lens_that_stays() -> None:
    kept = {"design": "single vision", "material": "1.50", "base_curve_d": 6.0, "centre_thickness_mm": 2.1}
    said = words(printed(lenses__left=None, kept_lens=kept))
    assert "Right lens only" in said
    assert "L none ordered" in said
    assert "Lens that stays in the frame: single vision, 1.50, base curve 6.00 D (1.530), centre 2.1 mm" in said


def test_an_urgent_order_says_so_before_the_day_by_which_it_is_needed() -> None:
    assert "URGENT · Needed by 4 Dec 2026" in words(printed(extra={"priority": "urgent"}))
    assert "URGENT" not in words(printed())


def test_a_remake_says_of_which_order() -> None:
    assert "Remake of D-00007" in words(printed(purpose="remake", remake_of="D-00007"))


@pytest.mark.parametrize(
    ("changes", "caution"),
    [
        ({"patient__born_on": "2018-05-05"}, "For a child: protected wearer"),
        ({"patient__protected": True}, "For a sight-impaired person"),
        ({"practice__country": "US"}, "21 CFR 801.410"),
        ({"frame__source": "to_follow"}, "The frame follows; it carries the number D-00042."),
        (
            {"lenses__right__extra": {"luminous_transmittances": [0.05]}},
            "Luminous transmittance 5 %: not suitable for driving and road use.",
        ),
        (
            {"lenses__right__extra": {"luminous_transmittances": [0.18]}},
            "Luminous transmittance 18 %: not suitable for driving in twilight or at night.",
        ),
        (
            {"lenses__right__colour": "brown 92 %"},
            "Luminous transmittance 8 %: not suitable for driving and road use.",
        ),
        ({"lenses__right__instruction": "balance"}, "Right eye: balance lens."),
    ],
    ids=str,
)
def test_a_caution_is_printed_where_it_applies_and_only_there(changes: dict[str, Any], caution: str) -> None:
    assert caution in words(printed(**changes))
    assert caution not in words(printed())


def test_a_clear_lens_needs_no_caution_at_all() -> None:
    assert "Caution" not in words(printed())


def test_long_remarks_go_on_to_a_second_page_that_is_numbered_too() -> None:
    pdf = printed(remarks="\n".join(f"Remark {line}" for line in range(60)))
    assert len(pages(pdf)) == 2
    assert "Remark 59" in words(pdf)
    assert "Page 2 of 2" in pages(pdf)[1]


def test_an_order_with_nothing_in_it_still_prints() -> None:
    text = b'{"format":"lens-order/1"}'
    report = check(parse_order(text), CATALOGUE_DOCUMENT)
    said = words(lab_order_pdf(parse_order(text), text, catalogue=None, report=report))
    assert "No lens ordered" in said
    assert "No frame sizes yet" in said


def test_a_name_the_font_has_no_letters_for_is_transcribed_and_the_exact_one_is_inside() -> None:
    pdf = printed(prescription__prescriber="田中 花子", practice__name="אופטיקה")
    said = words(pdf)
    assert "TianZhong HuaZi" in said
    assert "transcribed" in said
    with pikepdf.open(io.BytesIO(pdf)) as file:
        inside = json.loads(file.attachments["order.json"].get_file().read_bytes())
    assert inside["prescription"]["prescriber"] == "田中 花子"
    assert printable("אופטיקה") == "אופטיקה", "Hebrew is in the font"


def test_a_word_of_three_hundred_letters_stays_on_the_page() -> None:
    long = "W" * 300
    names = {**LENS_NAMES, "design_name": long, "treatment_names": [long, long]}
    pdf = printed(
        practice__name=long,
        lab__name=long,
        prescription__prescriber=long,
        frame__model=long,
        lenses__right__treatments=["ar", "hard"],
        lenses__right__extra=names,
        remarks=long,
    )
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            text = page.get_textpage()
            boxes = [text.get_charbox(letter) for letter in range(text.count_chars())]
            assert max(right for _, _, right, _ in boxes) <= page.get_width() - 20


def test_words_from_outside_cannot_become_markup_or_fetch_anything() -> None:
    text = canonical_bytes(order(remarks="<img src='http://127.0.0.1/x'>", lab__name="<b>Lab</b>"))
    read = parse_order(text)
    html = lab_order_html(read, text, catalogue=CATALOGUE_DOCUMENT, report=check(read, CATALOGUE_DOCUMENT))
    assert "<img" not in html
    assert "&lt;b&gt;Lab" in html


def test_a_page_that_asks_for_a_file_or_an_address_is_not_fetched() -> None:
    for address in ("file:///etc/passwd", "http://127.0.0.1:9/x.png"):
        from orders.printing.lab_order import closed_fetcher

        with pytest.raises(NoNetwork):
            closed_fetcher().fetch(address)
        pdf = pdf_of(f"<html lang=en><title>t</title><img alt=a src='{address}'></html>", b"{}", moment_of(order()))
        assert not re.search(rb"/Subtype\s*/Image", pdf)


def test_a_traced_shape_prints_as_well() -> None:
    assert "72 radii attached" in words(printed(frame__shape=traced()))


@pytest.mark.parametrize(
    ("ordered", "tested", "stamped"),
    [
        ("2026-11-25", "2026-10-30", datetime(2026, 11, 25, 12, 0, tzinfo=UTC)),
        (None, "2026-10-30", datetime(2026, 10, 30, 12, 0, tzinfo=UTC)),
        (None, None, datetime(2000, 1, 1, tzinfo=UTC)),
    ],
)
def test_a_pdf_is_stamped_with_a_day_of_its_order_so_that_the_same_order_gives_the_same_file(
    ordered: str | None, tested: str | None, stamped: datetime
) -> None:
    assert moment_of(order(ordered_on=ordered, prescription__tested_on=tested)) == stamped
