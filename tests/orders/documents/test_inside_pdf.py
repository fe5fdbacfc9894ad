"""The order inside a PDF: the identical bytes come out, and what is wrong with any other file is said plainly."""

from __future__ import annotations

import base64
import contextlib
import io
import json
import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from django.core.management import call_command
from hypothesis import given, settings

from dispensing.documents import InvalidDocument
from orders.documents import inside_pdf, pdf_child
from orders.documents.canonical import canonical_bytes, sha256_hex
from orders.documents.inside_pdf import NoOrderInside, order_inside, read_order_file
from orders.documents.lens_order import parse_order
from orders.printing.lab_order import moment_of, pdf_of
from orders.printing.render import render
from orders.rules.check_files import run
from tests.orders.orders_on_paper import CATALOGUE_DOCUMENT, order
from tests.orders.rules.test_no_order_breaks_the_check import orders
from tests.orders.shop import CATALOGUE

ORDER = order()
TEXT = canonical_bytes(ORDER)


def plain_page(text: bytes) -> bytes:
    """A page with nothing on it, made as the real one is; typesetting a whole order takes twenty times as long."""
    return pdf_of("<html lang=en><title>t</title><p>t", text, moment_of(ORDER))


def changed(pdf: bytes, change: Callable[[pikepdf.Pdf], object], **saving: Any) -> bytes:
    with pikepdf.open(io.BytesIO(pdf)) as file:
        change(file)
        written = io.BytesIO()
        file.save(written, **saving)
    return written.getvalue()


def attach(name: str, content: bytes) -> Callable[[pikepdf.Pdf], object]:
    def change(file: pikepdf.Pdf) -> None:
        file.attachments[name] = pikepdf.AttachedFileSpec(file, content, mime_type="application/json")

    return change


def write_over(content: bytes) -> Callable[[pikepdf.Pdf], object]:
    """Another content in the same attachment, with everything that is said about it left as it is."""
    return lambda file: file.attachments["order.json"].obj.EF.F.write(content)


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return plain_page(TEXT)


pytestmark = pytest.mark.paper


@settings(max_examples=4)
@given(orders())
def test_any_order_comes_out_of_its_paper_byte_for_byte(document: dict[str, Any]) -> None:
    # Canonical JSON has no whole numbers beyond 2 ** 53, of which nobody has readings.
    read = parse_order(json.dumps(document | {"revision": 2})).model_copy(update={"fitting": ORDER.fitting})
    found = order_inside(render(read, "pdf", catalogue=CATALOGUE_DOCUMENT))
    assert found.text == render(read, "json")
    assert found.holds


@settings(max_examples=40)
@given(orders())
def test_any_order_comes_out_of_any_page_byte_for_byte(document: dict[str, Any]) -> None:
    """Without the process around the reader, which takes most of the time."""
    text = json.dumps(document, indent=1).encode()
    (found,) = pdf_child.found_in(plain_page(text))["orders"]
    assert base64.b64decode(found["content"]) == text
    assert found["description"].endswith(sha256_hex(text))


@pytest.mark.parametrize(
    "text",
    [
        b'{"format":"lens-order/1"}',
        b' {"format" : "lens-order/1",\r\n "remarks":"\xc3\xa9\\u0000\xf0\x9f\x91\x93"}\n\n',
    ],
    ids=["short", "with line ends and letters of four bytes"],
)
def test_whatever_stands_between_the_braces_comes_out_as_it_went_in(text: bytes) -> None:
    assert order_inside(plain_page(text)).text == text


def test_a_pdf_that_another_program_wrote_again_still_holds_its_order(pdf: bytes) -> None:
    again = changed(pdf, lambda file: None, object_stream_mode=pikepdf.ObjectStreamMode.generate, linearize=True)
    assert again != pdf
    assert (order_inside(again).text, order_inside(again).holds) == (TEXT, True)


def test_the_pdf_says_the_hash_of_its_order_where_a_reader_of_attachments_sees_it(pdf: bytes) -> None:
    with pikepdf.open(io.BytesIO(pdf)) as file:
        described = file.attachments["order.json"].description
    assert described == f"The order as a lens-order/1 document, SHA-256 {sha256_hex(TEXT)}"


def test_one_figure_changed_in_the_order_inside_is_noticed(pdf: bytes) -> None:
    other = TEXT.replace(b'"sphere":-3.25', b'"sphere":-3.75', 1)
    found = order_inside(changed(pdf, write_over(other)))
    assert (found.text, found.holds) == (other, False)


def test_an_order_attached_in_place_of_another_is_noticed_by_the_identifier_of_the_pdf(pdf: bytes) -> None:
    other = TEXT.replace(b"D-00042", b"D-00043")
    assert not order_inside(changed(pdf, attach("order.json", other))).holds
    assert order_inside(changed(pdf, attach("order.json", TEXT))).holds, "half of the hash is still the identifier"


def test_an_order_beside_which_no_hash_stands_does_not_hold() -> None:
    bare = pikepdf.new()
    bare.add_blank_page()
    attach("order.json", TEXT)(bare)
    written = io.BytesIO()
    bare.save(written)
    found = order_inside(written.getvalue())
    assert (found.text, found.stated, found.holds) == (TEXT, "", False)


