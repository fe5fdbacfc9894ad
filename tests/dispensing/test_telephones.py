"""Telephone numbers as people write them: what takes a text, and what is said of what does not."""

from __future__ import annotations

import phonenumbers
import pytest

from dispensing.telephones import NumberRefused, mobile_number


def example(country: str) -> str:
    """The number that the plan's own data give as an example of a mobile one."""
    number = phonenumbers.example_number_for_type(country, phonenumbers.PhoneNumberType.MOBILE)
    assert number is not None
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.NATIONAL)


def test_a_mobile_number_is_read_for_the_practices_country() -> None:
    assert mobile_number(example("GB"), "GB") == "+447400123456"
    assert mobile_number("+44 7400 123456", "US") == "+447400123456"
    assert mobile_number(" 07400-123456 ", "GB") == "+447400123456"
    assert mobile_number(example("US"), "US").startswith("+1")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "There is no phone number on record."),
        ("   ", "There is no phone number on record."),
        ("12345", "“12345” is not a phone number that is in use (GB)."),
        ("call the daughter", "“call the daughter” is not a phone number that is in use (GB)."),
        ("020 7946 0018", "“020 7946 0018” takes no text messages: it is not a mobile number."),
        ("07400 12345", "“07400 12345” is not a phone number that is in use (GB)."),
    ],
)
def test_what_is_no_number_or_takes_no_texts_is_said(text: str, says: str) -> None:
    with pytest.raises(NumberRefused) as refused:
        mobile_number(text, "GB")
    assert str(refused.value).startswith(says)


def test_a_country_that_there_is_not_reads_numbers_with_their_code_only() -> None:
    assert mobile_number("+447400123456", "XX") == "+447400123456"
    with pytest.raises(NumberRefused):
        mobile_number("07400 123456", "XX")
