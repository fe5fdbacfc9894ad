"""How text is compared in searches: ignoring case, accents, marks and punctuation. Pure.

``Ängström``, ``angstrom`` and a name typed with combining marks are one; so are ``O'Neill`` and ``oneill``.
"""

import re
import unicodedata

# Letters whose stroke or ligature is part of the letter, so that decomposition leaves them unchanged.
_OWN_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h", "ŧ": "t"}
)
_SPELT_OUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe"})
_BIDI_CONTROLS = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]")
_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")


def tidy(text: str) -> str:
    """Text as it is stored: composed (NFC), without invisible direction marks, each gap a single space."""
    plain = _CONTROLS.sub(" ", _BIDI_CONTROLS.sub("", unicodedata.normalize("NFC", text)))
    return " ".join(plain.split())


def fold(text: str) -> str:
    """The text as words of lower-case letters and figures only, one space apart."""
    return " ".join(folded_words(text))


def folded_words(text: str) -> list[str]:
    """``O'Neill-Smith`` gives ``oneillsmith``: punctuation inside a word is dropped, a gap separates words."""
    small = unicodedata.normalize("NFKD", text.casefold()).translate(_OWN_LETTERS)
    words = ("".join(c for c in word if unicodedata.category(c)[0] in "LN") for word in small.split())
    return [word for word in words if word]


def parts_of_names(text: str) -> list[str]:
    """The words, and for a hyphened or apostrophed word also its parts: ``Smith-Jones`` is found by ``jones``."""
    return folded_words(text) + folded_words(re.sub(r"[^\w\s]", " ", text))


def spellings(text: str) -> list[list[str]]:
    """The words of a name, each in every way it is written without marks: ``Müller`` as ``muller`` and ``mueller``."""
    composed = unicodedata.normalize("NFC", text.casefold())
    pairs = zip(folded_words(composed), folded_words(composed.translate(_SPELT_OUT)))
    return [list(dict.fromkeys(pair)) for pair in pairs]


def digits_of(text: str) -> str:
    return "".join(c for c in text if c.isdecimal())
