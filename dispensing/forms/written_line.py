"""A pasted line put into the fields of the grid, and one eye turned into the other cylinder form.

Works on the posted text, so that everything else that was typed stays; the optics core's notation does the reading.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.http import QueryDict

from dispensing.optics.conventions import EYES
from dispensing.optics.notation import (
    NotationError,
    ParsedEyeLine,
    format_axis,
    format_power,
    parse_prescription_line,
)
from dispensing.optics.prism import Prism
from dispensing.prescribing.eye import EyeFigures, Form
from dispensing.prescribing.written_line import WrittenLine, read_written


def read_line(data: QueryDict, text: str, eye: str = "") -> tuple[QueryDict, list[str]]:
    """(the posted data with the line's figures in place, notes). ``eye``: the eye it is for if the line names none.

    Raises NotationError, whose ``missing`` is ``eye`` when the line names none, and whose advice is what could not be
    placed when nothing could.
    """
    said = read_written(text, next((one for one in EYES if one == eye), None))
    if said.is_empty:
        raise NotationError("prescription", text, "", "powers as in R -3.25/-1.00x170", _unplaced(said))
    filled = data.copy()
    notes: list[str] = []
    for name, line in said.lines.items():
        if line is None:
            continue
        for field, value in _texts(line).items():
            filled[f"{name}-{field}"] = value
        notes += [note for note in line.notes if note not in notes]
    _fill_the_rest(filled, said)
    return filled, [*notes, *([_unplaced(said)] if said.aside else [])]


def _fill_the_rest(filled: QueryDict, said: WrittenLine) -> None:
    for eye, add in said.intermediate_add.items():
        filled[f"{eye}-intermediate_add"] = format_power(add)
    for eye, acuity in said.acuity.items():
        filled[f"{eye}-acuity"] = acuity
    if said.vertex_mm:
        filled["vertex_mm"] = said.vertex_mm
    for eye in said.balance:
        filled[f"{eye}-balance"] = "on"
    if said.pd:
        kept = filled.get("notes", "").strip()
        filled["notes"] = "\n".join(filter(None, (kept, f"On the prescription: PD {said.pd}")))


def _unplaced(said: WrittenLine) -> str:
    return f"I could not place {', '.join(f'“{words}”' for words in said.aside)}." if said.aside else ""


def names_no_eye(fault: NotationError, text: str) -> bool:
    """Whether one valid line was pasted that lacks only the eye it belongs to."""
    if fault.missing != "eye":
        return False
    try:
        parse_prescription_line(text)
    except NotationError:
        return False
    return True


def turn(data: QueryDict, eye: EyeFigures, form: Form) -> QueryDict:
    """The posted data with one eye's power written in the other cylinder form; half a power stays as typed."""
    if eye.power is None:
        return data
    turned = eye.in_form(form)
    filled = data.copy()
    filled[f"{eye.eye}-sphere"] = _power(turned.sphere)
    filled[f"{eye.eye}-cylinder"] = _power(turned.cylinder)
    filled[f"{eye.eye}-axis"] = "" if turned.axis is None else format_axis(turned.axis)
    return filled


def _texts(line: ParsedEyeLine) -> dict[str, str]:
    prism = _total(Prism.from_base(one.amount, one.base) for one in line.prisms)
    texts = {
        "sphere": _power(line.sphere),
        "cylinder": _power(line.cylinder) if line.cylinder else "",
        "axis": "" if line.axis is None else str(line.axis),
        "add": "" if line.add is None else format_power(line.add),
    }
    return texts | _prism("horizontal", prism.in_pd, "in", "out") | _prism("vertical", prism.up_pd, "up", "down")


def _total(prisms: Iterable[Prism]) -> Prism:
    total = Prism()
    for prism in prisms:
        total = total + prism
    return total


def _prism(name: str, amount: float, positive: str, negative: str) -> dict[str, str]:
    return {
        f"prism_{name}": f"{abs(amount):.2f}" if amount else "",
        f"prism_{name}_base": "" if not amount else positive if amount > 0 else negative,
    }


def _power(value: Any) -> str:
    return "" if value is None else format_power(value)
