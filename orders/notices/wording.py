"""The practice's own words with placeholders: which there are, what is wrong with a wording, and filling them in. Pure.

A placeholder is a name in braces that stands in a list; nothing in a wording is ever run.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from enum import StrEnum


class Kind(StrEnum):
    READY = "ready"
    DELAYED = "delayed"
    REMINDER = "reminder"


KINDS: dict[Kind, str] = {
    Kind.READY: "The pair is ready",
    Kind.DELAYED: "The pair comes later",
    Kind.REMINDER: "Reminder: still waiting to be collected",
}
PLACEHOLDERS: dict[str, str] = {
    "given_name": "the patient's given names",
    "full_name": "given and family name",
    "practice": "the practice's name",
    "practice_phone": "the practice's phone",
    "order": "the order's number",
    "new_day": "the day that the lab now promises",
}
ONLY_OF_A_DELAY = "new_day"
PARTS = {"subject": "Subject of the e-mail", "mail": "E-mail", "text": "Text message"}
LONGEST = {"subject": 120, "mail": 2000, "text": 480}
USUAL: dict[Kind, dict[str, str]] = {
    Kind.READY: {
        "subject": "Your spectacles are ready",
        "mail": "Dear {full_name},\n\nyour spectacles (order {order}) are ready to be collected.\n\n"
        "{practice}\n{practice_phone}",
        "text": "Your spectacles are ready to be collected. {practice}, {practice_phone}",
    },
    Kind.DELAYED: {
        "subject": "Your spectacles come later",
        "mail": "Dear {full_name},\n\nyour spectacles (order {order}) come later than we told you: the lab now "
        "promises them for {new_day}. We tell you as soon as they are ready.\n\n{practice}\n{practice_phone}",
        "text": "Your spectacles come later: the lab now promises them for {new_day}. {practice}, {practice_phone}",
    },
    Kind.REMINDER: {
        "subject": "Your spectacles are waiting for you",
        "mail": "Dear {full_name},\n\nyour spectacles (order {order}) are still waiting to be collected.\n\n"
        "{practice}\n{practice_phone}",
        "text": "Your spectacles are still waiting to be collected. {practice}, {practice_phone}",
    },
}

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
# A sign that stands by itself, and a power's usual decimals: not the hours from 9.30-17.00.
_POWER = re.compile(r"(?<!\d)[+\-−]\s?\d{1,2}[.,](?:00|25|50|75|12|37|62|87)")
_GSM = re.compile(r"[@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,\-./0-9:;<=>?¡A-ZÄÖÑÜ§¿a-zäöñüà]*")
"""The letters of a plain text message (3GPP TS 23.038); with any other it holds fewer."""


class CannotFill(ValueError):
    """There is nothing to put in for a placeholder; the message says for which, in words."""


def faults(wording: str, kind: Kind, part: str) -> list[str]:
    """What is wrong with a wording, each in a sentence; empty if nothing."""
    known = [name for name in PLACEHOLDERS if name != ONLY_OF_A_DELAY or kind is Kind.DELAYED]
    found = [] if wording.strip() else ["Write what is to be said."]
    if len(wording) > LONGEST[part]:
        found.append(f"It has {len(wording)} characters; at most {LONGEST[part]} are possible.")
    listed = ", ".join(f"{{{name}}}" for name in known)
    unknown = list(dict.fromkeys(name for name in _PLACEHOLDER.findall(wording) if name not in known))
    found += [f"There is no placeholder {{{name}}} here. There are: {listed}." for name in unknown]
    if re.search(r"[{}]", _PLACEHOLDER.sub("", wording)):
        found.append(f"A brace stands alone. Placeholders are written as {{order}}; there are: {listed}.")
    if power := _POWER.search(wording):
        found.append(f"“{power[0]}” looks like a power. A notice carries none; take it out.")
    return found


def filled(wording: str, values: Mapping[str, str]) -> str:
    """The wording with its placeholders filled in, each by one line of text, once: a value is never read again.

    Raises `CannotFill` where a value is empty or missing.
    """

    def value(found: re.Match[str]) -> str:
        text = " ".join(values.get(found[1], "").split())
        if not text:
            raise CannotFill(f"There is nothing to put in for {found[0]}: {PLACEHOLDERS.get(found[1], 'unknown')}.")
        return text

    return _PLACEHOLDER.sub(value, wording)


def text_parts(text: str) -> int:
    """How many messages a text is charged as: 160 plain letters, or 70 of any, and a little less in each of several
    (3GPP TS 23.038 and 23.040).
    """
    plain = _GSM.fullmatch(text) is not None
    units = len(text) if plain else len(text.encode("utf-16-le")) // 2
    one, several = (160, 153) if plain else (70, 67)
    return 1 if units <= one else -(-units // several)