def test_other_attachments_do_not_matter_whatever_the_order_is_called(pdf: bytes) -> None:
    def add(file: pikepdf.Pdf) -> None:
        attach("invoice.xml", b"<a/>")(file)

    def rename(file: pikepdf.Pdf) -> None:
        tree = file.Root.Names.EmbeddedFiles.Names
        tree[0] = pikepdf.String("D-00042 for the lab.json")

    assert order_inside(changed(pdf, add)).holds
    assert order_inside(changed(pdf, rename)).holds


@pytest.mark.parametrize(
    ("change", "saving", "says"),
    [
        (lambda file: file.attachments.__delitem__("order.json"), {}, "holds no lens order"),
        (attach("second.json", TEXT), {}, "holds 2 lens orders (order.json, second.json)"),
        (
            lambda file: None,
            {"encryption": pikepdf.Encryption(user="secret", owner="secret")},
            "is locked with a password",
        ),
        (write_over(b" " * (pdf_child.MOST_ATTACHED + 1)), {}, "has an attachment of more than 4 MB"),
        (
            lambda file: [attach(f"{place}.txt", b"x")(file) for place in range(pdf_child.MOST_ATTACHMENTS)],
            {},
            "has more than 100 attachments",
        ),
        (lambda file: file.attachments["order.json"].obj.__delitem__("/EF"), {}, "is broken: what is attached"),
    ],
    ids=["none", "two", "password", "large", "many", "without its stream"],
)
def test_a_pdf_without_exactly_one_order_is_refused_with_the_reason(
    pdf: bytes, change: Any, saving: dict[str, Any], says: str
) -> None:
    with pytest.raises(NoOrderInside, match=r".") as refused:
        order_inside(changed(pdf, change, **saving))
    assert str(refused.value).startswith(says)


def test_a_password_only_against_changes_does_not_hide_the_order(pdf: bytes) -> None:
    locked = changed(pdf, lambda file: None, encryption=pikepdf.Encryption(user="", owner="secret"))
    assert order_inside(locked).holds


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is not a PDF"),
        (TEXT, "is not a PDF"),
        (b"%PDF-1.7\n%%EOF\n", "is broken: it cannot be read as a PDF"),
        (b"%PDF-1.7\n" + bytes(range(256)) * 40, "is broken: it cannot be read as a PDF"),
        (b"%PDF-1.7\n" + b" " * inside_pdf.MOST_BYTES, "is larger than 32 MB"),
    ],
    ids=["empty", "json", "only a header", "noise", "huge"],
)
def test_what_is_no_pdf_that_can_be_read_is_refused_with_the_reason(content: bytes, says: str) -> None:
    with pytest.raises(NoOrderInside) as refused:
        order_inside(content)
    assert str(refused.value).startswith(says)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9])
def test_half_a_file_never_gives_another_order_that_holds(pdf: bytes, share: float) -> None:
    found = None
    with contextlib.suppress(NoOrderInside):
        found = order_inside(pdf[: int(len(pdf) * share)])
    assert found is None or found.text == TEXT or not found.holds


MOST_MB = pdf_child.MOST_MEMORY // 2**20


def packed(megabytes: int) -> bytes:
    """So many megabytes of nothing, compressed."""
    press = zlib.compressobj(9)
    return b"".join([*(press.compress(b" " * 2**20) for _ in range(megabytes)), press.flush()])


def bomb_in_the_index() -> bytes:
    """Its cross-references unpack to more than is allowed, so that merely opening it takes too much."""
    index, head = packed(MOST_MB + 20), b"%PDF-1.7\n"
    entry = (
        f"1 0 obj\n<</Type/XRef/Size {MOST_MB * 2**20 // 3}/W[1 1 1]/Root 1 0 R/Filter/FlateDecode"
        f"/Length {len(index)}>>\nstream\n"
    )
    end = f"\nendstream\nendobj\nstartxref\n{len(head)}\n%%EOF\n"
    return b"".join([head, entry.encode(), index, end.encode()])


def bomb_in_the_attachment() -> bytes:
    def swell(file: pikepdf.Pdf) -> None:
        stream = file.attachments["order.json"].obj.EF.F
        stream.write(packed(MOST_MB + 20), filter=pikepdf.Name.FlateDecode)

    return changed(plain_page(TEXT), swell)


MEASURED = """
import resource, sys
from orders.documents.inside_pdf import NoOrderInside, order_inside
try:
    order_inside(sys.stdin.buffer.read())
except NoOrderInside as error:
    print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, error)
"""


@pytest.mark.parametrize("bomb", [bomb_in_the_index, bomb_in_the_attachment])
def test_a_pdf_made_to_exhaust_memory_takes_no_more_than_is_allowed(bomb: Callable[[], bytes]) -> None:
    """Measured from a process of its own: a child's figure includes what its parent held when it was started."""
    content = bomb()
    assert len(content) < 2**20, "small on disk"
    done = subprocess.run([sys.executable, "-c", MEASURED], input=content, capture_output=True, check=True, timeout=120)
    kilobytes, says = done.stdout.decode().split(maxsplit=1)
    assert int(kilobytes) * 1024 <= pdf_child.MOST_MEMORY
    assert says.strip()


