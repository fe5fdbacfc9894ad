"""Printed text in a picture, by the models that come with ``rapidocr``; nothing is fetched.

Lines are found on a smaller copy and read off the picture itself. A page on its side or upside down is turned first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import cv2
import numpy as np

from dispensing.prescribing.paper.words import Box, Word
from dispensing.recognition.ink import crossed
from dispensing.recognition.lines_found import Flattened, Quads, is_on_its_side, sizes, upside_down, with_margins

FIND_PX = 1280
"""Longer side of the copy on which lines are found."""
THREADS = 1
"""One page takes about 2 s of one core; more threads would take the core that the web server answers with."""
TURNED_SAMPLE = 24
MOST_LINES = 400
GAP_BETWEEN_WORDS = 0.9
"""Of the height: a gap in a line from which on what follows is another word."""

Picture = np.ndarray[Any, np.dtype[np.uint8]]
"""Height by width by 3, blue first."""


@cache
def engine() -> Any:
    """Loaded on first use only: it takes half a second and most of the memory."""
    from rapidocr import RapidOCR

    return RapidOCR(
        params={
            "Global.log_level": "critical",
            "Global.return_word_box": True,
            "Global.use_preprocess_img": False,
            "Det.limit_type": "max",
            "Det.limit_side_len": FIND_PX,
            "Rec.rec_batch_num": 4,
            "EngineConfig.onnxruntime.intra_op_num_threads": THREADS,
        }
    )


def recognise(picture: Picture, page: int = 1) -> tuple[list[Word], Picture, int]:
    """(the words, the page turned upright, by how many quarter turns counter-clockwise). Places are on that page."""
    turns = 0
    quads = _lines(picture)
    if len(quads) and is_on_its_side(quads):
        picture, turns = np.ascontiguousarray(np.rot90(picture)), 1
        quads = _lines(picture)
    if len(quads) and _is_upside_down(picture, quads):
        picture, turns = np.ascontiguousarray(np.rot90(picture, 2)), (turns + 2) % 4
        quads = upside_down(quads, picture.shape[1], picture.shape[0])
    return (_words(picture, quads, page) if len(quads) else []), picture, turns


def _lines(picture: Picture) -> Quads:
    """Corners of each line of print, at most `MOST_LINES`, in px of the picture."""
    longest = max(picture.shape[:2])
    ratio = min(1.0, FIND_PX / longest)
    small = cv2.resize(picture, None, fx=ratio, fy=ratio, interpolation=cv2.INTER_AREA) if ratio < 1.0 else picture
    found = engine()(small, use_det=True, use_cls=False, use_rec=False)
    if found.boxes is None:
        return np.zeros((0, 4, 2), np.float32)
    quads: Quads = np.asarray(found.boxes, np.float32)[:MOST_LINES] / ratio
    return quads


def _is_upside_down(picture: Picture, quads: Quads) -> bool:
    width, height = sizes(quads)
    longest = np.argsort(-width)[:TURNED_SAMPLE]
    crops = [_cut_out(picture, quads[place]) for place in longest if height[place] > 4]
    if not crops:
        return False
    _, result = engine().cls_and_rotate(crops)
    turned = sum(score for label, score in result.cls_res if label == "180")
    return bool(turned > sum(score for label, score in result.cls_res if label != "180"))


def _cut_out(picture: Picture, quad: np.ndarray[Any, Any]) -> Picture:
    """The line by itself, straight."""
    width = max(round(float(np.linalg.norm(quad[1] - quad[0]))), 4)
    height = max(round(float(np.linalg.norm(quad[3] - quad[0]))), 4)
    square = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    matrix = cv2.getPerspectiveTransform(quad.astype(np.float32), square)
    cut = cv2.warpPerspective(picture, matrix, (width, height), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(cut, np.uint8)


def _words(picture: Picture, quads: Quads, page: int) -> list[Word]:
    flat = Flattened(quads)
    wide = with_margins(quads)
    crops = [_cut_out(picture, quad) for quad in wide]
    read = engine().recognize_txt(crops)
    words: list[Word] = []
    for quad, crop, text, info, leans in zip(wide, crops, read.txts, read.word_results, flat.askew(quads)):
        if text.strip() and info.line_txt_len:
            of_line = _words_of_line(quad, crop.shape[1] / crop.shape[0], text, info, flat, page)
            words += [replace(word, crossed=leans) for word in of_line]
    touched = crossed(picture, [word.box for word in words], float(np.median(sizes(quads)[1])))
    return [replace(word, crossed=word.crossed or touches) for word, touches in zip(words, touched)]


def _words_of_line(quad: Any, shape: float, text: str, info: Any, flat: Flattened, page: int) -> Iterator[Word]:
    """A line's text cut at its spaces and wide gaps, each part with its place; its confidence is its worst letter's."""
    columns = [column for word in info.word_cols for column in word]
    letters = [(letter, conf) for letter, conf in zip(text, info.confs) if not letter.isspace()]
    if len(columns) != len(letters):
        yield _word(quad, 0.0, 1.0, text, min(info.confs), flat, page)
        return
    places = [(column + 0.5) / info.line_txt_len for column in columns]
    cuts = [0, *_cuts(text, places, shape), len(letters)]
    for first, last in pairwise(cuts):
        if first == last:
            continue
        half = _half_a_letter(places, first, last, shape)
        said = "".join(letter for letter, _ in letters[first:last])
        worst = min(conf for _, conf in letters[first:last])
        yield _word(quad, places[first] - half, places[last - 1] + half, said, worst, flat, page)


def _cuts(text: str, places: list[float], shape: float) -> list[int]:
    cuts, place = set(), 0
    for letter in text:
        if letter.isspace():
            cuts.add(place)
        else:
            place += 1
    gap = GAP_BETWEEN_WORDS / shape
    cuts |= {n for n in range(1, len(places)) if places[n] - places[n - 1] > gap + 0.5 / shape}
    return sorted(cuts - {0, len(places)})


def _half_a_letter(places: list[float], first: int, last: int, shape: float) -> float:
    if last - first < 2:
        return 0.25 / shape
    return (places[last - 1] - places[first]) / (last - first - 1) / 2


def _word(quad: Any, start: float, end: float, text: str, confidence: float, flat: Flattened, page: int) -> Word:
    start, end = max(start, 0.0), min(end, 1.0)
    top, low = quad[1] - quad[0], quad[2] - quad[3]
    corners = np.array([quad[0] + start * top, quad[0] + end * top, quad[3] + end * low, quad[3] + start * low])
    return Word(text, _box(corners), float(confidence), page, _laid(corners, flat))


def _box(corners: Any) -> Box:
    (left, top), (right, bottom) = corners.min(axis=0), corners.max(axis=0)
    return (float(left), float(top), float(right - left), float(bottom - top))


def _laid(corners: Any, flat: Flattened) -> Box:
    """Centre, length and height as on a flat page."""
    x, y = flat.point(*(float(value) for value in corners.mean(axis=0)))
    width = float(np.linalg.norm(corners[1] - corners[0]))
    height = float(np.linalg.norm(corners[3] - corners[0]))
    return (x - width / 2, y - height / 2, width, height)
