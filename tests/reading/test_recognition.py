"""Pictures and PDFs read for real, but few: ``tests.reading.measure`` reads hundreds. Files that are no such thing."""

from __future__ import annotations

import base64
import io
import json
import random
import socket
import sys
import threading
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from PIL import Image

from dispensing.prescribing.paper.document import document
from dispensing.prescribing.paper.reading import read_paper
from dispensing.prescribing.paper.words import Box, Word
from dispensing.recognition import runner
from dispensing.recognition.command import run
from dispensing.recognition.fields import fields_of
from dispensing.recognition.ink import ForeignInk, crossed
from dispensing.recognition.lines_found import Flattened
from dispensing.recognition.pages import MOST_PAGES, NotReadable, pages_of
from dispensing.recognition.recogniser import recognise
from dispensing.recognition.runner import GAVE_UP, TOO_SLOW, PageRead, Unreadable, recognise_file
from tests.reading.damage import damaged
from tests.reading.files import empty_pages, picture_pdf, png, text_pdf
from tests.reading.invented import invent, truth_of
from tests.reading.layouts import paper, slip
from tests.reading.measure import judged
from tests.reading.sheets import PaperSheet


@pytest.fixture(scope="module")
def a_slip() -> tuple[PaperSheet, dict[str, Any]]:
    invented = invent(random.Random(7), "en")
    sheet, printed = paper(slip, invented)
    return sheet, truth_of(invented, printed)


def read(content: bytes) -> dict[str, Any]:
    words = [word for page in pages_of(content) for word in recognise(page.picture, page.number)[0]]
    return document(read_paper(words), "slip")


