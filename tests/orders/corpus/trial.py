"""Tries the order check on the corpus: what it says about clean orders, and about each with one slip in it."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from random import Random
from typing import Any

from orders.documents.lens_catalogue import LensCatalogue
from orders.documents.lens_order import parse_order
from orders.documents.order_report import FindingPart
from orders.rules import check
from tests.orders.corpus.clean_orders import clean_orders
from tests.orders.corpus.every_slip import slips_in

Key = tuple[object, ...]


@dataclass
class Tally:
    """How one kind of slip fared. telling: of those injected, orders whose other data could tell."""

    injected: int = 0
    caught: int = 0
    stopped: int = 0
    telling: int = 0
    caught_telling: int = 0
    escaped: list[str] = field(default_factory=list)

    @property
    def share(self) -> float:
        return self.caught / self.injected if self.injected else 1.0

    @property
    def share_telling(self) -> float:
        return self.caught_telling / self.telling if self.telling else 1.0


@dataclass
class Trial:
    """Everything counted. asks: every ask, an eye each; questions: as the page groups them, both eyes as one."""

    orders: int = 0
    with_previous: int = 0
    with_worn_only: int = 0
    falsely_stopped: int = 0
    asks: int = 0
    questions: int = 0
    by_rule: Counter[tuple[str, str]] = field(default_factory=Counter)
    tallies: dict[tuple[str, str], Tally] = field(default_factory=lambda: defaultdict(Tally))

    def family(self, name: str) -> Tally:
        """All slips of one class together."""
        total = Tally()
        for (family, _), tally in self.tallies.items():
            if family == name:
                _add(total, tally)
        return total

    @property
    def families(self) -> list[str]:
        return list(dict.fromkeys(family for family, _ in self.tallies))

    @property
    def all_slips(self) -> Tally:
        return self._together(self.families)

    @property
    def copied_slips(self) -> Tally:
        """Those that are made with the prescription's paper in hand, and that a scan of it can tell."""
        return self._together(COPIED)

    def _together(self, families: Iterable[str]) -> Tally:
        total = Tally()
        for name in families:
            _add(total, self.family(name))
        return total


def _add(total: Tally, part: Tally) -> None:
    for name in ("injected", "caught", "stopped", "telling", "caught_telling"):
        setattr(total, name, getattr(total, name) + getattr(part, name))


COPIED = ("add", "axis", "sign", "eyes", "decimal", "cylinder form")
READ = 0.95
"""Share of the figures on a paper that are read without doubt: between clean print and photos (tests/reading)."""


def trial(seed: int, count: int, with_slips: int | None = None, *, scanned: bool = False) -> Trial:
    """Judge `count` clean orders, and of the first `with_slips` (all when None) every slip that each has room for.

    ``scanned``: the paper of each was read, so that what is copied wrongly from it can be told.
    """
    result, rng, reader = Trial(), Random(seed + 1), Random(seed + 2)
    for place, order in enumerate(clean_orders(seed, count)):
        paper = _read_off(order.document, reader) if scanned else {}
        clean = _open(_with_paper(order.document, paper), order.catalogue)
        _count_clean(result, clean, order.document)
        if with_slips is not None and place >= with_slips:
            continue
        before = {_key(part) for part in clean}
        for slip, document, fields in slips_in(order, rng):
            judged = _open(_with_paper(document, paper), order.catalogue)
            new = [part for part in judged if _key(part) not in before]
            tally, telling = result.tallies[slip.family, slip.name], slip.can_be_told(order, document)
            _count_slip(tally, new, fields, telling, order.document["number"])
    return result


def _read_off(document: dict[str, Any], rng: Random) -> dict[str, Any]:
    """What was read off the paper that the clean order was copied from; a figure in twenty is not."""
    read = {}
    for eye in ("right", "left"):
        written = document["prescription"][eye] or {}
        figures = {
            name: written.get(name) for name in ("sphere", "cylinder", "axis", "add", "intermediate_add", "prism")
        }
        read[eye] = {name: value for name, value in figures.items() if value and rng.random() < READ}
    return {"paper": read}


def _with_paper(document: dict[str, Any], paper: dict[str, Any]) -> dict[str, Any]:
    if not paper:
        return document
    prescription = document["prescription"]
    return document | {"prescription": prescription | {"extra": (prescription.get("extra") or {}) | paper}}


def _open(document: dict[str, object], catalogue: LensCatalogue) -> list[FindingPart]:
    report = check(parse_order(json.dumps(document)), catalogue)
    return [part for part in report.findings if part.level != "note" and part.confirmed_by is None]


def _key(part: FindingPart) -> Key:
    return part.rule, part.level, part.eye, part.field, part.found


def _count_clean(result: Trial, findings: list[FindingPart], document: dict[str, Any]) -> None:
    has_previous = document["previous_prescription"] is not None
    result.orders += 1
    result.with_previous += has_previous
    result.with_worn_only += not has_previous and document["patient"]["present_spectacles"] is not None
    result.falsely_stopped += any(part.level == "stop" for part in findings)
    result.asks += sum(part.level == "ask" for part in findings)
    questions = {(part.rule, part.level) for part in findings}
    result.questions += sum(level == "ask" for _, level in questions)
    result.by_rule.update(questions)


def _count_slip(tally: Tally, new: list[FindingPart], fields: tuple[str, ...], telling: bool, number: str) -> None:
    """Caught: a stop or an ask that was not there before points at a key of the slip."""
    caught = any(_points_at(part.field, fields) for part in new)
    tally.injected += 1
    tally.caught += caught
    tally.stopped += any(part.level == "stop" for part in new)
    tally.telling += telling
    tally.caught_telling += caught and telling
    if telling and not caught:
        tally.escaped.append(number)


def _points_at(path: str | None, fields: tuple[str, ...]) -> bool:
    return any(path == name or (path or "").startswith(f"{name}.") for name in fields)


def table(result: Trial) -> str:
    """The figures as text: clean orders first, then a line a class and a line a slip."""
    n = result.orders
    lines = [
        f"{n} clean orders, {result.with_previous / n:.0%} with a previous prescription, "
        f"{result.with_worn_only / n:.0%} with only the pair worn now",
        f"falsely stopped {result.falsely_stopped / n:.2%}, asks an order {result.asks / n:.2f}, "
        f"as questions on the page {result.questions / n:.2f}",
        "",
        f"{'slip':<66}{'made':>6}{'caught':>9}{'stopped':>9}{'data can tell':>15}{'caught':>9}",
    ]
    for family in result.families:
        lines.append(_line(family, result.family(family)))
        lines += [_line(f"  {name}", tally) for (of, name), tally in result.tallies.items() if of == family]
    lines.append(_line("copied wrongly from the paper", result.copied_slips))
    lines += [_line("all slips", result.all_slips), "", "asked or stopped on clean orders, orders in 1000:"]
    lines += [
        f"  {rule} ({level}): {1000 * n / result.orders:.0f}" for (rule, level), n in result.by_rule.most_common(12)
    ]
    return "\n".join(lines)


def _line(name: str, tally: Tally) -> str:
    made, stopped = tally.injected, tally.stopped / max(tally.injected, 1)
    of_telling = f"{tally.share_telling:>9.1%}" if tally.telling else f"{'–':>9}"
    return f"{name:<66}{made:>6}{tally.share:>9.1%}{stopped:>9.1%}{tally.telling / max(made, 1):>15.0%}{of_telling}"
