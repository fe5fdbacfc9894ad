"""A sheet of paper: words and rules where a layout puts them, drawn as a picture or given as perfect words."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import matplotlib as mpl
from PIL import Image, ImageDraw, ImageFont

from dispensing.prescribing.paper.words import Word

FONTS = ("DejaVuSans", "DejaVuSerif", "DejaVuSansMono", "STIXGeneral")


@cache
def font(name: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / f"{name}.ttf"), size)


@dataclass
class PaperSheet:
    """px at 150 dots an inch; ``text`` is drawn by its left top corner."""

    width: int = 1240
    height: int = 1754
    face: str = "DejaVuSans"
    size: int = 25
    texts: list[tuple[float, float, str, str, int]] = field(default_factory=list)
    rules: list[tuple[float, float, float, float]] = field(default_factory=list)

    def put(self, x: float, y: float, text: str, *, size: int = 0, bold: bool = False, centred: float = 0.0) -> float:
        """Returns where the text ends. ``centred``: width of a cell to centre it in."""
        if not text:
            return x
        face = f"{self.face}-Bold" if bold and self.face != "STIXGeneral" else self.face + ("Bol" if bold else "")
        size = size or self.size
        wide = font(face, size).getlength(text)
        if centred:
            x += (centred - wide) / 2
        self.texts.append((x, y, text, face, size))
        return x + wide

    def rule(self, x0: float, y0: float, x1: float, y1: float) -> None:
        self.rules.append((x0, y0, x1, y1))

    def table(
        self,
        x: float,
        y: float,
        widths: list[int],
        high: int,
        rows: list[list[str]],
        ruled: bool,
        centred: bool,
        bold: bool = True,
    ) -> float:
        """A table whose first row is its heading; returns the y below it."""
        for number, row in enumerate(rows):
            left = x
            for wide, text in zip(widths, row):
                self.put(left + (0 if centred else 10), y + number * high + (high - self.size) / 2 - 3, text,
                         bold=bold and number == 0, centred=wide if centred else 0.0)  # fmt: skip
                left += wide
        if ruled:
            for number in range(len(rows) + 1):
                self.rule(x, y + number * high, x + sum(widths), y + number * high)
            left = x
            for wide in [0, *widths]:
                left += wide
                self.rule(left, y, left, y + len(rows) * high)
        return y + len(rows) * high

    def picture(self) -> Image.Image:
        image = Image.new("RGB", (self.width, self.height), "white")
        draw = ImageDraw.Draw(image)
        for rule in self.rules:
            draw.line(rule, fill=(60, 60, 60), width=2)
        for x, y, text, face, size in self.texts:
            draw.text((x, y), text, font=font(face, size), fill=(15, 15, 20))
        return image

    def words(self) -> list[Word]:
        """What a recogniser that makes no mistakes would give."""
        found = []
        for x, y, text, face, size in self.texts:
            for match in re.finditer(r"\S+", text):
                before = font(face, size).getlength(text[: match.start()])
                wide = font(face, size).getlength(match.group())
                found.append(Word(match.group(), (x + before, y, wide, size * 1.2)))
        return found
