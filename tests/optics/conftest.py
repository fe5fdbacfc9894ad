"""Counts the published rows that tests are parametrised with, and prints their table after the run."""

from __future__ import annotations

from collections.abc import Generator

import pytest
from hypothesis import settings

from tests.optics.published_cases import PublishedCase
from tests.optics.published_table import lines_of_table

# A busy machine must not turn a slow example into a failure.
settings.register_profile("optics", deadline=None)
settings.load_profile("optics")

_outcomes: dict[str, bool] = {}


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    if report.when == "call" or report.failed:
        callspec = getattr(item, "callspec", None)
        for value in callspec.params.values() if callspec else ():
            if isinstance(value, PublishedCase):
                _outcomes[value.id] = _outcomes.get(value.id, True) and report.passed
    return report


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if _outcomes:
        terminalreporter.section("published cases")
        for line in lines_of_table(_outcomes):
            terminalreporter.write_line(line)
