"""Counts of orders by month, kept so that they can be added and taken away, and what is worked out of them. Pure.

A count has a key: what it is sorted by, the group's name, and the measure. Times are counted by the whole day, so that
the median of any period is exact and needs no single order.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from orders.causes import NO_MISTAKE
from orders.figures.bands import Share
from orders.figures.story import NOT_SAID, Told

Key = tuple[str, str, str]
Counts = Counter[Key]

ALL = ("all", "")
GROUPS = ("lab", "design", "dispenser", "mount")
DAYS = "days "
WAY_OF_COUNTING = 1
"""One more whenever what is counted changes, so that what was kept by the old way is counted again."""


def counts_of(told: Told) -> Counts:
    """What one order adds."""
    counts: Counts = Counter()
    measures = list(_measures(told))
    for by, name in (ALL, *((by, getattr(told, by)) for by in GROUPS)):
        counts.update((by, name, measure) for measure in measures)
        if told.queries:
            counts[by, name, "queries"] += told.queries
    counts.update(("lifted", f"{rule} by {person}", "orders") for rule, person in told.lifted)
    counts.update(("caught", rule, level) for rule, level in told.caught)
    if told.cause and not told.remake:
        counts["cause", f"{told.cause} of {told.whose}", "remade"] += 1
    return counts


def _measures(told: Told) -> Iterator[str]:
    """Each measure that the order counts once in."""
    yield "sent"
    yield told.check
    flags = {
        "withdrawn": told.withdrawn,
        "queried": bool(told.queries),
        "caught": bool(told.caught),
        "again": told.remake,
        "clock back": told.clock_back,
        "due": told.on_time is not None,
        "on time": told.on_time is True,
        "pairs": not told.remake and not told.withdrawn,
        "remade": not told.remake and bool(told.cause),
        "mistakes": not told.remake and bool(told.cause) and told.cause not in (*NO_MISTAKE, NOT_SAID),
        "ready": told.days is not None,
        f"{DAYS}{told.days}": told.days is not None,
    }
    yield from (measure for measure, counts in flags.items() if counts)


def changed(kept: Counts, *, gone: Iterable[Counts] = (), new: Iterable[Counts] = ()) -> Counts:
    """The counts with some taken away and some added; what is nought is left out."""
    found = Counter(kept)
    for counts in gone:
        found.subtract(counts)
    for counts in new:
        found.update(counts)
    return Counter({key: count for key, count in found.items() if count})


def as_rows(counts: Counts) -> list[list[str | int]]:
    """To be stored; the same counts always in the same order."""
    return [[*key, count] for key, count in sorted(counts.items()) if count]


def from_rows(rows: Iterable[list[str | int]]) -> Counts:
    return Counter({(str(by), str(name), str(measure)): int(count) for by, name, measure, count in rows})


@dataclass(frozen=True, slots=True)
class Group:
    """One group's counts by measure: all orders of a month, or those of a lab."""

    measures: Mapping[str, int]

    def __getitem__(self, measure: str) -> int:
        return self.measures.get(measure, 0)

    def share(self, measure: str, of: str) -> Share:
        return Share(self[measure], self[of])

    def days_within(self, share: float) -> int | None:
        """The fewest whole days within which at least this share was ready; None if nothing was."""
        days = sorted(
            (int(measure.removeprefix(DAYS)), count)
            for measure, count in self.measures.items()
            if measure.startswith(DAYS)
        )
        wanted, seen = share * sum(count for _, count in days), 0
        for day, count in days:
            seen += count
            if seen >= wanted - 1e-9:
                return day
        return None


def groups(counts: Counts, by: str) -> dict[str, Group]:
    """Each group of one sorting, by its name."""
    found: dict[str, dict[str, int]] = defaultdict(dict)
    for (of, name, measure), count in counts.items():
        if of == by:
            found[name][measure] = count
    return {name: Group(found[name]) for name in sorted(found)}


def in_all(counts: Counts) -> Group:
    return groups(counts, ALL[0]).get(ALL[1], Group({}))


def together(months: Iterable[Counts]) -> Counts:
    return changed(Counter(), new=months)