def test_a_reader_that_never_ends_is_given_up(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, pdf: bytes) -> None:
    endless = tmp_path / "endless.py"
    endless.write_text("while True: pass\n")
    monkeypatch.setattr(inside_pdf, "READER", endless)
    monkeypatch.setattr(inside_pdf, "MOST_SECONDS", 0.2)
    with pytest.raises(NoOrderInside, match="cannot be read in 0 seconds"):
        order_inside(pdf)


def test_a_reader_that_dies_is_no_order(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, pdf: bytes) -> None:
    killed = tmp_path / "killed.py"
    killed.write_text("import os, signal\nos.kill(os.getpid(), signal.SIGKILL)\n")
    monkeypatch.setattr(inside_pdf, "READER", killed)
    with pytest.raises(NoOrderInside, match="gave up"):
        order_inside(pdf)


def read_order(path: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> tuple[int, bytes, str]:
    try:
        call_command("read_order", str(path))
        code: Any = 0
    except SystemExit as ended:
        code = ended.code
    said = capfdbinary.readouterr()
    return code, said.out, said.err.decode()


def test_the_command_prints_the_order_and_says_by_its_exit_code_whether_it_holds(
    pdf: bytes, tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    file = tmp_path / "order.pdf"
    file.write_bytes(pdf)
    assert read_order(file, capfdbinary) == (0, TEXT, "")

    other = TEXT.replace(b"-3.25", b"-3.75")
    file.write_bytes(changed(pdf, write_over(other)))
    code, out, err = read_order(file, capfdbinary)
    assert (code, out) == (1, other)
    assert err == f"{file} {inside_pdf.CHANGED}.\n"

    file.write_bytes(plain_page(b'{"format":"lens-order/1","nonesuch":1}'))
    assert read_order(file, capfdbinary) == (2, b"", f"{file}: $.nonesuch: unknown key\n")

    file.write_bytes(b"%PDF-1.7\n%%EOF\n")
    assert read_order(file, capfdbinary) == (2, b"", f"{file} is broken: it cannot be read as a PDF.\n")

    code, out, err = read_order(tmp_path / "none.pdf", capfdbinary)
    assert (code, out) == (2, b"")
    assert "cannot be read: No such file or directory" in err


def test_the_command_reads_standard_input_and_needs_no_database(pdf: bytes) -> None:
    done = subprocess.run(
        [sys.executable, "manage.py", "read_order", "-"], input=pdf, capture_output=True, check=True, timeout=120
    )
    assert done.stdout == TEXT


def test_check_order_says_of_the_pdf_what_it_says_of_the_order(pdf: bytes, tmp_path: Path) -> None:
    catalogue, as_json, as_pdf = (tmp_path / name for name in ("catalogue.json", "order.json", "order.pdf"))
    catalogue.write_text(json.dumps(CATALOGUE))
    as_json.write_bytes(TEXT)
    as_pdf.write_bytes(pdf)
    reports = []
    for file in (as_json, as_pdf):
        out, err = io.StringIO(), io.StringIO()
        run([file], catalogue, out, err)
        reports.append(out.getvalue())
        assert err.getvalue() == ""
    assert reports[0] == reports[1] != ""


def test_a_changed_pdf_is_not_checked_and_the_order_beside_it_still_is(pdf: bytes, tmp_path: Path) -> None:
    catalogue, good, bad = (tmp_path / name for name in ("catalogue.json", "good.pdf", "bad.pdf"))
    catalogue.write_text(json.dumps(CATALOGUE))
    good.write_bytes(pdf)
    bad.write_bytes(changed(pdf, write_over(TEXT.replace(b"-3.25", b"-3.75"))))
    out, err = io.StringIO(), io.StringIO()
    assert run([bad, good], catalogue, out, err) == 2
    assert [json.loads(line)["number"] for line in out.getvalue().splitlines()] == ["D-00042"]
    assert err.getvalue() == f"{bad}: $: {inside_pdf.CHANGED}\n"
    with pytest.raises(InvalidDocument, match="does not fit the hash"):
        read_order_file(bad)


@pytest.mark.parametrize("command", ["compare_lenses", "verify_finished"])
def test_the_other_commands_for_one_order_take_its_pdf_as_well(
    command: str, pdf: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    catalogue, readings, as_json, as_pdf = (tmp_path / name for name in ("c.json", "r.json", "o.json", "o.pdf"))
    catalogue.write_text(json.dumps(CATALOGUE))
    readings.write_text('{"format": "finished-readings/1"}')
    as_json.write_bytes(TEXT)
    as_pdf.write_bytes(pdf)

    def said(order: Path) -> str:
        with contextlib.suppress(SystemExit):
            if command == "compare_lenses":
                call_command(command, str(order), catalogue=[str(catalogue)])
            else:
                call_command(command, str(order), str(readings), standard="iso-21987-2017")
        return capsys.readouterr().out

    assert said(as_pdf) == said(as_json) != ""
