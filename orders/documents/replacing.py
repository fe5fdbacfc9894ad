"""What a revision replaces: which values of the order before it are different. Pure: two documents in, one part out.

Only what a lab works by is compared; who answered which question, on which day, and what is known of the patient is
not. Lengths of lists stand for lists, for nobody compares 400 radii by eye.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from orders.documents.canonical import plain, sha256_hex
from orders.documents.lens_order import Change, LensOrder, Replaces, parse_order
from orders.documents.names import lens_names

COMPARED = (
    "lab.name",
    "practice.account",
    "purpose",
    "remake_of",
    "supply",
    "use",
    "power_basis",
    "prescription.vertex_mm",
    "prescription.right",
    "prescription.left",
    "lenses.right",
    "lenses.left",
    "kept_lens",
    "fitting",
    "frame",
    "needed_on",
    "extra.priority",
    "remarks",
)
NOT_FOR_THE_LAB = frozenset({"acuity", "readings", "measured_in_this_frame", "pre_adjusted"})
FROM_EXTRA = {"frame": ("colour", "material", "stock_number", "side_length_mm")}
"""Of what the documents have no key for, the facts that a lab works by."""
NAMED = ("design", "material", "treatments")


def replaces(text: bytes, later: LensOrder) -> Replaces:
    """What ``later`` replaces: the order with this ``text``, as it was sent."""
    earlier = parse_order(text)
    before, after = plain(earlier), plain(later)
    found = [
        _change(path, old, new, earlier, later)
        for section in COMPARED
        for path, old, new in _differing(section, _at(before, section), _at(after, section))
    ]
    said = {(change.field, _key(change)) for change in found if change.field.startswith("prescription.")}
    kept = [change for change in found if not _follows(change, said)]
    return Replaces(revision=earlier.revision or 1, sha256=sha256_hex(text), changes=tuple(kept))


def _at(document: dict[str, Any], path: str) -> Any:
    value: Any = document
    for step in path.split("."):
        value = value.get(step) if isinstance(value, dict) else None
    return value


def _differing(path: str, old: Any, new: Any) -> Iterator[tuple[str, Any, Any]]:
    """Path, old and new value of everything under a path that differs; a lens or part that came or went is one."""
    if isinstance(old, dict) and isinstance(new, dict):
        inside = [*old, *(name for name in new if name not in old)]
        for name in (name for name in inside if name not in NOT_FOR_THE_LAB and name != "extra"):
            yield from _differing(f"{path}.{name}", old.get(name), new.get(name))
        for name in FROM_EXTRA.get(path, ()):
            yield from _differing(f"{path}.extra.{name}", _at(old, f"extra.{name}"), _at(new, f"extra.{name}"))
    elif (old or None) != (new or None):
        yield path, old, new


def _change(path: str, old: Any, new: Any, earlier: LensOrder, later: LensOrder) -> Change:
    values = {"field": path, "from": _short(old), "to": _short(new)}
    names = _named(path, earlier), _named(path, later)
    also = {"from_name": names[0], "to_name": names[1]}
    return Change.model_validate(values | ({"extra": also} if any(names) else {}))


def _short(value: Any) -> Any:
    """A lens or part as its own choices, a long list as its length."""
    if isinstance(value, dict):
        return {name: _short(inner) for name, inner in value.items() if name != "extra"}
    long = isinstance(value, list) and bool(value) and isinstance(value[0], int | float)
    return f"{len(value)} figures" if long else value


def _named(path: str, order: LensOrder) -> str | None:
    """What the document calls the code at this path."""
    section, _, last = path.rpartition(".")
    lens = {"lenses.right": order.lenses.right, "lenses.left": order.lenses.left, "kept_lens": order.kept_lens}
    if last not in NAMED or lens.get(section) is None:
        return None
    names = lens_names(lens[section])  # type: ignore[arg-type]  # None was just excluded
    return ", ".join(names.treatments) or None if last == "treatments" else getattr(names, last)


def _key(change: Change) -> str:
    return repr((change.before, change.after))


def _follows(change: Change, said: set[tuple[str, str]]) -> bool:
    """Whether the change of a power to be made is that of the prescription, which is already said."""
    made = re.fullmatch(r"lenses\.(right|left)\.power\.(\w+)", change.field)
    return made is not None and (f"prescription.{made[1]}.{made[2]}", _key(change)) in said
