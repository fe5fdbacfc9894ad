"""The arithmetic of the chain: the hash of a row, the rows that a seal is about, and how one seal rests on another.

Knows neither database nor models.
"""

from __future__ import annotations

import hashlib
import json
import struct
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

Entry = tuple[int, bytes]
"""A row's primary key and the 32 bytes of its SHA-256."""

_ENTRY = struct.Struct(">q32s")
NOTHING_BEFORE = ""


def row_hash(table: str, values: Mapping[str, Any]) -> bytes:
    """SHA-256 of a row by its columns. A column that says nothing (null, empty, no) does not count, so that a column
    which is added later leaves the hashes of earlier rows as they are.
    """
    said = {name: value for name, value in values.items() if value}
    text = json.dumps([table, said], sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=_written)
    return hashlib.sha256(text.encode()).digest()


def _written(value: object) -> str:
    """Alike on every database: a time in UTC, a figure without the zeros that a column's scale adds."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return value.isoformat() if isinstance(value, date) else str(value)


def packed(entries: Iterable[Entry]) -> bytes:
    """40 bytes a row."""
    return b"".join(_ENTRY.pack(*entry) for entry in entries)


def unpacked(content: bytes) -> Iterator[Entry]:
    """Raises `struct.error` for what was never packed."""
    yield from _ENTRY.iter_unpack(content)


def seal_hash(
    previous: str, number: int, table: str, after: int, through: int, sealed_at: datetime, entries: bytes
) -> str:
    """SHA-256 of a seal, as 64 hexadecimal digits; ``previous``: that of the seal before it."""
    facts = [previous, number, table, after, through, sealed_at.astimezone(UTC).isoformat(), entries.hex()]
    return hashlib.sha256(json.dumps(facts, separators=(",", ":")).encode()).hexdigest()
