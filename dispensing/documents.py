"""The base of every JSON document that enters or leaves the product, and the faults found in a bad one.

Knows how to parse strictly and how to say, in one clear line per fault, where in the file it lies. Must never know
Django, a particular format, or what the trade thinks of a value: an impossible power parses here and is found by the
order check.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Protocol, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError, WithJsonSchema
from pydantic_core import ErrorDetails, PydanticCustomError


class Stream(Protocol):
    """What a command writes its lines to."""

    def write(self, text: str, /) -> object: ...

    def flush(self) -> object: ...


class DocumentPart(BaseModel):
    """An object inside a document: frozen, no unknown keys, numbers are numbers and never NaN.

    ``extra`` is for whoever writes the document to use freely; nothing here interprets it.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)

    extra: dict[str, Any] | None = None


def list_given(value: Any) -> Any:
    """For lists. A validator that runs before parsing sees Python values, and strict mode requires a real tuple."""
    return tuple(value) if isinstance(value, list) else value


def list_or_nothing(value: Any) -> Any:
    """For lists that may be null: null reads as an empty list."""
    return () if value is None else list_given(value)


def object_or_nothing(value: Any) -> Any:
    """For objects that may be null: null reads as an object in which nothing is given."""
    return {} if value is None else value


DAY_PATTERN = r"^\d{4}-\d{2}-\d{2}$"


def _written_day(value: Any) -> Any:
    """A day is written in one way only; anything else that a library would guess at (a time stamp!) is a fault."""
    if not isinstance(value, str):
        return value
    try:
        if value.isascii() and re.fullmatch(DAY_PATTERN, value):
            return date.fromisoformat(value)
    except ValueError:
        pass
    raise PydanticCustomError("date_written", "not a day of the calendar")


