"""What the paper lab order says, in sequence and in words: everything but its drawing and its design.

Pure: an order document and the report on it in, texts out. It must never know a template, a file or a database.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from dispensing.choice_words import label
from dispensing.trade import Limits
from orders.documents import words
from orders.documents.key_words import value_in_words
from orders.documents.lens_order import LensOrder
from orders.documents.order_report import FindingPart, OrderReport
from orders.documents.replaced import Replaced, replaced
from orders.documents.said_once import Said, said_once
from orders.printing.content.cautions import cautions
from orders.printing.content.for_the_lab import for_the_lab
from orders.printing.content.head import Paper, paper_of
from orders.printing.content.tables import Table, tables


@dataclass(frozen=True)
class LabOrderContent:
    """The texts of one lab order, as they follow one another. ``facts``: label and value, below the heading."""

    number: str
    revision: str
    heading: str
    needed: str
    urgent: bool
    paper: Paper
    replaced: Replaced | None
    practice: tuple[str, ...]
    account: str
    lab: str
    facts: tuple[tuple[str, str], ...]
    remarks: str
    cautions: tuple[str, ...]
    tables: tuple[Table, ...]
    lifted: tuple[str, ...]
    sha256: str

    @property
    def short_hash(self) -> str:
        """Enough of the hash for a person to compare."""
        return " ".join(self.sha256[start : start + 4] for start in range(0, 16, 4))


def lab_order_content(order: LensOrder, report: OrderReport, sha256: str) -> LabOrderContent:
    """The content of the lab order for a document with this hash."""
    practice = order.practice
    address = [line for line in words.text_of(practice, "address", "").splitlines() if line.strip(words.MISSING)]
    reach = [text for text in (words.text_of(practice, key) for key in ("phone", "email")) if text != words.MISSING]
    return LabOrderContent(
        number=order.number or words.MISSING,
        revision=str(order.revision or 1),
        heading=_heading(order),
        needed=words.day(order.needed_on),
        urgent=words.is_urgent(order),
        paper=paper_of(order),
        replaced=replaced(order),
        practice=(practice.name or words.MISSING, *address, *reach),
        account=practice.account or words.MISSING,
        lab=order.lab.name or words.MISSING,
        facts=_facts(order),
        remarks=(order.remarks or "").strip(),
        cautions=cautions(order),
        tables=tables(order, report),
        lifted=tuple(_lifted(report)),
        sha256=sha256,
    )


def _heading(order: LensOrder) -> str:
    eyes = order.ordered_eyes
    job = "Pair of lenses" if len(eyes) == 2 else f"{eyes[0].capitalize()} lens only" if eyes else "No lens ordered"
    if order.purpose == "remake":
        return f"Remake of {order.remake_of or 'an order not named'} · {job}"
    return job


def _facts(order: LensOrder) -> tuple[tuple[str, str], ...]:
    prescription = order.prescription
    said = (
        ("Ordered", words.day(order.ordered_on)),
        ("Ordered by", _who(order)),
        ("Patient", order.patient.reference or words.MISSING),
        ("Wearer", age_band(order)),
        ("Supply", label(value_in_words("supply", order.supply))),
        ("Use", value_in_words("use", order.pair_use)),
        ("Tested", f"{words.day(prescription.tested_on)}, vertex {words.figure(prescription.vertex_mm, 'mm')}"),
        ("Prescriber", prescription.prescriber or words.MISSING),
        ("Catalogue of", _catalogue(order)),
    )
    return tuple((name, value) for name, value in said if value)


def _who(order: LensOrder) -> str:
    named = order.ordered_by
    return ", ".join(text for text in (named.name, named.registration) if text) if named else ""


def _catalogue(order: LensOrder) -> str:
    """The day of the catalogue that the order was drawn up from: codes and prices may have changed since."""
    stamp = order.catalogue
    return "" if stamp is None or stamp.issued_on is None else words.day(stamp.issued_on)


def age_band(order: LensOrder) -> str:
    """All that a lab needs of the wearer's age: whether the law or the choice of material looks at it."""
    age, limits = order.wearer_age, Limits.stated(words.extra_of(order.practice, "limits"))
    if age is None:
        return ""
    years = (limits.of("protected-patient", "below_years"), limits.of("impact-need", "below_years"))
    below = [limit for limit in years if age < limit]
    return f"under {min(below):g}" if below else ""


def _lifted(report: OrderReport) -> Iterator[str]:
    """One line for each finding that was answered, without its advice, which is for the practice and not the lab."""
    answered: dict[Any, list[FindingPart]] = {}
    for part in for_the_lab(report.findings):
        answered.setdefault((part.rule, part.level, part.confirmed_by, part.reason), []).append(part)
    for parts in answered.values():
        told = said_once([part.model_copy(update={"advice": ""}) for part in parts])
        yield from (_answered(parts[0], line) for line in told)


def _answered(part: FindingPart, line: Said) -> str:
    """What was found, then who answered it: the title of a rule says what is right, the contrary of what was found."""
    verb = "Lifted" if part.level == "stop" else "Confirmed"
    reason = f": {part.reason.rstrip('.')}" if part.reason else ""
    return f"{line.whole} {verb} by {part.confirmed_by}{reason}."
