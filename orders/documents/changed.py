"""What a later order changes of an earlier one, key by key, in words: the first pair and its remake side by side.

Only what decides how the pair is made counts: powers, frame, fitting, lenses and what the lab supplies.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from orders.documents.key_words import key_in_words, value_in_words
from orders.documents.lens_order import LensOrder

MADE_BY: Final = ("use", "power_basis", "prescription", "frame", "fitting", "lenses", "kept_lens", "supply", "lab")
NOT_MADE_BY: Final = (
    "tested_on",
    "expires_on",
    "prescriber",
    "signed",
    "source",
    "acuity",
    "readings",
    "measured_in_this_frame",
    "pre_adjusted",
    "extra",
)


def changed(first: LensOrder, now: LensOrder) -> Iterator[tuple[str, str, str]]:
    """Key, then and now in words, for each figure or choice that is not the same."""
    before, after = _figures(first), _figures(now)
    for path in dict.fromkeys([*before, *after]):
        old, new = before.get(path), after.get(path)
        if old != new:
            yield key_in_words(path), value_in_words(path, old), value_in_words(path, new)


def _figures(order: LensOrder) -> dict[str, Any]:
    told = order.model_dump(mode="json", exclude_none=True)
    return {path: value for name in MADE_BY for path, value in _walk(name, told.get(name))}


def _walk(path: str, value: Any) -> Iterator[tuple[str, Any]]:
    if path.rpartition(".")[2] in NOT_MADE_BY or value is None:
        return
    if isinstance(value, Mapping):
        for key, part in value.items():
            yield from _walk(f"{path}.{key}", part)
    elif value != []:
        yield path, value
