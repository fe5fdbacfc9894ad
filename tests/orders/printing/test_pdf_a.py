"""The lab-order PDF against what ISO 19005-3 (PDF/A-3, level A) asks of a file's structure, clause by clause.

No independent validator of PDF/A-3 can be had from PyPI, npm or Debian (Debian has one for PDF/A-1b only), so these
tests look at the structure with pikepdf. They cannot prove conformance: run a validator once before relying on it. The
clauses are from memory of the standard.
"""

from __future__ import annotations

import functools
import io
import re
from collections.abc import Iterator
from typing import Any

import pikepdf
import pytest

from orders.documents.canonical import canonical_bytes
from orders.documents.lens_order import parse_order
from orders.printing.lab_order import lab_order_pdf
from orders.rules import check
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, LENS_NAMES, PROGRESSIVE, order, traced

pytestmark = pytest.mark.paper

PROGRESSIVES = {
    f"lenses__{eye}": {**PROGRESSIVE, "extra": {**LENS_NAMES, "design_kind": "progressive"}}
    for eye in ("right", "left")
}
REPLACES = {"revision": 1, "changes": [{"field": "fitting.right.pd_mm", "from": 31.5, "to": 31}]}
KINDS: dict[str, dict[str, Any]] = {
    "single vision": {},
    "progressive with a trace": {**PROGRESSIVES, "frame__shape": traced(count=400)},
    "revision on letter": {"revision": 2, "replaces": REPLACES, "practice__country": "US"},
    "two pages": {"remarks": "A remark, 田中 and אופטיקה.\n" * 60},
}


@functools.lru_cache
def printed(kind: str) -> bytes:
    text = canonical_bytes(order(**KINDS[kind]))
    document = parse_order(text)
    return lab_order_pdf(document, text, catalogue=CATALOGUE_DOCUMENT, report=check(document, CATALOGUE_DOCUMENT))


@pytest.fixture(params=KINDS)
def kind(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def file(kind: str) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(printed(kind))) as opened:
        yield opened


def dictionaries(file: pikepdf.Pdf) -> list[Any]:
    return [o for o in file.objects if isinstance(o, pikepdf.Dictionary | pikepdf.Stream)]


def test_6_1_2_the_header_is_followed_by_bytes_that_show_it_is_binary(kind: str) -> None:
    first, second = printed(kind).split(b"\n", 2)[:2]
    assert re.fullmatch(rb"%PDF-1\.[0-7]", first)
    assert second.startswith(b"%")
    assert len(second) >= 5
    assert all(byte > 127 for byte in second[1:5])


def test_6_1_3_the_trailer_has_an_identifier_and_no_password_and_nothing_follows_the_end(
    file: pikepdf.Pdf, kind: str
) -> None:
    assert len(file.trailer.ID) == 2
    assert "/Encrypt" not in file.trailer
    assert re.search(rb"%%EOF\r?\n?$", printed(kind))


def test_6_1_7_streams_are_in_the_file_and_not_packed_by_lzw(file: pikepdf.Pdf) -> None:
    for part in dictionaries(file):
        assert "/F" not in part or not isinstance(part, pikepdf.Stream)
        assert "/LZW" not in str(part.get("/Filter", ""))


def test_6_1_13_no_number_or_name_goes_beyond_what_every_reader_must_hold(file: pikepdf.Pdf) -> None:
    assert len(file.objects) < 8388607
    names = {str(key) for part in dictionaries(file) for key in part}
    assert all(len(name.encode()) <= 127 for name in names)
    assert all(len(state.operands) <= 127 for page in file.pages for state in pikepdf.parse_content_stream(page))


def test_6_2_3_colours_are_of_the_profile_that_the_file_has_inside(file: pikepdf.Pdf) -> None:
    (intent,) = file.Root.OutputIntents
    assert intent.S == "/GTS_PDFA1"
    profile = intent.DestOutputProfile
    assert profile.read_bytes()[36:40] == b"acsp", "an ICC profile"
    components = int(profile.N)
    used = {str(state.operator) for page in file.pages for state in pikepdf.parse_content_stream(page)}
    assert components == 3
    assert not used & {"k", "K"}, "no colours of four inks beside a profile of three lights"


