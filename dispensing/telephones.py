"""Telephone numbers as people write them, read for the practice's country: is it one, and does it take texts? Pure.

The plans of all countries come with the library; a number that is not in use there is none.
"""

from __future__ import annotations

import phonenumbers
from phonenumbers import PhoneNumber, PhoneNumberFormat, PhoneNumberType

TAKES_TEXTS = (PhoneNumberType.MOBILE, PhoneNumberType.FIXED_LINE_OR_MOBILE)


class NumberRefused(ValueError):
    """Why no text can be sent to it, in words."""


def mobile_number(text: str, country: str) -> str:
    """The number with its country's code, as in +447400123456. ``country``: two letters, for numbers without a code.

    Raises `NumberRefused`.
    """
    if not text.strip():
        raise NumberRefused("There is no phone number on record.")
    number = _read(text, country)
    if number is None or not phonenumbers.is_valid_number(number):
        raise NumberRefused(f"“{text.strip()}” is not a phone number that is in use ({country}). Look at it again.")
    if phonenumbers.number_type(number) not in TAKES_TEXTS:
        raise NumberRefused(f"“{text.strip()}” takes no text messages: it is not a mobile number.")
    return str(phonenumbers.format_number(number, PhoneNumberFormat.E164))


def _read(text: str, country: str) -> PhoneNumber | None:
    try:
        return phonenumbers.parse(text, country)
    except phonenumbers.NumberParseException:
        return None
