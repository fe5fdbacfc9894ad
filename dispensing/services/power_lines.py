"""Writing one eye's line, of a prescription or of a pair of spectacles: what differs, and nothing but that."""

from collections.abc import Callable, Mapping
from typing import Any

from dispensing.models import Prescription, WornPair
from dispensing.models.choices import Eye
from dispensing.models.power_lines import PowerLine
from dispensing.services.audit import differing
from dispensing.services.meanwhile import require_version, save_next_version

LINE_FIELDS = (
    "sphere",
    "cylinder",
    "axis",
    "add",
    "intermediate_add",
    "prism_horizontal",
    "prism_horizontal_base",
    "prism_vertical",
    "prism_vertical_base",
    "acuity",
)
EMPTY = {"balance": False, "acuity": "", "prism_horizontal_base": "", "prism_vertical_base": ""}

Eyes = Mapping[str, Mapping[str, Any]]
"""``{"right": {field: value}}``: the fields of the line; an eye left out has none."""


def write_line(row: PowerLine, values: Mapping[str, Any]) -> None:
    """Store the values in the row. Raises ValidationError."""
    for name, value in values.items():
        setattr(row, name, value)
    row.full_clean()
    row.save()


def differing_line(
    row: PowerLine | None, values: Mapping[str, Any] | None, names: tuple[str, ...] = LINE_FIELDS
) -> dict[str, tuple[Any, Any]]:
    """The old and new value of each field that differs; no row, or no values, counts as an empty line."""
    before = {name: getattr(row, name) if row else EMPTY.get(name) for name in names}
    return differing(before, {name: (values or {}).get(name, EMPTY.get(name)) for name in names})


def correct_line(row: PowerLine, values: Mapping[str, Any] | None) -> None:
    """Store the values in the row, or delete it if there are none."""
    if values is None:
        row.delete()
    else:
        write_line(row, values)


def correct_record(
    stored: Prescription | WornPair,
    *,
    facts: Mapping[str, Any],
    eyes: Eyes,
    version: int | None,
    new_line: Callable[[str], PowerLine],
    names: tuple[str, ...] = LINE_FIELDS,
) -> dict[str, tuple[Any, Any]]:
    """Replace what differs of a record with a line for each eye; ``stored`` is locked by the caller's transaction.

    Returns the old and new value of each field, nothing if nothing differs. Raises ValidationError, ChangedMeanwhile.
    """
    rows: dict[str, PowerLine] = {row.eye: row for row in stored.eyes.all()}
    changed = differing({name: getattr(stored, name) for name in facts}, facts)
    lines = {eye: differing_line(rows.get(eye), eyes.get(eye), names) for eye in Eye.values}
    changes = changed | {f"{eye}.{name}": pair for eye, pairs in lines.items() for name, pair in pairs.items()}
    require_version(stored, version, changes)
    if not changes:
        return {}
    for name in changed:
        setattr(stored, name, facts[name])
    if changed:
        stored.full_clean(exclude={"recorded_by"})
    save_next_version(stored, changed)
    for eye in (eye for eye, pairs in lines.items() if pairs):
        correct_line(rows.get(eye) or new_line(eye), eyes.get(eye))
    return changes
