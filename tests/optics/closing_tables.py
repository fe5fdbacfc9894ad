"""A pytest plugin: prints, after the run, how far the optics core is from real rays.

The tests pass on what they found as properties of their reports, because in a parallel run only the reports come back
from other processes.
"""

from __future__ import annotations

import pytest

from tests.optics.ray_tracing import worst_differences

WORST_DIFFERENCE = "worst difference"

_worst: list[worst_differences.Worst] = []


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.when != "call" and not report.failed:
        return
    for name, value in report.user_properties:
        if name == WORST_DIFFERENCE and isinstance(value, dict):
            _worst.append(worst_differences.Worst(**value))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if not _worst:
        return
    terminalreporter.section("worst difference from the ray tracer")
    for line in worst_differences.lines_of_table(_worst):
        terminalreporter.write_line(line)
