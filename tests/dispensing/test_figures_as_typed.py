"""Figures as people type them into fields."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from dispensing.forms.figures import ReadingsField, SizeField, plain_readings


def depth() -> SizeField:
    return SizeField(words="B", unit="mm", possible=(12, 80))


TYPED = [("38", "38"), ("38.5", "38.5"), ("38,5", "38.5"), (" 38 mm ", "38"), ("38mm", "38"), ("", None)]


@pytest.mark.parametrize(("typed", "read"), TYPED)
def test_a_length_is_read_with_comma_or_point_with_or_without_its_unit(typed: str, read: str | None) -> None:
    assert depth().clean(typed) == (None if read is None else Decimal(read))


@pytest.mark.parametrize("typed", ["deep", "NaN", "Infinity", "38..5", "38 40", "--38", "38 in"])
def test_what_is_not_one_figure_is_refused_in_words(typed: str) -> None:
    with pytest.raises(ValidationError, match="not a number"):
        depth().clean(typed)


def test_a_depth_of_380_is_taken_for_38() -> None:
    with pytest.raises(
        ValidationError, match=r"B of 380 mm is not possible: 12 to 80 mm is possible\. Is it in mm\?.*38\.0"
    ):
        depth().clean("380")


def test_a_depth_in_centimetres_is_taken_for_a_tenth() -> None:
    with pytest.raises(ValidationError, match=r"Did you mean 38\.0\?"):
        depth().clean("3.8")


READINGS = [
    ("31.5 32 31.5", [31.5, 32.0, 31.5]),
    ("31,5 32 31,5", [31.5, 32.0, 31.5]),
    ("31, 32", [31.0, 32.0]),
    ("31.5/32;31.5 mm", [31.5, 32.0, 31.5]),
    ("−2", [-2.0]),
    ("9°", [9.0]),
    ("", []),
]


@pytest.mark.parametrize(("typed", "read"), READINGS)
def test_several_readings_are_read_from_one_field(typed: str, read: Any) -> None:
    assert plain_readings(typed) == read


def test_a_reading_that_is_none_is_named() -> None:
    with pytest.raises(ValidationError, match="“about” is not a reading"):
        ReadingsField(words="PD", unit="mm").clean("31.5 about 32")


def test_more_readings_than_anybody_takes_are_refused() -> None:
    with pytest.raises(ValidationError, match="9 readings"):
        ReadingsField(words="PD", unit="mm").clean("31 " * 9)
