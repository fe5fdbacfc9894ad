"""What the choices of a list are called, where the record and the orders share the list.

Codes are what documents and tables hold; people read these words, written as in the middle of a sentence. Knows only
words.
"""

from __future__ import annotations

from typing import Final

MOUNTS: Final = {"full_rim": "full rim", "grooved": "grooved (supra)", "drilled": "drilled (rimless)"}
DESIGN_KINDS: Final = {
    "single_vision": "single vision",
    "bifocal": "bifocal",
    "trifocal": "trifocal",
    "progressive": "progressive",
    "office": "office",
}
FRAME_MATERIALS: Final = {
    "plastic": "plastic",
    "acetate": "acetate",
    "metal": "metal",
    "titanium": "titanium",
    "mixed": "metal and plastic",
    "other": "other",
}
USES: Final = {
    "distance": "distance",
    "intermediate": "intermediate",
    "near": "near",
    "distance_and_near": "distance and near",
}


def label(words: str) -> str:
    """The words as written at the start of a line: ``Full rim``."""
    return words[:1].upper() + words[1:]
