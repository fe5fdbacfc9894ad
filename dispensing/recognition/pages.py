"""A file as pages: pictures to be recognised, or the words of a PDF that has text of its own.

Everything that is wrong with a file is said in one sentence. Runs in the child process only, for a file from outside
may be made to do harm.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pypdfium2
from PIL import Image

from dispensing.fitting.photos import PhotoRefused, clean_picture
from dispensing.prescribing.paper.words import Word, around
from dispensing.recognition.recogniser import Picture

LONGEST_PX = 2400
"""Longer side of a page as it is read: 200 dots an inch of A4."""
MOST_PAGES = 8
TEXT_OF_ITS_OWN = 25
"""Letters from which on a PDF page counts as text."""
PICTURE_OF_A_PAGE = 0.6
"""Share of a page that a scan covers; text over it is another program's guess and is not taken."""


class NotReadable(ValueError):
    """No picture and no PDF, or a broken one; the message reads on from the name of the file."""


@dataclass(frozen=True)
class Page:
    """One page: its picture, or its words where it has them itself. ``of``: how many pages the file has.

    ``file_size``: width and height in px of the upright picture in the file; for a PDF those of ``picture``.
    """

    number: int
    of: int
    picture: Picture
    file_size: tuple[int, int]
    words: list[Word] | None = None


def pages_of(content: bytes) -> Iterator[Page]:
    """The first `MOST_PAGES` pages. Raises `NotReadable`."""
    if b"%PDF-" in content[:1024]:
        yield from _pages_of_pdf(content)
    else:
        yield _picture(content)


def _picture(content: bytes) -> Page:
    try:
        jpeg = clean_picture(content, LONGEST_PX)
    except PhotoRefused as refused:
        raise NotReadable(f"cannot be read. {refused} A scan may also be a PDF.") from refused
    with Image.open(io.BytesIO(jpeg)) as image:
        picture = np.ascontiguousarray(np.asarray(image.convert("RGB"))[:, :, ::-1])
    height, width = picture.shape[:2]
    with Image.open(io.BytesIO(content)) as original:
        ratio = max(original.size) / max(width, height)
    return Page(1, 1, picture, (round(width * ratio), round(height * ratio)))


def _pages_of_pdf(content: bytes) -> Iterator[Page]:
    try:
        pdf = pypdfium2.PdfDocument(content)
        count = len(pdf)
    except pypdfium2.PdfiumError as error:
        locked = "password" in str(error).lower()
        raise NotReadable(
            "is locked with a password; ask for the file without one"
            if locked
            else "is a broken PDF; save or scan it once more"
        ) from error
    if not count:
        raise NotReadable("is a PDF without pages")
    for number in range(min(count, MOST_PAGES)):
        try:
            yield _pdf_page(pdf[number], number + 1, count)
        except pypdfium2.PdfiumError as error:
            raise NotReadable(f"is a broken PDF: page {number + 1} cannot be opened") from error


def _pdf_page(page: Any, number: int, count: int) -> Page:
    width, height = page.get_size()
    scale = LONGEST_PX / max(width, height, 1.0)
    picture = np.ascontiguousarray(page.render(scale=scale, rev_byteorder=False).to_numpy()[:, :, :3])
    words = _words_of_page(page, number, scale, height)
    return Page(number, count, picture, (picture.shape[1], picture.shape[0]), words)


def _words_of_page(page: Any, number: int, scale: float, page_height: float) -> list[Word] | None:
    """The words of a page that has text; None if it has none, or is turned, or a scan with text laid over it."""
    if page.get_rotation() or _is_a_scan(page):
        return None
    text = page.get_textpage()
    said = text.get_text_range()
    if len("".join(said.split())) < TEXT_OF_ITS_OWN or len(said) != text.count_chars():
        return None
    left, bottom, _, _ = page.get_bbox()
    words: list[Word] = []
    run: list[int] = []
    for place, letter in enumerate([*said, " "]):
        if not letter.isspace() and letter.isprintable():
            run.append(place)
        elif run:
            boxes = [text.get_charbox(one, loose=True) for one in run]
            box = around(
                ((x0 - left) * scale, (page_height - (y1 - bottom)) * scale, (x1 - x0) * scale, (y1 - y0) * scale)
                for x0, y0, x1, y1 in boxes
            )
            words.append(Word("".join(said[one] for one in run), box, 1.0, number))
            run = []
    return words


def _is_a_scan(page: Any) -> bool:
    width, height = page.get_size()
    for item in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE], max_depth=3):
        left, bottom, right, top = item.get_bounds()
        if (right - left) * (top - bottom) > PICTURE_OF_A_PAGE * width * height:
            return True
    return False