@pytest.mark.parametrize("turned", [90, 183])
def test_a_printed_slip_is_read_to_the_last_figure_however_it_lies_and_nothing_is_fetched(
    a_slip: tuple[PaperSheet, dict[str, Any]], turned: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: Any, **__: Any) -> None:
        raise AssertionError("the reader may not use the network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    sheet, truth = a_slip
    results = judged(read(png(sheet.picture().rotate(turned, expand=True, fillcolor="white"))), truth)
    assert results == dict.fromkeys(results, "right") | {"tested_on": "right marked"}
    assert len(results) >= 8


def test_a_photo_of_it_is_read_for_the_most_part_and_never_wrongly(a_slip: tuple[PaperSheet, dict[str, Any]]) -> None:
    sheet, truth = a_slip
    results = list(judged(read(damaged(sheet.picture(), "photo", random.Random(3))), truth).values())
    assert results.count("WRONG") == 0
    assert results.count("right") + results.count("right marked") >= 0.8 * len(results)


PAPER_WHITE, PRINT, BLUE = (238, 240, 240), (20, 20, 20), (150, 60, 40)


def a_page_with_words(stroke: tuple[int, int, int]) -> Any:
    """Four figures in ruled boxes, one of them in blue print; something drawn across the second alone."""
    page = np.full((700, 1000, 3), PAPER_WHITE, np.uint8)
    for x, ink in ((100, PRINT), (400, PRINT), (700, BLUE)):
        cv2.putText(page, "-3.25", (x, 300), cv2.FONT_HERSHEY_SIMPLEX, 1.0, ink, 2)
        cv2.rectangle(page, (x - 30, 260), (x + 120, 320), PRINT, 2)
    cv2.line(page, (430, 200), (470, 400), stroke, 4)
    return page


@pytest.mark.parametrize("stroke", [(170, 70, 50), (50, 30, 160), PRINT], ids=["blue", "red", "black"])
def test_a_stroke_across_a_word_is_seen_in_any_ink_and_no_box_or_coloured_print_is_taken_for_one(stroke: Any) -> None:
    ink = ForeignInk(a_page_with_words(stroke), 24.0)
    crossed = [ink.crosses((x, 276, 90, 26)) for x in (100, 400, 700)]
    assert crossed == [False, True, False]


def test_what_may_hide_a_sign_before_a_word_crosses_it_too() -> None:
    for x, crosses in ((90, True), (70, False)):
        page = np.full((700, 1000, 3), PAPER_WHITE, np.uint8)
        cv2.putText(page, "3.25", (100, 300), cv2.FONT_HERSHEY_SIMPLEX, 1.0, PRINT, 2)
        cv2.line(page, (x, 200), (x + 2, 400), BLUE, 4)
        assert ForeignInk(page, 24.0).crosses((100, 276, 72, 26)) is crosses


def test_a_word_in_colour_is_doubted_where_the_print_is_grey_and_not_where_all_is_in_colour() -> None:
    page = a_page_with_words(PRINT)
    grey, struck, blue = ((x, 276.0, 90.0, 26.0) for x in (100.0, 400.0, 700.0))
    assert crossed(page, [grey, struck, grey, blue], 24.0) == [False, True, False, True]
    assert crossed(page, [blue, blue, grey], 24.0) == [False, False, False]


def test_a_line_that_leans_out_of_the_print_is_seen_however_the_page_is_turned() -> None:
    def line(y: float, degrees: float) -> Any:
        turn = np.radians(degrees)
        along, down = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
        start = np.array([100.0, y])
        return [start, start + 300 * along, start + 300 * along + 30 * down, start + 30 * down]

    for page, stamp, leans in ((0.0, 4.0, False), (0.0, 6.0, True), (8.0, 8.0, False), (8.0, 2.0, True)):
        quads = np.array([*(line(60.0 * n, page) for n in range(9)), line(600.0, stamp)], np.float32)
        assert json.dumps(Flattened(quads).askew(quads)) == json.dumps([False] * 9 + [leans])


class Lines(list[str]):
    def write(self, text: str) -> None:
        self.append(text)

    def flush(self) -> None:
        """Everything is there already."""


def test_the_command_reads_each_file_in_a_child_and_says_of_each_what_is_wrong(
    a_slip: tuple[PaperSheet, dict[str, Any]], tmp_path: Path
) -> None:
    sheet, truth = a_slip
    files = {
        "text.pdf": text_pdf(sheet),
        "locked.pdf": text_pdf(sheet, "secret"),
        "words.txt": b"R -3.25",
        "empty.jpg": b"",
    }
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    out, err = Lines(), Lines()
    names = [str(tmp_path / name) for name in [*files, "missing.png"]]
    assert run(names, out, err) == 2
    [line] = out
    found = json.loads(line)
    assert (found["format"], found["file"]) == ("prescription-reading/1", names[0])
    results = judged(found, truth)
    assert results == dict.fromkeys(results, "right")
    assert [line.removeprefix(str(tmp_path)) for line in err] == [
        "/locked.pdf is locked with a password; ask for the file without one.\n",
        "/words.txt cannot be read. The file is no photo, or a damaged one; JPEG, PNG, WebP and HEIC photos are taken. "
        "Send the photo itself. A scan may also be a PDF.\n",
        "/empty.jpg is empty.\n",
        "/missing.png cannot be opened: No such file or directory.\n",
    ]


def test_a_scanned_pdf_is_recognised_and_its_text_is_taken_only_where_the_page_has_its_own(
    a_slip: tuple[PaperSheet, dict[str, Any]],
) -> None:
    sheet, _ = a_slip
    small = sheet.picture().resize((190, 275))
    [scanned] = pages_of(picture_pdf(small))
    assert scanned.words is None
    [written] = pages_of(text_pdf(sheet))
    assert written.words is not None
    title = next(word for word in written.words if word.text == "Prescription")
    shown = max(written.picture.shape[:2]) / sheet.height
    assert title.box[0] == pytest.approx(50 * shown, abs=3)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (text_pdf(PaperSheet(texts=[(50, 50, "R -3.25", "DejaVuSans", 25)]))[:400], "is a broken PDF"),
        (png(Image.effect_noise((300, 300), 60))[:2000], "damaged"),
        (b"GIF89a" + bytes(40), "a GIF"),
        (png(Image.new("1", (8000, 7600))), "60 megapixels"),
    ],
    ids=["half a PDF", "half a picture", "another kind", "too many pixels"],
)
def test_what_cannot_be_read_is_said_in_a_sentence(content: bytes, says: str) -> None:
    with pytest.raises(NotReadable, match=says):
        list(pages_of(content))


def test_of_a_long_pdf_only_the_first_pages_are_read() -> None:
    for count, opened in ((MOST_PAGES, MOST_PAGES), (MOST_PAGES + 1, MOST_PAGES)):
        pages = list(pages_of(empty_pages(count)))
        assert (len(pages), pages[0].of) == (opened, count)
    left_out = runner.Recognised([a_page(), a_page(of=9)])
    assert left_out.said == ""
    assert runner.Recognised([a_page(of=9)]).said == "Only the first 1 of 9 pages were read."


