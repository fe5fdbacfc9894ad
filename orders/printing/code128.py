"""A text as Code 128, code set B, in SVG to size: for scanners that read lines and no squares.

The patterns are those of ISO/IEC 15417 (from memory; the test reads every character back with an independent reader).
"""

from __future__ import annotations

import re
from itertools import accumulate
from xml.sax.saxutils import escape

# Widths of bars and gaps in modules, three of each, of the values 0 to 105; the last three begin sets A, B and C.
_PATTERNS = re.findall(
    r"\d{6}",
    "212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222 "
    "123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321 "
    "232121 111323 131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121 "
    "313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111 314111 221411 431111 111224 "
    "111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211 241211 221114 413111 241112 134111 "
    "111242 121142 121241 114212 124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113 "
    "114311 411113 411311 113141 114131 311141 411131 211412 211214 211232",
)
_STOP = "2331112"
_START_B = 104
_MODULUS = 103
_FIRST, _LAST = " ", "~"
QUIET_MODULES = 10


class NotInCode128(ValueError):
    """A character that code set B does not have."""


def values(text: str) -> list[int]:
    """The values of a text between start and stop, its check value last. Raises `NotInCode128`."""
    if not text or any(not _FIRST <= letter <= _LAST for letter in text):
        raise NotInCode128(f"“{text}” cannot be written as Code 128: it takes letters, figures and marks of ASCII.")
    read = [_START_B, *(ord(letter) - ord(_FIRST) for letter in text)]
    check = (read[0] + sum(place * value for place, value in enumerate(read))) % _MODULUS
    return [*read, check]


def code128(text: str, *, module_mm: float = 0.33, height_mm: float = 12.0) -> str:
    """An SVG element in millimetres, with its quiet zones. Raises `NotInCode128`."""
    widths = [int(width) for width in "".join([*(_PATTERNS[value] for value in values(text)), _STOP])]
    edges = list(accumulate(widths, initial=QUIET_MODULES))
    wide = edges[-1] + QUIET_MODULES
    bars = "".join(f"M{left} 0V1H{right}V0z" for left, right in zip(edges[::2], edges[1::2], strict=True))
    size = f'width="{wide * module_mm:.2f}mm" height="{height_mm:g}mm" viewBox="0 0 {wide} 1"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="code128" role="img" {size} preserveAspectRatio="none">'
        f"<title>Code 128: {escape(text)}</title>"
        f'<path d="{bars}" fill="#000"/></svg>'
    )
