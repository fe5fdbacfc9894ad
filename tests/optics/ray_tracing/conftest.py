"""Prints, after the run, how far the optics core is from the ray tracer."""

from __future__ import annotations

import pytest

from tests.optics.ray_tracing import worst_differences


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if worst_differences.seen:
        terminalreporter.section("worst difference from the ray tracer")
        for line in worst_differences.lines_of_table():
            terminalreporter.write_line(line)