def a_page(of: int = 1, turns: int = 0, brightness: float = 200.0, jpeg: bytes = b"") -> PageRead:
    words = tuple(recognised_words)
    return PageRead(1, of, 400.0, 300.0, 400.0 if turns % 2 == 0 else 300.0, 300.0, turns, brightness, words, jpeg)


recognised_words: list[Any] = [Word("R", (10, 20, 12, 20)), Word("-3.25", (60, 20, 50, 20))]


def test_a_dark_picture_without_words_is_said_to_be_dark() -> None:
    blank = [PageRead(1, 1, 4.0, 3.0, 4.0, 3.0, 0, light, ()) for light in (59.0, 61.0)]
    assert "very dark" in runner.Recognised(blank[:1]).said
    assert runner.Recognised(blank[1:]).said == "Nothing printed was found."


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_a_box_on_the_upright_page_is_found_again_in_the_file(turns: int) -> None:
    """Drawn in the file, turned as the reader turns it, and mapped back."""
    wide, high = 200, 120
    box: Box = (30, 20, 40, 10)
    upright = Image.new("L", (wide, high))
    upright.paste(255, (30, 20, 70, 30))
    in_file = upright.rotate(-90 * turns, expand=True)
    double = in_file.resize((in_file.width * 2, in_file.height * 2), Image.Resampling.NEAREST)
    page = PageRead(1, 1, wide, high, double.width, double.height, turns, 200.0, ())
    left, top, right, bottom = there_is(double)
    assert page.in_file(box) == (left, top, right - left, bottom - top)


def there_is(image: Image.Image) -> tuple[int, int, int, int]:
    box = image.getbbox()
    assert box is not None
    return box


DIES = "import os; os.abort()"
SLEEPS = "import time; time.sleep(60)"


def test_a_child_that_dies_or_hangs_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runner, "CHILD", (sys.executable, "-c", DIES))
    with pytest.raises(Unreadable, match=GAVE_UP):
        recognise_file(b"x")
    monkeypatch.setattr(runner, "CHILD", (sys.executable, "-c", SLEEPS))
    monkeypatch.setattr(runner, "MOST_SECONDS", 0.2)
    with pytest.raises(Unreadable, match=TOO_SLOW):
        recognise_file(b"x")


SAYS_ONE_OF_THREE = (
    'print(\'{"page": 1, "of": 3, "size": [4, 3], "file_size": [4, 3], "turns": 0, "mean": 200, "words": []}\','
    " flush=True); import time; time.sleep(60)"
)


def test_of_pages_that_take_too_long_those_read_by_then_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    ends: list[Any] = []

    class EndsWhenTold:
        def __init__(self, _: float, end: Any) -> None:
            ends.append(end)

        def start(self) -> None:
            """It waits to be told."""

        cancel = start

    monkeypatch.setattr(runner, "CHILD", (sys.executable, "-c", SAYS_ONE_OF_THREE))
    monkeypatch.setattr(threading, "Timer", EndsWhenTold)
    read_by_then = recognise_file(b"x", told=lambda *_: ends[0]())
    assert read_by_then.said == "Only the first 1 of 3 pages were read."


def test_a_word_at_the_edge_of_the_picture_may_go_on_beyond_it() -> None:
    page = np.full((400, 500, 3), PAPER_WHITE, np.uint8)
    boxes: list[Box] = [
        (409.0, 100.0, 90.0, 26.0),
        (400.0, 200.0, 90.0, 26.0),
        (6.0, 300.0, 90.0, 26.0),
        (50.0, 2.0, 90.0, 26.0),
    ]
    assert crossed(page, boxes, 24.0) == [True, False, False, True]


def test_a_field_comes_with_the_snippet_it_was_read_from() -> None:
    kept = io.BytesIO()
    picture = Image.new("RGB", (800, 600), "white")
    picture.paste((200, 0, 0), (120, 40, 220, 80))  # the place of “-3.25”, the page shown at twice its size
    picture.save(kept, "JPEG", quality=95)
    page = a_page(jpeg=kept.getvalue())
    [found] = fields_of(read_paper(page.words), [page])
    assert (found["name"], found["value"], found["typed"], found["unsure"]) == ("right-sphere", -3.25, "-3.25", "")
    with Image.open(io.BytesIO(base64.b64decode(found["snippet"]))) as snippet:
        colours = snippet.convert("RGB").getcolors(10**6) or []
    red = sum(count for count, colour in colours if isinstance(colour, tuple) and colour[0] > 150 > colour[1])
    assert 0.3 < red / (snippet.width * snippet.height) < 0.45
