"""The figures of a period as a page shows them: what they say in words, and tables by month or group with their plots.

The same rows make the page, the chart, the paper and the CSV.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from dispensing.choice_words import label
from orders.causes import in_words
from orders.documents.names import MOUNTS
from orders.figures.bands import Share
from orders.figures.counts import Counts, Group, groups, in_all, together
from orders.figures.period_charts import Line, Plot, Size, counts_chart, days_chart, shares_chart
from orders.figures.story import NOT_KNOWN, NOT_SAID
from orders.rules.registry import title_of

DASH = "–"
HALF, NINE_IN_TEN = 0.5, 0.9
SORTED_BY = {
    "month": "Month",
    "lab": "Lab",
    "design": "Design",
    "dispenser": "Dispenser",
    "mount": "Mount",
}


@dataclass(frozen=True)
class Period:
    """What is shown. ``months``: the counts of each month of the period; ``people``: names by key."""

    by: str
    months: Mapping[str, Counts]
    people: Mapping[str, str]

    @property
    def whole(self) -> Counts:
        return together(self.months.values())

    @property
    def lines(self) -> list[tuple[str, Group]]:
        """The name and counts of each month or group, and all of them last."""
        if self.by == "month":
            rows = [(month_in_words(month), in_all(counts)) for month, counts in self.months.items()]
        else:
            rows = sorted((self._named(name), group) for name, group in groups(self.whole, self.by).items())
        return [*rows, ("All", in_all(self.whole))]

    def _named(self, name: str) -> str:
        if self.by == "mount":
            return label(MOUNTS.get(name, name))
        return self.people.get(name, name) if self.by == "dispenser" else name


@dataclass(frozen=True)
class Section:
    """One thing asked. ``cells``: what stands in a row after its name; ``values``: what is drawn of it."""

    title: str
    explained: str
    heads: tuple[str, ...]
    cells: Callable[[Group, Group], list[str]]
    axis: str
    legend: tuple[str, ...]
    values: Callable[[Group], tuple[Share | int | None, ...]]
    draw: Callable[[Plot, Size], str]

    def rows(self, period: Period) -> list[list[str]]:
        lines = period.lines
        whole = lines[-1][1]
        return [[name, *self.cells(group, whole)] for name, group in lines]

    def plot(self, period: Period) -> Plot:
        by = SORTED_BY[period.by].lower()
        lines = [(name, group) for name, group in period.lines if not (period.by == "month" and name == "All")]
        drawn = tuple(Line(name, self.values(group)) for name, group in lines)
        said = f"{self.explained} By {by}; the table beside it has every figure."
        return Plot(f"{self.title}, by {by}", said, self.axis, self.legend, drawn, period.by == "month")


def _percent(share: Share) -> tuple[str, str]:
    """The share and its band."""
    if share.share is None or share.band is None:
        return DASH, DASH
    low, high = share.band
    return f"{100 * share.share:.1f} %", f"{100 * low:.1f} to {100 * high:.1f} %"


def _beside(share: Share, whole: Share) -> str:
    """Whether a group differs from all by more than chance: its band leaves their share out."""
    if share.band is None or whole.share is None or share.count == whole.count:
        return DASH
    low, high = share.band
    if low <= whole.share <= high:
        return "no more than chance"
    return "above" if low > whole.share else "below"


def _days(days: int | None) -> str:
    return DASH if days is None else str(days)


def _check(group: Group, whole: Group) -> list[str]:
    shares = (group.share(name, "sent") for name in ("clear", "asked", "stopped", "caught"))
    return [str(group["sent"]), *(cell for share in shares for cell in (str(share.found), *_percent(share)))]


def _time(group: Group, whole: Group) -> list[str]:
    return [str(group["ready"]), _days(group.days_within(HALF)), _days(group.days_within(NINE_IN_TEN))]


def _shared(found: str, of: str) -> Callable[[Group, Group], list[str]]:
    def cells(group: Group, whole: Group) -> list[str]:
        share = group.share(found, of)
        return [str(share.count), str(share.found), *_percent(share), _beside(share, whole.share(found, of))]

    return cells


def _remakes(group: Group, whole: Group) -> list[str]:
    mistakes = group.share("mistakes", "pairs")
    return [*_shared("remade", "pairs")(group, whole), str(mistakes.found), *_percent(mistakes)]


BAND = "95 % range"
SECTIONS: dict[str, Section] = {
    "on-time": Section(
        "Ready by the day they were needed",
        "The share of pairs with such a day that were ready by then.",
        ("Ready, with a day", "On time", "Share", BAND, "Beside all"),
        _shared("on time", "due"), "On time, %", ("On time",),
        lambda group: (group.share("on time", "due"),), shares_chart,
    ),
    "time": Section(
        "From sent to ready",
        "Days until a pair was checked and in order: half were ready within the first, nine in ten within the second.",
        ("Ready", "Half within, days", "Nine in ten within, days"),
        _time, "Days from sent to ready", ("Half within", "Nine in ten within"),
        lambda group: (group.days_within(HALF), group.days_within(NINE_IN_TEN)), days_chart,
    ),
    "remakes": Section(
        "Made again",
        "The share of pairs that were made again, and of those for which it was somebody’s mistake.",
        ("Pairs", "Made again", "Share", BAND, "Beside all", "Somebody’s mistake", "Share", BAND),
        _remakes, "Made again, % of pairs", ("Made again", "Somebody’s mistake"),
        lambda group: (group.share("remade", "pairs"), group.share("mistakes", "pairs")), shares_chart,
    ),
    "queries": Section(
        "Questions from the lab",
        "The share of orders about which the lab asked something.",
        ("Sent", "Asked about", "Share", BAND, "Beside all"),
        _shared("queried", "sent"), "Asked about by the lab, %", ("Asked about",),
        lambda group: (group.share("queried", "sent"),), shares_chart,
    ),
    "check": Section(
        "What the check said",
        "Orders that the check had nothing against, those it asked about, and those with a stop that was lifted. "
        "Caught: it stopped or asked while the order was drawn up, and that was gone when it was sent.",
        ("Sent", "Clear", "Share", BAND, "Asked", "Share", BAND, "Stop lifted", "Share", BAND, "Caught", "Share", BAND),
        _check, "Orders", ("Clear", "Asked", "Stop lifted"),
        lambda group: (group["clear"], group["asked"], group["stopped"]), counts_chart,
    ),
}  # fmt: skip

LISTS: dict[str, tuple[str, tuple[str, ...]]] = {
    "causes": ("Why pairs were made again", ("Cause", "Pairs", "Share of pairs", BAND)),
    "caught": ("What the check caught before it left", ("Rule", "Orders", "As a stop", "As a question")),
    "lifted": ("Stops that were lifted", ("Rule", "Lifted by", "Orders", "Share of orders", BAND)),
}


def list_rows(name: str, whole: Counts) -> list[list[str]]:
    """The rows of one of LISTS, the most frequent first."""
    return {"causes": _causes, "caught": _caught, "lifted": _lifted}[name](whole)


def _causes(whole: Counts) -> list[list[str]]:
    pairs = in_all(whole)["pairs"]
    found = [(name.split(" of ", 1), group["remade"]) for name, group in groups(whole, "cause").items()]
    return [
        [_cause(*parts), str(count), *_percent(Share(count, pairs))]
        for parts, count in sorted(found, key=lambda row: (-row[1], row[0]))
    ]


def _cause(cause: str, whose: str) -> str:
    return "Not said" if cause == NOT_SAID else in_words(cause, whose)


def _caught(whole: Counts) -> list[list[str]]:
    found = [(title_of(rule), group["stop"], group["ask"]) for rule, group in groups(whole, "caught").items()]
    ranked = sorted(found, key=lambda row: (-row[1] - row[2], row[0]))
    return [[title, str(stops + asks), str(stops), str(asks)] for title, stops, asks in ranked]


def _lifted(whole: Counts) -> list[list[str]]:
    sent = in_all(whole)["sent"]
    found = [(name.split(" by ", 1), group["orders"]) for name, group in groups(whole, "lifted").items()]
    return [
        [title_of(rule), person, str(count), *_percent(Share(count, sent))]
        for (rule, person), count in sorted(found, key=lambda row: (-row[1], row[0]))
    ]


def month_in_words(month: str) -> str:
    """``2026-11`` as Nov 2026."""
    return f"{date.fromisoformat(f'{month}-01'):%b %Y}"


def in_short(period: Period, overdue: int = 0) -> list[str]:
    """What the figures say, the deciding one first; each with its count and band.

    ``overdue``: how many are past their day today and not ready, which no share can hold yet.
    """
    group = in_all(period.whole)
    said = (
        _on_time_said(group) + _overdue_said(overdue),
        _time_said(group),
        _remakes_said(group, period.whole),
        _check_said(group),
        _odd(group),
    )
    return [words for words in said if words]


def _range(share: Share) -> str:
    percent, band = _percent(share)
    return f"{percent} (95 % range {band})"


def _on_time_said(group: Group) -> str:
    share = group.share("on time", "due")
    if not share.count:
        return "No pair with a day to be ready by was ready in that time."
    return f"{share.found} of {share.count} pairs were ready by the day they were needed: {_range(share)}."


def _overdue_said(overdue: int) -> str:
    if not overdue:
        return ""
    return f" {overdue} more {'is' if overdue == 1 else 'are'} past that day today and not ready."


def _time_said(group: Group) -> str:
    half, most = group.days_within(HALF), group.days_within(NINE_IN_TEN)
    if half is None:
        return ""
    open_ = group["sent"] - group["withdrawn"] - group["ready"] - group["clock back"]
    waits = f" {open_} of {group['sent']} sent are not ready yet." if open_ else ""
    return f"Half were ready within {half} days of being sent, nine in ten within {most}.{waits}"


def _remakes_said(group: Group, whole: Counts) -> str:
    share = group.share("remade", "pairs")
    if not share.count:
        return ""
    most = next(iter(_causes(whole)), None)
    why = f" Most often: {most[0]} ({most[1]})." if most else ""
    return f"{share.found} of {share.count} pairs were made again: {_range(share)}.{why}"


def _check_said(group: Group) -> str:
    clear = group.share("clear", "sent")
    return (
        f"The check had nothing against {clear.found} of {clear.count} orders, asked about {group['asked']}"
        f", and had a stop lifted on {group['stopped']}. On {group['caught']} it caught something that was changed."
    )


def _odd(group: Group) -> str:
    back = group["clock back"]
    if not back:
        return ""
    which = "1 pair was" if back == 1 else f"{back} pairs were"
    return f"{which} noted as ready on an earlier day than as sent: a clock was set back. They do not count in days."


def people_of(whole: Counts) -> Sequence[str]:
    """The keys of the people who sent orders."""
    return [name for name in groups(whole, "dispenser") if name != NOT_KNOWN]
