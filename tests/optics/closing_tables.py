"""A pytest plugin: prints, after the run, which published rows passed and how far the optics core is from real rays.

The tests say what they have as properties of their reports, because in a parallel run the reports come home from
other processes and nothing else does.
"""

from __future__ import annotations

import pytest

from tests.optics.published_table import lines_of_table
from tests.optics.ray_tracing import worst_differences

PUBLISHED_CASE = "published case"
WORST_DIFFERENCE = "worst difference"

_outcomes: dict[str, bool] = {}
_worst: list[worst_differences.Worst] = []


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.when != "call" and not report.failed:
        return
    for name, value in report.user_properties:
        if name == PUBLISHED_CASE:
            _outcomes[str(value)] = _outcomes.get(str(value), True) and report.passed
        elif name == WORST_DIFFERENCE:
            _worst.append(worst_differences.Worst(**value))  # type: ignore[arg-type]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for title, lines in (
        ("published cases", lines_of_table(_outcomes) if _outcomes else ()),
        ("worst difference from the ray tracer", worst_differences.lines_of_table(_worst) if _worst else ()),
    ):
        if lines:
            terminalreporter.section(title)
        for line in lines:
            terminalreporter.write_line(line)
