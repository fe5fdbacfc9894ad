"""Writing one eye's line, of a prescription or of a pair of spectacles: what differs, and nothing but that."""

from collections.abc import Mapping
from typing import Any

from dispensing.models.power_lines import PowerLine
from dispensing.services.audit import differing

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
EMPTY = {"acuity": "", "prism_horizontal_base": "", "prism_vertical_base": ""}

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
    return differing(before, {name: values.get(name) if values else EMPTY.get(name) for name in names})


def correct_line(row: PowerLine, values: Mapping[str, Any] | None) -> None:
    """Store the values in the row, or delete it if there are none."""
    if values is None:
        row.delete()
    else:
        write_line(row, values)