def _whole_value(value: Any) -> Any:
    """JSON has one kind of number: 1.0 is the whole number 1."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


Day = Annotated[
    date,
    BeforeValidator(_written_day),
    WithJsonSchema({"type": "string", "format": "date", "pattern": DAY_PATTERN}),
]
WholeNumber = Annotated[int, BeforeValidator(_whole_value)]

Document = TypeVar("Document", bound=DocumentPart)


@dataclass(frozen=True)
class Fault:
    """One reason why a file is not a valid document: the JSON path (``$.frame.a_mm``) and what is wrong."""

    path: str
    message: str

    def __str__(self) -> str:
        # Text quoted from the file may contain line breaks, but a fault is one line.
        return " ".join(f"{self.path}: {self.message}".split())


class InvalidDocument(ValueError):
    """The text is not a document of the wanted format. ``faults`` holds the faults found, :data:`MOST_LISTED` at most.

    If there are more, the last line says how many: nobody reads thousands, and each would be sent back.
    """

    def __init__(self, faults: Iterable[Fault]):
        self.faults = _listed(tuple(faults))
        super().__init__("; ".join(str(fault) for fault in self.faults))


MOST_LISTED = 200


def _listed(faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
    more = len(faults) - MOST_LISTED
    return faults if more <= 0 else (*faults[:MOST_LISTED], Fault("$", f"and {more} more faults"))


class NotJson(ValueError):
    """The text is not JSON (RFC 8259); the message reads on from the name of the file."""


def read_json(text: str | bytes, *, parse_float: Callable[[str], Any] = float) -> Any:
    """The values of a JSON text, read strictly: UTF-8, no NaN, no key twice in one object, no lone surrogates."""
    try:
        text = _without_byte_order_mark(text)
        values = json.loads(
            text,
            parse_float=parse_float,
            parse_int=_whole_number,
            parse_constant=_refuse_constant,
            object_pairs_hook=_refuse_repeated_keys,
        )
        if HALF_A_CHARACTER.search(text):
            json.dumps(values, ensure_ascii=False).encode()
    except RecursionError as error:
        raise NotJson("is not JSON that can be read: it is nested too deeply") from error
    except UnicodeDecodeError as error:
        raise NotJson(f"is not JSON: byte {error.start + 1} is not UTF-8; save the file as UTF-8") from error
    except UnicodeEncodeError as error:
        raise NotJson("is not JSON: a text holds half a character (a lone surrogate)") from error
    except ValueError as error:
        raise NotJson(f"is not JSON: {error}") from error
    return values


def parse(model: type[Document], text: str | bytes, *, format_name: str) -> Document:
    """Read ``text`` as a document of ``format_name``; raise :class:`InvalidDocument` with all faults."""
    try:
        raw = read_json(text)
    except NotJson as error:
        raise InvalidDocument([Fault("$", str(error))]) from error
    if not isinstance(raw, dict):
        raise InvalidDocument([Fault("$", f"must be an object, found {_kind(raw)}")])
    stated = raw.get("format")
    if stated != format_name:
        found = "is missing" if "format" not in raw else f"is {_word(stated)}"
        raise InvalidDocument([Fault("$.format", f'{found}; this file must say "{format_name}"')])
    try:
        return model.model_validate_json(_without_byte_order_mark(text))
    except ValidationError as error:
        raise InvalidDocument(_fault(detail) for detail in error.errors()) from error


def of_values(model: type[Document], values: dict[str, Any]) -> Document:
    """A document, or part of one, from JSON values already read; as strict as :func:`parse` is on their text.

    Raises :class:`InvalidDocument` with all faults.
    """
    fault = _unwritable(values)
    if fault:
        raise InvalidDocument([Fault("$", fault)])
    try:
        return model.model_validate(values)
    except ValidationError as error:
        raise InvalidDocument(_fault(detail) for detail in error.errors()) from error


def _unwritable(values: Any) -> str:
    """Why these values could not be read back once written as JSON; empty if they can."""
    left = [(values, 1)]
    while left:
        value, depth = left.pop()
        if isinstance(value, str) and HALF_OF_A_TEXT.search(value):
            return "a text holds half a character (a lone surrogate)"
        if isinstance(value, dict | list):
            if depth > DEEPEST:
                return "is nested too deeply"
            parts = [*value, *value.values()] if isinstance(value, dict) else value
            left += [(part, depth + 1) for part in parts]
    return ""


def read(model: type[Document], path: str | Path, *, format_name: str) -> Document:
    """Read the file at ``path``; a file that cannot be read is a fault like any other."""
    try:
        text = Path(path).read_bytes()
    except OSError as error:
        raise InvalidDocument([Fault("$", f"cannot be read: {error.strerror}")]) from error
    return parse(model, text, format_name=format_name)


MOST_DIGITS = 1000
LONGEST_QUOTED = 80  # characters of a file's own text that a fault repeats
DEEPEST = 200  # nesting of objects and lists, the same as for text that is parsed
HALF_A_CHARACTER = re.compile(r"\\u[dD][89a-fA-F]")
HALF_OF_A_TEXT = re.compile("[\ud800-\udfff]")


def _without_byte_order_mark(text: str | bytes) -> str:
    """Some editors put one at the start; it is not part of the text."""
    return text.decode("utf-8-sig") if isinstance(text, bytes) else text.removeprefix("\ufeff")


def _whole_number(digits: str) -> int:
    if len(digits) > MOST_DIGITS:
        raise ValueError(f"a number of {len(digits)} digits")
    return int(digits)


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is not a JSON number")


def _refuse_repeated_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    # A repeated key would silently lose one of two values, perhaps one of two powers.
    keys = dict(pairs)
    if len(keys) != len(pairs):
        times = Counter(name for name, _ in pairs)
        repeated = next(name for name, number in times.items() if number > 1)
        raise ValueError(f'the key "{_short(repeated)}" stands twice in one object')
    return keys


def _fault(detail: ErrorDetails) -> Fault:
    place = detail["loc"]
    if place[-1:] == ("[key]",):  # how pydantic marks a key of an object whose keys come from a list of words
        return Fault(json_path(place[:-1]), f"unknown key; allowed: {detail['ctx']['expected']}")
    return Fault(json_path(place), _message(detail))


def json_path(location: Iterable[str | int]) -> str:
    """``("frame", "shape", "radii_mm", 3)`` → ``$.frame.shape.radii_mm[3]``."""
    return "$" + "".join(f"[{step}]" if isinstance(step, int) else f".{_short(step)}" for step in location)


def _message(detail: ErrorDetails) -> str:
    kind, value = detail["type"], detail["input"]
    context = detail.get("ctx", {})
    if kind == "extra_forbidden":
        return "unknown key"
    if kind == "missing":
        return "is missing"
    if kind in ("literal_error", "enum"):
        return f"unknown word {_word(value)}; allowed: {context['expected']}"
    wanted = {
        "float_type": "a number",
        "float_parsing": "a number",
        "int_type": "a whole number",
        "int_from_float": "a whole number",
        "string_type": "a text",
        "bool_type": "true or false",
        "list_type": "a list",
        "tuple_type": "a list",
        "dict_type": "an object",
        "model_type": "an object",
        "model_attributes_type": "an object",
        "finite_number": "a finite number",
    }.get(kind)
    if wanted is not None:
        return f"must be {wanted}, found {_kind(value)}"
    if kind == "json_invalid":
        deep = "recursion" in context["error"]
        return "is nested too deeply" if deep else f"is not JSON: {context['error']}"
    if kind == "too_long":
        return f"must have at most {context['max_length']} entries, found {context['actual_length']}"
    if kind == "too_short":
        return f"must have at least {context['min_length']} entries, found {context['actual_length']}"
    if kind.startswith("date"):
        return f"must be a date written YYYY-MM-DD, found {_word(value)}"
    return f"{detail['msg'].lower()}, found {_kind(value)}"


def _word(value: Any) -> str:
    """A word as written in the file; anything else by its type."""
    return repr(_short(value)) if isinstance(value, str) else _kind(value)


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_QUOTED else f"{text[:LONGEST_QUOTED]}…"


def _kind(value: Any) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (int, float)):
        return f"the number {str(value)[:40]}"
    if isinstance(value, str):
        return f"the text {value[:40]!r}"
    return "a list" if isinstance(value, list) else "an object"