def test_6_2_5_no_graphics_state_has_a_transfer_function_or_a_halftone(file: pikepdf.Pdf) -> None:
    for part in dictionaries(file):
        assert not {"/TR", "/TR2", "/HTP"} & set(part.keys()) or part.get("/TR2") == "/Default"


def test_6_2_11_each_font_is_inside_with_widths_and_the_letters_that_its_signs_stand_for(file: pikepdf.Pdf) -> None:
    fonts = [part for part in dictionaries(file) if part.get("/Type") == "/Font"]
    whole = [font for font in fonts if font.Subtype == "/Type0"]
    assert whole
    assert {str(font.Subtype) for font in fonts} <= {"/Type0", "/CIDFontType2", "/CIDFontType0"}
    for font in whole:
        assert "/ToUnicode" in font
        assert font.Encoding == "/Identity-H"
        (inner,) = font.DescendantFonts
        assert {"/FontFile2", "/FontFile3"} & set(inner.FontDescriptor.keys())
        assert inner.get("/CIDToGIDMap", "/Identity") == "/Identity"
        assert "/W" in inner


def test_6_3_and_6_5_there_are_no_notes_actions_or_scripts(file: pikepdf.Pdf) -> None:
    keys = {str(key) for part in dictionaries(file) for key in part}
    assert not keys & {"/JavaScript", "/JS", "/AA", "/OpenAction", "/Launch", "/XFA", "/NeedAppearances"}
    assert all("/Annots" not in page for page in file.pages)


def test_6_6_what_the_file_says_of_itself_is_said_alike_in_both_places(file: pikepdf.Pdf) -> None:
    assert "/Filter" not in file.Root.Metadata, "readable without unpacking"
    with file.open_metadata() as told:
        assert (told["pdfaid:part"], told["pdfaid:conformance"]) == ("3", "A")
        assert told["dc:title"] == str(file.docinfo["/Title"]) != ""
        assert told["pdf:Producer"] == str(file.docinfo["/Producer"])
        made = str(file.docinfo["/CreationDate"])
        assert re.sub(r"\D", "", told["xmp:CreateDate"])[:14] == re.sub(r"\D", "", made)[:14]


def test_6_7_the_file_is_tagged_in_a_language_and_every_piece_of_text_has_its_place(file: pikepdf.Pdf) -> None:
    assert file.Root.MarkInfo.Marked
    assert file.Root.Lang == "en"
    assert "/ParentTree" in file.Root.StructTreeRoot
    standard = {"Document", "Sect", "Div", "P", "H1", "H2", "Span", "NonStruct", "Table", "TR", "TH", "TD"}
    standard |= {"THead", "TBody", "Caption", "Figure", "Lbl", "Part", "Art"}
    used = {str(part.S).removeprefix("/") for part in dictionaries(file) if "/P" in part and "/S" in part}
    mapped = {str(name).removeprefix("/") for name in file.Root.StructTreeRoot.get("/RoleMap", {})}
    assert used <= standard | mapped
    for page in file.pages:
        assert page.obj.Tabs == "/S" if "/Tabs" in page else "/StructParents" in page
        assert _text_outside_of_marks(page) == 0


def _text_outside_of_marks(page: Any) -> int:
    """How often text is shown outside everything that is marked as content or as mere decoration."""
    depth, outside = 0, 0
    for state in pikepdf.parse_content_stream(page):
        sign = str(state.operator)
        depth += (sign in ("BMC", "BDC")) - (sign == "EMC")
        outside += sign in ("Tj", "TJ", "'", '"') and depth == 0
    return outside


def test_6_8_the_order_inside_says_what_it_is_and_belongs_to_the_whole_file(file: pikepdf.Pdf) -> None:
    (name,) = file.attachments
    entry = file.attachments[name].obj
    assert name == "order.json"
    assert {"/F", "/UF", "/EF", "/Desc", "/AFRelationship"} <= set(entry.keys())
    assert entry.AFRelationship == "/Source"
    assert entry.EF.F.Subtype == "/application/json"
    assert {"/ModDate", "/Size"} <= set(entry.EF.F.Params.keys())
    assert entry.objgen in {one.objgen for one in file.Root.AF}


def test_another_program_finds_nothing_to_repair(file: pikepdf.Pdf) -> None:
    assert file.check_pdf_syntax() == []
