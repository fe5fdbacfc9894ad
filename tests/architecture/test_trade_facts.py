"""A fact of the trade stands in ``dispensing/trade`` and nowhere else; anything that looks like one has its reason.

A failure names the module, the line and the figure. Put it into ``dispensing/trade/data/facts.toml`` with its words and
source, and read it by ``Limits.of`` (a practice may set its own) or ``figure`` (nobody may); only if it is not a fact
of the trade at all, list it below with the reason.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.architecture.source_tree import ROOT, is_in, modules
from tests.architecture.trade_constants import SAID, trade_constants

NO_FACTS_HERE = {
    "dispensing.trade": "their home",
    "dispensing.optics": "where formulas hold, and steps of the arithmetic; tested against published cases",
    "dispensing.pictures": "sizes of drawings",
    "orders.drawings": "sizes of drawings",
    "orders.figures.period_charts": "sizes of drawings",
    "orders.printing": "sizes on paper",
    "dispensing.fitting.seeing": "how a face, a frame and a card look in a picture, and how surely",
    "dispensing.fitting.pupils": "how an eye looks in a picture, in pixels and shares of it",
    "dispensing.fitting.photos": "files and pictures",
    "dispensing.prescribing.paper": "places on a page, in heights of its print, and how sure a recogniser is",
    "dispensing.recognition": "pages and print, in pixels and shares of them",
    "dispensing.settings": "the machine",
    "dispensing.watching": "the machine",
    "orders.watching": "the machine",
    "dispensing.bootstrap": "the machine",
    "dispensing.management": "the machine",
    "orders.management": "the machine",
    "orders.demo": "an invented practice",
}

STATISTIC = "a statistic that explains the rule; nothing is compared with it"
ARITHMETIC = "guards the arithmetic, far beyond all figures of the trade"
ROUNDED = "smaller differences round to nothing in words"
TRIED = "what is tried for a way out; the check decides"

ALLOWED = {
    ("orders.presentation.period_figures", "(HALF, NINE_IN_TEN)"): "of how many pairs a time is told",
    ("orders.presentation.period_figures", "95 % range"): "of a normal distribution",
    ("dispensing.outages", "3D"): "a class of PostgreSQL's error codes",
    ("dispensing.fitting.by_hand", "CRITICAL_RANGE_FACTOR"): "a table of statistics: ISO 5725-6:1994, table 1",
    ("dispensing.fitting.camera", "FAR_ENOUGH_PX"): ARITHMETIC,
    ("dispensing.fitting.chain", "COVERAGE_FACTOR"): "95 % of a normal distribution",
    ("dispensing.fitting.known_frame", "BEYOND_SD"): "one in 370 of a normal distribution",
    ("dispensing.fitting.marks_made", "ZOOMS"): ARITHMETIC,
    ("dispensing.fitting.combine", "DISAGREE_SD"): "one in 370 of a normal distribution",
    ("dispensing.fitting.mistakes", "(SMALLEST, LARGEST)"): ARITHMETIC,
    ("dispensing.fitting.plausibility", "NEARLY_AS_GOOD"): "a tie between suspects, of their own measure",
    ("dispensing.fitting.plausibility", "LARGEST_SD"): ARITHMETIC,
    ("dispensing.fitting.plausibility", "SMALLEST_SPREAD"): "keeps a division from nought",
    ("dispensing.fitting.plausibility", "one.removed[index] / (value - limit) >= 0.5"): "most of it: more than half",
    ("dispensing.models.practice", "0.5 mm"): "a choice of the practice's",
    ("dispensing.models.practice", "0.1 mm"): "a choice of the practice's",
    ("dispensing.prescribing.acuity", "letter >= 10.0"): "how an acuity is written: no tenths above ten",
    ("dispensing.prescribing.acuity", "7.5 <= letter < 7.6"): "how an acuity is written: a line of the chart",
    ("dispensing.prescribing.optical_cross", "CENTRE"): "size of a drawing",
    ("dispensing.prescribing.optical_cross", "REACH"): "size of a drawing",
    ("dispensing.prescribing.optical_cross", "(LABEL_ACROSS, LABEL_UP)"): "size of a drawing",
    ("dispensing.prescribing.slips", "TEN"): "a decimal point moved by one place",
    ("dispensing.queries.duplicates", "LIKE"): "how alike two names are spelt",
    ("orders.options.frame_proposals", "STEPS_MM"): TRIED,
    ("orders.options.frame_proposals", "ANOTHER_MOUNT"): "orders proposals among themselves",
    ("orders.options.lenses.differences", "SEEN_MM"): ROUNDED,
    ("orders.options.lenses.differences", "FELT_G"): ROUNDED,
    ("orders.options.other_proposals", "LATEST_DAYS"): TRIED,
    ("orders.options.other_proposals", "WORKING_DISTANCES_MM"): TRIED,
    ("orders.presentation.desk", "SCREEN_LETTERING"): "size of a drawing",
    ("orders.presentation.lenses.beside", "EDGE_LETTERING"): "size of a drawing",
    ("orders.presentation.lenses.beside", "BAR"): "size of a drawing",
    ("orders.rules.compare", "BEYOND_ANY_FIGURE"): ARITHMETIC,
    ("orders.rules.figures", "LARGEST_BLANK_MM"): ARITHMETIC,
    ("orders.rules.powers", "LARGEST_USABLE_D"): ARITHMETIC,
    ("orders.verification.readable", "BEYOND_ANY_FIGURE"): ARITHMETIC,
    ("orders.rules.words", "abs(value) < 1000000.0"): ARITHMETIC,
    ("orders.views.remedies", "SIZE_WITHIN_MM"): "how many frames of the stock are looked at",
    ("orders.rules.families.axis_slips", " (90 degrees off)"): "a quarter turn",
    ("orders.rules.families.progressive_fit", ".0%"): "a way of writing, no figure",
    ("orders.rules.families.adds", "(30.5 %)"): STATISTIC,
    ("orders.rules.families.axis_slips", "axis is 11 %"): STATISTIC,
    ("orders.rules.families.frame", "Frame figures are 9 %"): STATISTIC,
    ("orders.rules.families.large_changes", "behind 38 %"): STATISTIC,
    ("orders.rules.families.prescription_entry", "wrong axis is 11 %"): STATISTIC,
    ("orders.rules.families.signs_and_decimals", "sign is 11 %"): STATISTIC,
    ("orders.rules.families.treatments", "about 6 % a surface"): STATISTIC,
    ("orders.rules.families.treatments", "tint is 5.3 %"): STATISTIC,
}


WHAT_PLUS_MINUS_MEANS = "95 % range"


def _judged() -> list[tuple[str, Path]]:
    return [(name, path) for name, path in modules() if not is_in(name, *NO_FACTS_HERE)]


def _is_allowed(module: str, what: str) -> bool:
    return any(module == name and (what == known or known in what) for name, known in ALLOWED)


@pytest.mark.parametrize(("name", "path"), _judged(), ids=lambda value: str(value) if "." in str(value) else None)
def test_no_module_states_a_fact_of_the_trade_of_its_own(name: str, path: Path) -> None:
    stated = [
        f"line {found.line}: {found.kind} {found.what}"
        for found in trade_constants(path.read_text())
        if not _is_allowed(name, found.what)
    ]
    assert not stated, (
        f"{name} states figures of the trade; say them in dispensing/trade/data/facts.toml:\n" + "\n".join(stated)
    )


def test_every_reason_is_still_needed() -> None:
    found = {name: [one.what for one in trade_constants(path.read_text())] for name, path in _judged()}
    stale = [(name, known) for name, known in ALLOWED if not any(known in what for what in found.get(name, ()))]
    assert not stale, f"Nothing needs these reasons any more: {stale}"
    every = {name for name, _ in modules()}
    assert all(any(is_in(name, room) for name in every) for room in NO_FACTS_HERE)


@pytest.mark.parametrize(
    "template",
    [path for path in sorted((ROOT / "templates").rglob("*.html")) if path.parent.name != "documents"],
    ids=lambda path: str(path.relative_to(ROOT)),
)
def test_no_page_states_a_fact_of_the_trade_of_its_own(template: Path) -> None:
    """Figures come with their words from the table: ``{% fact "id-card" "length_mm" %}``, or from a form or finding."""
    said = re.sub(r"{%.*?%}|{{.*?}}", "", template.read_text())
    assert [found.group() for found in SAID.finditer(said.replace(WHAT_PLUS_MINUS_MEANS, ""))] == []


@pytest.mark.parametrize(
    "text",
    [
        "CHILD_BELOW_AGE = 16",
        "DRIVING_LEAST = 0.08",
        "BANDS = (('pd', 54.0, 74.0),)",
        "USUAL: dict[str, float] = {'vertex': 13.5}",
        "class Limits:\n    sphere_max_d: float = 20.0",
        "def large(eye):\n    return eye.prism.amount_pd > 6.0",
        "def child(age):\n    return age < 16",
        "def odd(value):\n    return not is_on_step(value, 0.25)",
        "def low(height, b):\n    return less_than(height, b - 8)",
        "field = SizeField(words='A', possible=(20, 90))",
        "def near(pd, working_distance_mm=400):\n    return pd",
        "message = f'{found} is unusual: usually 54 to 74 mm.'",
        "why = 'Above 4 Δ a lens is thick.'",
    ],
)
def test_a_fact_of_the_trade_is_noticed(text: str) -> None:
    assert list(trade_constants(text))


@pytest.mark.parametrize(
    "text",
    [
        "PAGE_SIZE = 25",
        "LARGEST_BYTES = 4_000_000",
        "TOLERANCE = 1e-9",
        "MOST = figure('prism-size', 'most_pd')",
        "def enough(rows):\n    return len(rows) >= 6",
        "def whole(axis):\n    return 1 <= axis <= 180",
        "def none(prism):\n    return prism > 0.0",
        "def alike(a, b):\n    return abs(a - b) < 0.005",
        "field = FigureField(low=0, high=figure('typed-frame', 'curve_most_d'))",
        "message = f'{value:.2f} mm: write it as in 31.5'",
        "def far(limits, pd):\n    '''Of 54 to 74 mm.'''\n    return more_than(pd, limits.of('pd-range', 'most'))",
    ],
)
def test_what_is_nobodys_fact_is_let_be(text: str) -> None:
    assert list(trade_constants(text)) == []
